"""How one row of the tables of stress is read: heat, loads that are not heat, and the kind of car."""

from __future__ import annotations

from snugfast.facts.model import Duty, Overload, Pedigree, Stress
from snugfast.facts.reading import Row

TWIN_SAYS_WARM = ("motor can", "controller", "plug")
TWIN_SAYS_LOAD = ("teeth", "axles")


def read_stress(key: str, row: Row) -> Stress:
    """What the temperature of one part does to the clocks it drives."""
    stress = Stress(
        key=key,
        name=row.text("name"),
        spots=row.texts("spots", required=True),
        modes=row.texts("modes", required=True),
        reference_degC=row.number("reference_degC"),
        doubling_K=row.number("doubling_K", above=0),
        least=row.number("least", above=0, most=1),
        most=row.number("most", least=1),
        read_within_s=row.number("read_within_s", above=0),
        pedigree=Pedigree(source=row.text("source"), where=row.text("where", default="")),
        twin=_twin(row, TWIN_SAYS_WARM, may_be_none=True),
    )
    row.done()
    return stress


def read_overload(key: str, row: Row) -> Overload:
    """What a load that the twin works out does to the clocks it drives."""
    overload = Overload(
        key=key,
        name=row.text("name"),
        twin=_twin(row, TWIN_SAYS_LOAD),
        modes=row.texts("modes", required=True),
        power=row.number("power", above=0),
        least=row.number("least", above=0, most=1),
        most=row.number("most", least=1),
        pedigree=Pedigree(source=row.text("source"), where=row.text("where", default="")),
    )
    row.done()
    return overload


def read_duty(key: str, row: Row) -> Duty:
    """What one kind of car does to clocks beside the car that the rates were set for."""
    times = row.numbers("times")
    for kind, factor in times.items():
        if factor <= 0:
            row.fault(f"“times.{kind}” is {factor:g} and must be above 0")
    duty = Duty(
        key=key,
        name=row.text("name"),
        modes=row.texts("modes", required=True),
        times=times,
        pedigree=Pedigree(source=row.text("source"), where=row.text("where", default="")),
    )
    row.done()
    return duty


def _twin(row: Row, known: tuple[str, ...], *, may_be_none: bool = False) -> str:
    said = row.text("twin", default="" if may_be_none else None)
    if said and said not in known:
        row.fault(f"the twin does not say “{said}”", f"write one of: {', '.join(known)}")
    return said
