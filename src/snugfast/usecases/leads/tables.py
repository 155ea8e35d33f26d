"""The tables of electrics as a question asks for them: rows by key, bands, and where they come from."""

from __future__ import annotations

from snugfast.core.errors import BadInput, NotKnown
from snugfast.core.figures import Figure, Origin
from snugfast.core.units import Kind, read_quantity
from snugfast.facts.model import Build, Place
from snugfast.facts.tables import Cell, Table
from snugfast.usecases.mechanics.bench_estimates import SAID
from snugfast.usecases.mechanics.tables import Cells, table_of, text, the_number

SAID_HERE = SAID
OF_BUILD = Origin("mine", "the build of the car")


def electrics(name: str) -> Table:
    """One table of electrics."""
    return table_of("electrics", name)


def row(name: str, **wanted: Cell) -> Cells:
    """The row whose cells are these. Raises NotKnown with what the table has."""
    rows = electrics(name).rows
    for one in rows:
        if all(one[key] == cell for key, cell in wanted.items()):
            return one
    key = next(iter(wanted))
    listed = ", ".join(dict.fromkeys(str(one[key]) for one in rows))
    raise NotKnown(f"No row of {name} is for {wanted[key]}.", f"There are {listed}.")


def origin(name: str, cells: Cells | None = None) -> Origin:
    """Where a row comes from: its own source where it names one."""
    pedigree = electrics(name).pedigree
    key = text(cells, "key")
    own = text(cells, "row_source") if cells is not None and "row_source" in cells else ""
    where = pedigree.where if own in ("", pedigree.source) else name
    return Origin(own or pedigree.source, f"{key}: {where}" if key else where)


def banded(name: str, key: str, unit: str, *, ending: str = "") -> Figure:
    """A row with low, usual and high, as a figure."""
    cells = row(name, key=key)
    low, usual, high = (the_number(cells, f"{end}{ending}") for end in ("low", "usual", "high"))
    return Figure(usual, unit, low=low, high=high, origins=(origin(name, cells),))


def said(words: str, kind: Kind, *, default_unit: str, where: str, off: Figure | None = None) -> Figure:
    """What was said, in SI, with the band that such a figure has. Raises BadInput for nothing above zero."""
    value = read_quantity(words, kind, default_unit=default_unit, where=where)
    if value <= 0.0:
        raise BadInput(f"{where}: {words.strip()} cannot be.", "Give something above zero.")
    if off is None or off.low is None or off.high is None:
        return Figure(value, kind.value, origins=(SAID,))
    return Figure(value, kind.value, low=off.low * value, high=off.high * value, origins=(SAID,))


def size_of(build: Build, role: str, name: str) -> tuple[Place, float] | None:
    """The first place of a role that says a size, with it."""
    for place in build.of_role(role):
        value = place.sizes.get(name)
        if isinstance(value, float):
            return place, value
    return None


def low_of(figure: Figure) -> float:
    """The lower end of a band, or the value."""
    return figure.value if figure.low is None else figure.low


def high_of(figure: Figure) -> float:
    """The upper end of a band, or the value."""
    return figure.value if figure.high is None else figure.high
