"""Bad input told to the demo: one clear sentence with a way out, and nothing is written."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import pytest

from snugfast.core.errors import SnugfastError, WrongData
from snugfast.usecases.bench.bench_sheet import bench_sheet
from snugfast.usecases.bench.sheet import Asked
from snugfast.usecases.journal.bench_answers import FoundSaid, draft_found
from snugfast.usecases.journal.cars import draft_fitted
from snugfast.usecases.journal.keeping import keep
from snugfast.usecases.journal.run_log import CatchUpSaid, RunSaid, draft_catch_up, draft_runs
from snugfast.usecases.shared.workshop import Workshop
from tests.stories.shed import position, shed

GOOD = RunSaid(car="Bramble", packs=("Ember 2",), minutes="13", ground="gravel")


def runs(*said: RunSaid) -> Callable[[Workshop], object]:
    """Draft and keep some runs."""
    return lambda workshop: keep(workshop, draft_runs(workshop, said).entries)


def found(*words: str, check: str = "wheel_nuts") -> Callable[[Workshop], object]:
    """Draft and keep an answer."""
    said = FoundSaid("Bramble", check, words)
    return lambda workshop: keep(workshop, draft_found(workshop, said).entries)


STORIES: dict[str, tuple[Callable[[Workshop], object], str]] = {
    "negative minutes": (runs(replace(GOOD, minutes="-13")), "-13 cannot be"),
    "no minutes": (runs(replace(GOOD, minutes="0")), "0 cannot be"),
    "a comma in a number": (runs(replace(GOOD, minutes="1,5")), "write 1.5"),
    "minutes in words": (runs(replace(GOOD, minutes="a while")), "“a while”"),
    "a pack in two cars at once": (
        runs(
            replace(GOOD, when="2026-11-25 15:00"),
            replace(GOOD, car="Nettle", when="2026-11-25 15:05"),
        ),
        "Ember 2 was in Bramble until",
    ),
    "a car in two places at once": (
        runs(
            replace(GOOD, when="2026-11-25 15:00"),
            replace(GOOD, packs=("Ember 3",), when="2026-11-25 15:05"),
        ),
        "Bramble was already out until",
    ),
    "a run before the car existed": (
        runs(replace(GOOD, car="Nettle", when="2026-03-28 15:00")),
        "Nettle has been here only since",
    ),
    "an unknown car": (runs(replace(GOOD, car="Brambel")), "the cars here are"),
    "an unknown pack": (runs(replace(GOOD, packs=("Ember 99",))), "the packs here are"),
    "an unknown ground": (runs(replace(GOOD, ground="lava")), "lava"),
    "an unknown place": (
        lambda workshop: draft_fitted(workshop, "Bramble", "left wing"),
        "There is no place called “left wing”",
    ),
    "an unknown check": (found("sound", check="polish"), "There is no check “polish”"),
    "a word the check does not know": (found("wobbly"), "“wobbly” is no answer"),
    "a day to come": (runs(replace(GOOD, when="2026-12-24")), "has not come yet"),
    "a day that is none": (runs(replace(GOOD, when="2026-02-30")), "not a day in the calendar"),
    "a wet share above the whole": (
        lambda workshop: keep(
            workshop,
            draft_catch_up(
                workshop, CatchUpSaid("Sorrel", "two", "2026-11-01", minutes_each="12", wet_packs="five")
            ).entries,
        ),
        "5 of 2 packs cannot be wet",
    ),
    "a sheet for a car that is not here": (
        lambda workshop: bench_sheet(workshop, Asked(("Clover",))),
        "There is no car called “Clover”",
    ),
}


@pytest.mark.parametrize("story", STORIES)
def test_bad_input_is_refused_in_a_sentence_with_a_way_out_and_nothing_is_written(
    story: str, tmp_path: Path
) -> None:
    told, part = STORIES[story]
    with shed(tmp_path) as (workshop, _):
        before = position(workshop)
        with pytest.raises(SnugfastError) as refused:
            told(workshop)
        assert position(workshop) == before
        assert part in str(refused.value)
        if isinstance(refused.value, WrongData):
            assert all(finding.way_out for finding in refused.value.findings)
        else:
            assert refused.value.way_out
        assert refused.value.exit_code == 2


def test_all_that_is_wrong_with_a_run_is_said_at_once(tmp_path: Path) -> None:
    with shed(tmp_path) as (workshop, _), pytest.raises(WrongData) as refused:
        runs(replace(GOOD, car="Brambel", packs=("Ember 99",), minutes="1,5", ground="lava"))(workshop)
    assert len(refused.value.findings) == 4


def test_one_bad_run_keeps_the_good_ones_beside_it_from_being_written(tmp_path: Path) -> None:
    with shed(tmp_path) as (workshop, _):
        before = position(workshop)
        with pytest.raises(WrongData):
            runs(GOOD, replace(GOOD, car="Nettle", packs=("Ember 3",), when="2026-03-28"))(workshop)
        assert position(workshop) == before
