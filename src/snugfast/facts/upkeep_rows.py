"""One row of a table of modes, checks or access work, read strictly."""

from __future__ import annotations

from collections.abc import Mapping

from snugfast.core.vocabulary import Chemistry, Ground, Wet
from snugfast.facts.model import (
    Access,
    AnswerWord,
    Arrival,
    Check,
    CheckWords,
    Clock,
    Cold,
    Covers,
    Event,
    Gate,
    Mode,
    Moment,
    Pedigree,
    Raise,
    SafetyLimit,
)
from snugfast.facts.reading import Row, nearest

WETNESS = tuple(wet.value for wet in Wet if wet is not Wet.DRY)
"""The words of the journal for a wet run. A dry run has no factor."""

GROUNDS = tuple(ground.value for ground in Ground if ground is not Ground.UNKNOWN)
"""The words of the journal for what was driven on. Unknown ground has no factor."""


STOPS_FROM_MIN = 10.0
"""Lost running from which a failure stops the car unless its row says otherwise: walking back and mending."""

CHEMISTRIES = tuple(chemistry.value for chemistry in Chemistry)
"""The words of the journal for what a pack is made of."""


def pedigree(row: Row) -> Pedigree:
    """Where the row comes from."""
    return Pedigree(source=row.text("source"), where=row.text("where", default=""))


def read_mode(key: str, row: Row) -> Mode:
    """One mode. Rates, delays, minutes and shares must be possible; references are looked up later."""
    arrival = row.choice("arrival", Arrival)
    lost_running_min = row.number("lost_running_min", least=0)
    stops = row.number_or_none("stops", least=0, most=1)
    mode = Mode(
        key=key,
        name=row.text("name"),
        what_happens=row.text("what_happens"),
        role=row.text("role"),
        clock=row.choice("clock", Clock),
        between_defects=row.number("between_defects", above=0),
        spread=row.number("spread", above=0),
        delay=row.number("delay", above=0),
        delay_log_sd=row.number("delay_log_sd", least=0),
        sudden=row.number("sudden", least=0, most=1),
        arrival=arrival,
        cure=row.text("cure"),
        cure_min=row.number("cure_min", least=0),
        cure_parts=row.numbers("cure_parts"),
        failure=row.text("failure"),
        failure_min=row.number("failure_min", least=0),
        failure_parts=row.numbers("failure_parts"),
        lost_running_min=lost_running_min,
        stops=float(lost_running_min >= STOPS_FROM_MIN) if stops is None else stops,
        pedigree=pedigree(row),
        traits=words(row, "traits"),
        chemistries=_chemistries(row),
        wear_shape=row.number_or_none("wear_shape", above=1),
        raises=tuple(_raise(each) for each in row.rows("raises")),
        wet_factor=row.numbers("wet_factor", known=WETNESS),
        ground_factor=row.numbers("ground_factor", known=GROUNDS),
        cold=_cold(row),
        safety=_safety(row),
        no_check_because=row.text("no_check_because", default=""),
    )
    if (arrival is Arrival.WEAR_OUT) != (mode.wear_shape is not None):
        row.fault("a wear-out mode has a wear_shape, and no other mode has one", "put both right together")
    if arrival is Arrival.AFTER_EVENT and not mode.raises:
        row.fault("a mode raised by an event names no event", "add raises = [{ event = …, … }]")
    row.done()
    return mode


def _chemistries(row: Row) -> tuple[str, ...]:
    named = row.texts("chemistries")
    for word in named:
        _known_chemistry(row, "chemistries", word)
    return named


def _known_chemistry(row: Row, key: str, word: str) -> None:
    if word not in CHEMISTRIES:
        row.fault(f"“{key}” does not know “{word}”", nearest(word, CHEMISTRIES))


def _raise(row: Row) -> Raise:
    raised = Raise(
        event=row.choice("event", Event),
        factor=row.number("factor", above=1),
        decay=row.number("decay", above=0),
    )
    row.done()
    return raised


def _cold(row: Row) -> Cold | None:
    table = row.table("cold")
    if not table:
        return None
    cold_row = Row(table, f"{row.where}, cold", row.findings)
    cold = Cold(below_degC=cold_row.number("below_degC"), factor=cold_row.number("factor", above=1))
    cold_row.done()
    return cold


def _safety(row: Row) -> SafetyLimit | None:
    limits = row.numbers("safety", known=("belief", "failing"))
    if not limits:
        return None
    for name in ("belief", "failing"):
        if not 0 < limits.get(name, 0.0) < 1:
            row.fault(f"“safety.{name}” must be there, between 0 and 1")
    return SafetyLimit(belief=limits.get("belief", 0.5), failing=limits.get("failing", 0.5))


def words(row: Row, key: str) -> Mapping[str, str]:
    """A small table of texts."""
    table = row.table(key)
    for name, value in table.items():
        if not isinstance(value, str):
            row.fault(f"“{key}.{name}” should be a text", "put it in quotes")
    return {name: str(value) for name, value in table.items()}


def read_check(key: str, row: Row) -> Check:
    """One check. Chances, minutes and moments must be possible; references are looked up later."""
    check = Check(
        key=key,
        name=row.text("name"),
        moment=row.choice("moment", Moment),
        roles=row.texts("roles", required=True),
        minutes=row.number("minutes", above=0),
        covers=tuple(Covers(mode=mode, detects=chance) for mode, chance in row.numbers("covers").items()),
        answers=tuple(
            AnswerWord(word=word, mode=mode)
            for word, modes in words(row, "answers").items()
            for mode in modes.split("|")
        ),
        steps=row.texts("steps", required=True),
        good=row.text("good"),
        bad=row.text("bad"),
        pedigree=pedigree(row),
        access=row.text("access", default=""),
        tools=row.texts("tools"),
        how_tight=row.text("how_tight", default=""),
        thread_lock=row.text("thread_lock", default=""),
        wait_min=row.number("wait_min", default=0.0, least=0),
        wait_for=row.text("wait_for", default=""),
        false_alarm=row.number("false_alarm", default=0.0, least=0, most=1),
        harm=row.number("harm", default=0.0, least=0, most=1),
        harm_text=row.text("harm_text", default=""),
        cautions=row.texts("cautions"),
        gates=row.choices("gates", Gate),
        traits=words(row, "traits"),
        adults_only=row.flag("adults_only"),
        for_chemistry=_for_chemistry(row),
    )
    for covered in check.covers:
        if not 0 < covered.detects <= 1:
            row.fault(f"“covers.{covered.mode}” is {covered.detects:g} and must be above 0, up to 1")
    if bool(check.wait_min) != bool(check.wait_for):
        row.fault("a wait has minutes and says what for", "give wait_min and wait_for together")
    if bool(check.harm) != bool(check.harm_text):
        row.fault("a harm has a chance and says which", "give harm and harm_text together")
    row.done()
    return check


def _for_chemistry(row: Row) -> Mapping[str, CheckWords]:
    found = {}
    for chemistry, values in row.table("for_chemistry").items():
        _known_chemistry(row, "for_chemistry", chemistry)
        said = Row(values, f"{row.where}, for {chemistry}", row.findings)
        found[chemistry] = CheckWords(
            steps=said.texts("steps", required=True),
            good=said.text("good"),
            bad=said.text("bad"),
            cautions=said.texts("cautions", required=True),
        )
        said.done()
    return found


def read_access(key: str, row: Row) -> Access:
    """One piece of access work."""
    access = Access(
        key=key,
        name=row.text("name"),
        parent=row.text("parent", default=""),
        minutes=row.number("minutes", above=0),
        steps=row.texts("steps", required=True),
        roles=row.texts("roles", required=True),
        pedigree=pedigree(row),
        harm=row.number("harm", default=0.0, least=0, most=1),
        cautions=row.texts("cautions"),
    )
    row.done()
    return access
