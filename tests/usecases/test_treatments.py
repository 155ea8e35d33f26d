"""What is due after wet: opened by a run, shown, done; and what is said before a car gets wet.

Authority: laws of this project.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from datetime import timedelta

import pytest

from snugfast.core.errors import BadInput, NotKnown
from snugfast.facts.load import build_document
from snugfast.facts.model import Moment
from snugfast.records.entries import BuildChanged, Wet
from snugfast.usecases.bench.bench_sheet import bench_sheet
from snugfast.usecases.bench.outlook import outlooks
from snugfast.usecases.bench.sheet import Asked, SheetCheck
from snugfast.usecases.bench.treatments import (
    DueTreatment,
    TreatedSaid,
    cleaning_of,
    draft_treated,
    treatments_of,
)
from snugfast.usecases.bench.wet_readiness import WetReadiness, wet_readiness
from snugfast.usecases.journal.keeping import keep, undo
from snugfast.usecases.journal.run_log import RunSaid, draft_runs
from snugfast.usecases.shared.lookup import car_and_build
from snugfast.usecases.shared.workshop import Workshop
from tests.usecases.bench import Clock, facts, ran, with_truck, workshop_in_memory

Bench = tuple[Workshop, Clock]


@pytest.fixture
def bench() -> Iterator[Bench]:
    """A workshop with one truck, early on a Sunday."""
    with workshop_in_memory() as (workshop, clock):
        with_truck(workshop)
        clock.on(days=1)
        yield workshop, clock


def treated(workshop: Workshop, treatment: str = "", when: str = "") -> None:
    """Keep a treatment as done."""
    keep(workshop, draft_treated(workshop, TreatedSaid("Bramble", treatment, when=when)).entries)


def keys(workshop: Workshop) -> list[str]:
    """What is due, the most urgent first."""
    return [due.treatment for due in treatments_of(workshop, ("Bramble",))]


def test_a_wet_run_opens_what_is_due_by_the_hour_and_lateness_is_said(bench: Bench) -> None:
    workshop, clock = bench
    ran(workshop, wet="mud")  # at 08:00
    first, second = treatments_of(workshop)
    assert (first.treatment, second.treatment) == ("wash_mud", "open_electrics")
    assert first.when == "due by 20:00" and not first.overdue
    assert second.when == "due by 2026-05-04 08:00"
    clock.on(hours=13)
    assert treatments_of(workshop)[0].when == "overdue since 20:00"


def test_dry_and_damp_runs_ask_for_nothing(bench: Bench) -> None:
    workshop, clock = bench
    ran(workshop)
    clock.on(minutes=20)
    ran(workshop, wet="damp")
    assert treatments_of(workshop) == ()


def test_dust_is_brushed_off_before_the_next_run_and_takes_minutes_of_the_sheet(bench: Bench) -> None:
    """Until it is said to be done, or somebody looks the car over, or wet work cleans it too."""
    workshop, clock = bench
    assert cleaning_of(workshop) == ()  # never driven
    ran(workshop, ground="dirt")
    (brush,) = cleaning_of(workshop)
    assert (brush.treatment, brush.when, brush.due) == ("brush_dust", "before the next run", None)
    assert bench_sheet(workshop, Asked(minutes=20.0)).bench.cleaning == brush.minutes == 4.0
    clock.on(minutes=30)
    treated(workshop)
    assert cleaning_of(workshop) == ()
    assert bench_sheet(workshop, Asked(minutes=20.0)).bench.cleaning == 0.0
    clock.on(hours=1)
    ran(workshop, wet="mud")
    assert cleaning_of(workshop) == ()  # washing is due, which is more
    treated(workshop, "wash_mud")
    assert cleaning_of(workshop) == () and keys(workshop) == ["open_electrics"]


def test_the_most_urgent_is_done_without_naming_it(bench: Bench) -> None:
    workshop, clock = bench
    ran(workshop, wet="mud")
    clock.on(hours=1)
    draft = draft_treated(workshop, TreatedSaid("Bramble", minutes="22"))
    assert draft.echo[0].endswith("Bramble: done: Wash, dry and oil after mud, 22 min.")
    assert draft.echo[1].startswith(
        "Still to be done: Bramble: Dry the receiver box and the connectors, due by"
    )
    keep(workshop, draft.entries)
    assert keys(workshop) == ["open_electrics"]
    treated(workshop, "open electrics")
    assert keys(workshop) == []


def test_undoing_opens_it_again_and_a_corrected_run_closes_it(bench: Bench) -> None:
    """Law: what is due is a projection of what stands in the journal."""
    workshop, clock = bench
    ran(workshop, wet="fresh water")
    clock.on(minutes=30)
    before = keys(workshop)
    treated(workshop)
    assert keys(workshop) != before
    undo(workshop)
    assert keys(workshop) == before
    undo(workshop)
    assert keys(workshop) == []


def test_done_earlier_than_it_was_logged(bench: Bench) -> None:
    workshop, clock = bench
    ran(workshop, wet="salt water")
    clock.on(hours=30)
    assert keys(workshop) == ["wash_salt"]
    treated(workshop, when="2026-05-03 09:00")
    assert keys(workshop) == []


@pytest.mark.slow
def test_wet_that_has_spent_itself_is_no_longer_asked_for(bench: Bench) -> None:
    workshop, clock = bench
    ran(workshop, wet="fresh water")
    clock.on(days=40)
    assert keys(workshop) == []


def test_what_the_greater_work_settles_is_not_asked_for_beside_it(bench: Bench) -> None:
    workshop, clock = bench
    ran(workshop, wet="fresh water")
    clock.on(minutes=20)
    ran(workshop, wet="salt water")
    assert keys(workshop) == ["wash_salt"]


def test_what_cannot_be_done_is_refused(bench: Bench) -> None:
    workshop, _ = bench
    with pytest.raises(BadInput, match="Nothing is due on Bramble"):
        draft_treated(workshop, TreatedSaid("Bramble"))
    with pytest.raises(NotKnown, match="no treatment “boil”"):
        draft_treated(workshop, TreatedSaid("Bramble", "boil"))
    with pytest.raises(NotKnown, match="no car called"):
        draft_treated(workshop, TreatedSaid("Brumble"))


def test_the_echo_of_a_wet_run_says_what_it_asks_for(bench: Bench) -> None:
    workshop, _ = bench
    echo = draft_runs(workshop, (RunSaid("Bramble", minutes="12", wet="salt water"),)).echo
    assert echo[1] == "Rinse out salt, open, dry and oil: by 10:00, about 45 min."
    assert len(draft_runs(workshop, (RunSaid("Bramble", minutes="12", wet="damp"),)).echo) == 1
    old = RunSaid("Bramble", minutes="12", wet="mud", when="about 2026-05-02")
    assert len(draft_runs(workshop, (old,)).echo) == 1


# On the sheet


def test_on_the_sheet_it_stands_after_the_cold_gates_and_before_anything_is_plugged_in(bench: Bench) -> None:
    workshop, clock = bench
    ran(workshop, wet="mud")
    clock.on(days=1)
    sheet = bench_sheet(workshop, Asked(minutes=90))
    kinds = [
        "wet"
        if isinstance(step, DueTreatment)
        else "cold gate"
        if isinstance(step, SheetCheck) and step.gate and step.moment is Moment.COLD_BENCH
        else "rest"
        for step in sheet.in_order
    ]
    assert kinds == sorted(kinds, key=["cold gate", "wet", "rest"].index)
    assert set(kinds) == {"cold gate", "wet", "rest"}
    assert len(sheet.in_order) == len(sheet.steps) + len(sheet.treatments)


@pytest.mark.slow
def test_its_minutes_come_off_the_minutes_there_are(bench: Bench) -> None:
    """Law: the sheet keeps to its minutes, and drops neither gates nor what is due."""
    workshop, clock = bench
    ran(workshop, wet="mud", hits="many", ground="gravel")
    clock.on(hours=1)
    dry = bench_sheet(replace(workshop, facts=replace(facts(), treatments={})), Asked(minutes=40))
    wet = bench_sheet(workshop, Asked(minutes=40))
    assert wet.treatment_minutes == 31
    assert dry.minutes <= 40 and wet.minutes <= 40
    assert len(wet.checks) < len(dry.checks)
    short = bench_sheet(workshop, Asked(minutes=20))
    assert short.treatments == wet.treatments
    assert short.shortfall.startswith("Needs ") and "you have 20" in short.shortfall


def test_without_gates_to_do_a_shortfall_says_that_wet_does_not_wait(bench: Bench) -> None:
    workshop, clock = bench
    ran(workshop, wet="mud")
    clock.on(hours=1)
    no_gates = {key: replace(check, gates=()) for key, check in facts().checks.items()}
    no_limits = {key: replace(mode, safety=None) for key, mode in facts().modes.items()}
    tables = replace(facts(), checks=no_gates, modes=no_limits)
    sheet = bench_sheet(replace(workshop, facts=tables), Asked(minutes=20))
    assert sheet.checks == ()
    assert (
        sheet.shortfall
        == "What is due after wet needs 31 minutes, you have 20: it does not wait, the rest does."
    )


def test_the_first_page_knows_what_is_due(bench: Bench) -> None:
    workshop, _ = bench
    ran(workshop, wet="mud")
    (outlook,) = outlooks(workshop, lambda ledger: list(ledger.cars.values())).cars
    assert outlook.treatments == treatments_of(workshop)


def test_steps_come_with_sizes_and_cautions(bench: Bench) -> None:
    workshop, _ = bench
    ran(workshop, wet="mud")
    due = treatments_of(workshop)[0]
    assert any("7 mm" in step for step in due.steps)
    assert due.adults_only and any(caution.adults_only for caution in due.cautions)
    assert not any("{" in text for text in (*due.steps, *due.tools))


# Before a wet run


def rate(workshop: Workshop, rated: bool | None) -> None:
    """Say of every part of the truck that it is rated for wet, or not, or nothing."""
    car, build = car_and_build(workshop, "Bramble")
    places = tuple(replace(place, wet_rated=rated) for place in build.places)
    keep(workshop, [workshop.entry(BuildChanged(car.id, build_document(replace(build, places=places))))])


def readiness(workshop: Workshop, wet: Wet) -> WetReadiness:
    found = wet_readiness(workshop, "Bramble", wet)
    assert found is not None
    return found


def test_no_salt_unless_all_are_rated(bench: Bench) -> None:
    workshop, clock = bench
    salt = readiness(workshop, Wet.SALT_WATER)
    assert not salt.ready
    assert salt.verdict.startswith("No salt water unless everything is rated")
    assert "steering servo" in " ".join(salt.not_rated).casefold() or "servo" in salt.not_rated
    rate(workshop, True)
    clock.on(minutes=1)
    assert readiness(workshop, Wet.SALT_WATER).ready
    rate(workshop, None)
    silent = readiness(workshop, Wet.SALT_WATER)
    assert not silent.ready and not silent.not_rated and len(silent.not_said) > 10


def test_damp_and_dry_ask_for_no_rating(bench: Bench) -> None:
    workshop, _ = bench
    assert wet_readiness(workshop, "Bramble", Wet.DAMP) is None
    assert wet_readiness(workshop, "Bramble", Wet.DRY) is None
    assert bench_sheet(workshop, Asked(wet=Wet.DAMP)).readiness == ()


@pytest.mark.slow
def test_a_sheet_for_a_wet_day_says_so_before_the_car_gets_wet(bench: Bench) -> None:
    workshop, _ = bench
    (mud,) = bench_sheet(workshop, Asked(wet=Wet.MUD)).readiness
    assert mud == readiness(workshop, Wet.MUD)
    assert [after.within_h for after in mud.afterwards] == [12, 24]
    assert any("Stay out of mud" in sentence for sentence in mud.sentences)
    assert mud.cautions
    assert bench_sheet(workshop, Asked()).readiness == ()


def test_what_is_due_does_not_wait_for_the_next_day_to_be_seen(bench: Bench) -> None:
    """Law: a run entered a day late shows as overdue at once."""
    workshop, clock = bench
    clock.on(days=1)
    at = (clock.now - timedelta(hours=20)).strftime("%Y-%m-%d %H:%M")
    ran(workshop, wet="mud", when=at)
    assert treatments_of(workshop)[0].overdue
