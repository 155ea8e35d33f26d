"""How one row of the table of stress is read."""

from __future__ import annotations

from snugfast.facts.model import Pedigree, Stress
from snugfast.facts.reading import Row


def read_stress(key: str, row: Row) -> Stress:
    """What a measured temperature of one part does to the clocks it drives."""
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
    )
    row.done()
    return stress
