"""One row of a table of treatments, wet rules or one-off sheets, read strictly."""

from __future__ import annotations

import math
from collections.abc import Iterator

from snugfast.facts.model import (
    ExtraWork,
    Occasion,
    OneOffSheet,
    Protects,
    StepKind,
    Treatment,
    TreatmentStep,
    WetRule,
)
from snugfast.facts.reading import Row, nearest
from snugfast.facts.upkeep_rows import WETNESS, pedigree, words


def read_treatment(key: str, row: Row) -> Treatment:
    """One treatment. Deadline, minutes and factors must be possible; references are looked up later.

    What comes after every run has no deadline and protects nothing that is reckoned with.
    """
    wet = _wet_words(row, row.texts("after"))
    treatment = Treatment(
        key=key,
        name=row.text("name"),
        after=wet,
        deadline_h=row.number("deadline_h", above=0) if wet else math.inf,
        spent_d=row.number("spent_d", above=0) if wet else math.inf,
        minutes=row.number("minutes", above=0),
        steps=tuple(_step(each) for each in row.rows("steps", required=True)),
        protects=tuple(
            protected for each in row.rows("protects", required=bool(wet)) for protected in _protects(each)
        ),
        when_late=row.text("when_late"),
        pedigree=pedigree(row),
        roles=row.texts("roles"),
        includes=row.texts("includes"),
        tools=row.texts("tools"),
        cautions=row.texts("cautions"),
    )
    modes = [protected.mode for protected in treatment.protects]
    for mode in sorted({mode for mode in modes if modes.count(mode) > 1}):
        row.fault(f"“{mode}” is protected twice", "leave one of them out")
    if key in treatment.includes:
        row.fault("this includes itself", "leave it out")
    row.done()
    return treatment


def _wet_words(row: Row, wets: tuple[str, ...]) -> tuple[str, ...]:
    for wet in wets:
        if wet not in WETNESS:
            row.fault(f"“{wet}” is no word for how wet a run was", nearest(wet, WETNESS))
    return wets


def _step(row: Row) -> TreatmentStep:
    step = TreatmentStep(kind=row.choice("do", StepKind), text=row.text("text"))
    row.done()
    return step


def _protects(row: Row) -> Iterator[Protects]:
    factor = row.number("factor", above=1)
    defect_in_d = row.number_or_none("defect_in_d", above=0)
    modes = row.texts("modes", required=True)
    row.done()
    for mode in modes:
        yield Protects(mode, factor, defect_in_d)


def read_wet_rule(key: str, row: Row) -> WetRule:
    """What has to be rated before a car goes into this kind of wet."""
    (key,) = _wet_words(row, (key,))
    rule = WetRule(
        key=key,
        must_be_rated=row.texts("must_be_rated", required=True),
        when_rated=row.text("when_rated"),
        when_not=row.text("when_not"),
        pedigree=pedigree(row),
        cautions=row.texts("cautions"),
    )
    row.done()
    return rule


def read_one_off_sheet(key: str, row: Row) -> OneOffSheet:
    """What is done once when a car comes or goes."""
    sheet = OneOffSheet(
        key=key,
        name=row.text("name"),
        occasion=row.choice("occasion", Occasion),
        why=row.text("why"),
        before=tuple(read_extra(each) for each in row.rows("before")),
        checks=row.texts("checks"),
        after=tuple(read_extra(each) for each in row.rows("after")),
        pedigree=pedigree(row),
    )
    row.done()
    return sheet


def read_extra(row: Row) -> ExtraWork:
    extra = ExtraWork(
        name=row.text("name"),
        minutes=row.number("minutes", above=0),
        steps=row.texts("steps", required=True),
        roles=row.texts("roles"),
        parts=row.numbers("parts"),
        traits=words(row, "traits"),
        cautions=row.texts("cautions"),
    )
    row.done()
    return extra
