"""Estimates that stand in where a person has not weighed or measured, each replaced by what is said."""

from __future__ import annotations

from snugfast.core.errors import BadInput, NotKnown
from snugfast.core.figures import Figure, Origin
from snugfast.core.units import Kind, read_quantity
from snugfast.core.ways_out import Action, WayOut
from snugfast.facts.model import Build
from snugfast.usecases.mechanics.tables import from_table, row_of, text, the_number, the_row

SAID = Origin("mine", "said at the question")


def estimate(key: str) -> Figure:
    """One of our estimates, with its band."""
    row = the_row("bench_estimates", key=key)
    table = from_table("bench_estimates")
    return Figure(
        the_number(row, "usual"),
        text(row, "unit"),
        low=the_number(row, "low"),
        high=the_number(row, "high"),
        origins=(Origin(table.source, f"{key}: {table.where}"),),
    )


def said_or_estimate(words: str, key: str, kind: Kind, *, default_unit: str, where: str) -> Figure:
    """What was said, as an exact figure in SI, or our estimate."""
    if not words.strip():
        return estimate(key)
    value = read_quantity(words, kind, default_unit=default_unit, where=where)
    if value <= 0.0:
        raise BadInput(f"{where}: {words.strip()} cannot be.", "Give something above zero.")
    return Figure(value, kind.value, origins=(SAID,))


def mass_of(build: Build, words: str) -> Figure:
    """The mass of a car ready to drive: what was said, what its build says, or what cars of its scale weigh.

    Raises NotKnown where no estimate is known for the scale.
    """
    weighed = next((p for p in build.of_role("chassis") if isinstance(p.sizes.get("mass_kg"), float)), None)
    if not words.strip() and weighed is not None:
        of_build = Origin(weighed.pedigree.source, "mass in the build")
        return Figure(float(weighed.sizes["mass_kg"]), "kg", origins=(of_build,))
    key = f"mass {build.scale}"
    if not words.strip() and row_of("bench_estimates", key=key) is None:
        raise NotKnown(
            f"What a {build.scale} car weighs is not known here.",
            WayOut("Weigh it and give the mass.", Action.GIVE_MASS),
        )
    return said_or_estimate(words, key, Kind.MASS, default_unit="kg", where="mass")
