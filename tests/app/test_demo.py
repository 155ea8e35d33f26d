"""The demo workshop: a whole season, the same each time, with the truth beside it."""

from __future__ import annotations

import json
from pathlib import Path

import numpy as np
import pytest

from snugfast.app.demo import make_demo
from snugfast.app.demo.cast import CARS, PACKS, PEOPLE
from snugfast.app.demo.make import SEED
from snugfast.app.demo.season import season
from snugfast.app.opening import open_workshop
from snugfast.records import entries as said
from snugfast.records.standing import standing
from snugfast.records.store.troubles import StoreAlreadyThere
from tests.stories.shed import NOW, demo, facts_of, journal, ledger_of, told

SEASON = (
    said.CarAdded,
    said.PackAdded,
    said.Ran,
    said.CaughtUp,
    said.Checked,
    said.Failed,
    said.PartFitted,
    said.PartMoved,
    said.BuildChanged,
    said.WorkDone,
    said.CameBack,
    said.SettingsChosen,
    said.TreatmentDone,
    said.ChargerAdded,
    said.PackLooked,
    said.PackCharged,
    said.PackMeasured,
    said.PackStands,
    said.Withdrawn,
)


def test_every_kind_of_thing_that_can_happen_happens_in_the_season() -> None:
    kinds = {type(entry.fact) for entry in journal(demo().workshop)}
    assert kinds >= set(SEASON)


def test_the_season_is_long_wide_and_ends_shortly_before_now() -> None:
    entries = journal(demo().workshop)
    runs = facts_of(demo().workshop, said.Ran)
    assert 600 <= len(entries) <= 1200
    assert len({entry.happened_at.date() for entry in runs}) >= 28
    assert 200 <= (NOW - entries[0].happened_at).days <= 280
    assert 1 <= (NOW - max(entry.happened_at for entry in entries)).days <= 3
    assert all(entry.happened_at <= entry.recorded_at <= NOW for entry in entries)


def test_weather_ground_and_hits_of_all_sorts_were_met() -> None:
    runs = [entry.fact for entry in facts_of(demo().workshop, said.Ran)]
    assert {run.wet for run in runs} == set(said.Wet)
    assert len({run.ground for run in runs}) >= 6
    assert {"none", "a few", "many"} <= {run.hits_said for run in runs}
    assert min(run.ambient_degC for run in runs if run.ambient_degC is not None) < 8.0
    readings = [reading for run in runs for reading in run.readings]
    assert any(reading.seconds_after_stop is None for reading in readings)
    assert any(reading.seconds_after_stop is not None for reading in readings)


def test_things_are_found_fail_are_ticked_and_stay_unexplained() -> None:
    checks = [entry.fact for entry in facts_of(demo().workshop, said.Checked)]
    runs = [entry.fact for entry in facts_of(demo().workshop, said.Ran)]
    answers = [answer for check in checks for answer in check.answers]
    assert len(answers) >= 15
    assert any(answer.spot for answer in answers)
    assert any(not check.looked for check in checks)
    assert any(check.spent is not None for check in checks)
    breaks = [broke for run in runs for broke in run.broke]
    assert any(broke.mode is None for broke in breaks)
    assert any(broke.mode is not None for broke in breaks)
    assert any(fitted.fact.spent for fitted in facts_of(demo().workshop, said.PartFitted))


def test_a_run_was_corrected_one_taken_back_and_one_written_down_late() -> None:
    entries = journal(demo().workshop)
    stands = standing(entries)
    assert stands.superseded
    assert stands.withdrawn
    assert not stands.conflicts
    late = [e for e in facts_of(demo().workshop, said.Ran) if (e.recorded_at - e.happened_at).days >= 2]
    assert late


def test_the_cast_stands_as_it_was_invented() -> None:
    ledger = ledger_of(demo().workshop)
    assert {car.name for car in ledger.cars.values()} == {car.name for car in CARS}
    assert {pack.name for pack in ledger.packs.values()} >= {pack.name for pack in PACKS}
    history = {car.name: car.history for car in ledger.cars.values()}
    assert history["Thistle"] is said.History.SECOND_HAND
    kinds = {car.name: car.build["traits"]["car_kind"] for car in ledger.cars.values()}
    assert kinds == {"Bramble": "truck", "Nettle": "crawler", "Thistle": "on-road", "Sorrel": "beginner"}
    thistle = next(car for car in ledger.cars.values() if car.name == "Thistle")
    assert thistle.build["traits"]["pinion_lock"] == "dry"
    assert ledger.settings["currency"] == "EUR"
    assert {car.build["currency"] for car in ledger.cars.values()} == {"EUR"}
    with demo().workshop.store.reading() as reads:
        assert {person.name for person in reads.people()} == set(PEOPLE)


def test_the_door_opens_it_by_its_folder() -> None:
    opened = open_workshop(str(demo().truth_file.parent), by="Moss", now=lambda: NOW)
    assert len(journal(opened)) == len(journal(demo().workshop))
    opened.store.close()


def test_a_second_demo_in_the_same_folder_is_refused() -> None:
    with pytest.raises(StoreAlreadyThere):
        make_demo(demo().truth_file.parent, now=NOW)


@pytest.mark.slow
def test_the_same_seed_tells_the_same_season_and_the_same_truth(tmp_path: Path) -> None:
    again = make_demo(tmp_path / "again", now=NOW)
    assert journal(again.workshop) == journal(demo().workshop)
    assert again.truth_file.read_text() == demo().truth_file.read_text()
    again.workshop.store.close()


def test_another_seed_is_another_season() -> None:
    assert season(SEED, NOW.date()) != season(SEED + 1, NOW.date())


def test_the_truth_lies_beside_the_store_for_every_way_every_part_can_fail() -> None:
    document = json.loads(demo().truth_file.read_text())
    _, stories = told(demo().workshop)
    names = {car.id: car.name for car in ledger_of(demo().workshop).cars.values()}
    names |= {pack.id: pack.name for pack in ledger_of(demo().workshop).packs.values()}
    for member, story in stories.items():
        believed = sorted(mode.key for mode in story.scope(member).modes)
        true = sorted(row["mode"] for row in document["rows"] if row["of"] == names[member])
        assert believed == true


def test_the_true_rates_are_not_those_of_the_tables() -> None:
    """Scenario C: log spread 1.2 for the error, and the cars' own spread on top."""
    factors = [row.rate_factor for rows in demo().hidden.rows.values() for row in rows]
    assert float(np.std(np.log(factors))) > 1.0
