"""One row of the tables that shape a sheet: rounds, what is likely wrong at first, root jobs, spare parts."""

from __future__ import annotations

from snugfast.facts.model import FitSize, Moment, Presence, RootJob, Round, SparePart
from snugfast.facts.reading import Row
from snugfast.facts.upkeep_rows import pedigree


def read_round(key: str, row: Row) -> Round:
    """One round of the sheet."""
    made = Round(
        key=key,
        name=row.text("name"),
        hands=row.text("hands"),
        pedigree=pedigree(row),
        moments=row.choices("moments", Moment),
        access=row.texts("access"),
        checks=row.texts("checks"),
        first=row.texts("first"),
        begin=row.texts("begin"),
    )
    row.done()
    return made


def read_presence(key: str, row: Row) -> Presence:
    """What is likely wrong from the start, by mode."""
    presence = Presence(
        mode=key,
        pedigree=pedigree(row),
        new=row.number("new", default=0.0, least=0, most=0.9),
        second_hand=row.number("second_hand", default=0.0, least=0, most=0.9),
        after_work=row.number("after_work", default=0.0, least=0, most=0.9),
    )
    row.done()
    return presence


def read_root(key: str, row: Row) -> RootJob:
    """The work that ends what keeps coming back, by mode."""
    root = RootJob(
        mode=key,
        after=row.whole("after", least=2),
        within_days=row.number("within_days", above=0),
        job=row.text("job"),
        minutes=row.number("minutes", above=0),
        pedigree=pedigree(row),
        parts=row.numbers("parts"),
        tools=row.texts("tools"),
        cautions=row.texts("cautions"),
    )
    row.done()
    return root


def read_spare_part(key: str, row: Row) -> SparePart:
    """What a spare part fits by, by role."""
    part = SparePart(
        role=key,
        family=row.text("family"),
        must=tuple(_fit_size(text, row) for text in row.texts("must")),
        may=row.texts("may"),
        of_design=row.flag("of_design"),
        carried=not row.flag("left_home"),
        mass_g=row.number("mass_g", least=0),
        volume_ml=row.number("volume_ml", least=0),
        pedigree=pedigree(row),
    )
    row.done()
    return part


def _fit_size(text: str, row: Row) -> FitSize:
    size, same, other = (each.strip() for each in text.partition("="))
    role, dot, of_size = other.partition(".")
    if not size or bool(same) != bool(role and dot and of_size):
        row.fault(f"“{text}” is no size to fit by", "write bore_mm, or bore_mm = motor.shaft_mm")
    return FitSize(size, role, of_size)
