"""Fitting a car's twin to its own journal: what is used, what is not and why, what a study makes of it.

Authority: laws. A made-up owner reads what the twin says, and reads it wrong once.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from contextlib import contextmanager

import pytest

from snugfast.core.errors import BadInput
from snugfast.physics.study.fitting import NEAR_ENOUGH
from snugfast.physics.study.knobs import NOT_READ, Knob
from snugfast.usecases.gearing.said import GearingSaid
from snugfast.usecases.gearing.study import gearing_study
from snugfast.usecases.journal.cars import draft_fitted
from snugfast.usecases.journal.keeping import keep
from snugfast.usecases.journal.run_log import RunSaid, draft_runs
from snugfast.usecases.shared.ledger import ledger_now
from snugfast.usecases.shared.lookup import car_called
from snugfast.usecases.shared.workshop import Workshop
from snugfast.usecases.twin.fit_kept import kept_fit
from snugfast.usecases.twin.fitting import fit_twin
from snugfast.usecases.twin.tables import COVERS_NINE_IN_TEN
from tests.usecases.bench import Clock, ran, with_truck, workshop_in_memory

pytestmark = pytest.mark.slow  # through a whole use-case: not in make check


@contextmanager
def told(*runs: dict[str, object]) -> Iterator[tuple[Workshop, Clock]]:
    """A workshop with a truck and these runs, an hour apart."""
    with workshop_in_memory() as (workshop, clock):
        with_truck(workshop)
        for run in runs:
            clock.on(hours=1)
            ran(workshop, **run)
        yield workshop, clock


HOT = {
    "minutes": "3",
    "ground": "dirt",
    "ambient": "22",
    "readings": ("motor can 60 °C 20 s", "top speed 62 km/h"),
    "put_back": "450 mAh",
}
ODD = {**HOT, "readings": ("motor can 130 °C 20 s",), "put_back": ""}


def test_a_hotter_can_than_the_twin_says_moves_the_twin_towards_it() -> None:
    with told(HOT) as (workshop, _):
        found = fit_twin(workshop, "Bramble")
        can = next(line for line in found.readings if line.unit == "°C")
        assert abs(can.read - can.after.value) < abs(can.read - can.before)
        assert can.after.low is not None and can.after.high is not None
        assert can.after.low < can.after.value < can.after.high
        assert {line.unit for line in found.readings} == {"°C", "km/h", "mAh"}
        assert found.kept
        assert any("next to nothing" in line for line in found.alike)  # three readings, eight guesses
        assert found.next_can is not None and found.next_can.low is not None


@pytest.mark.slow
def test_a_reading_that_does_not_fit_is_shown_and_not_absorbed() -> None:
    with told(HOT, HOT, HOT, ODD) as (workshop, _):
        found = fit_twin(workshop, "Bramble")
        odd = [line for line in found.readings if not line.fits]
        assert [line.read for line in odd] == [130.0]
        assert "not absorbed" in found.sentence
        assert next(line for line in found.readings if line.read == 60.0).fits


def test_a_temperature_without_seconds_spot_or_air_is_left_out_and_says_why() -> None:
    runs = (
        {**HOT, "readings": ("motor can 60 °C",), "put_back": "450 mAh"},
        {**HOT, "readings": ("front diff 50 °C 20 s",), "put_back": ""},
        {**HOT, "ambient": "", "readings": ("motor can 60 °C 20 s",), "put_back": ""},
        {**HOT, "ground": "", "put_back": ""},
    )
    with told(*runs) as (workshop, _):
        found = fit_twin(workshop, "Bramble")
        assert [line.unit for line in found.readings] == ["mAh"]
        whys = " ".join(line.why for line in found.unused)
        for why in ("How long after the stop", "on the motor can", "How warm the air was", "On what ground"):
            assert why in whys


def test_a_journal_without_readings_says_what_to_read() -> None:
    with told({"minutes": "3", "ground": "dirt"}) as (workshop, _), pytest.raises(BadInput) as refused:
        fit_twin(workshop, "Bramble")
    assert "charge put back" in refused.value.way_out


def test_the_next_study_uses_the_fit_and_says_when_it_is_old() -> None:
    said = GearingSaid("Bramble", style="speed_passes", pinions="15", ambient="22")
    with told(HOT) as (workshop, clock):
        before = gearing_study(workshop, said)
        fit_twin(workshop, "Bramble")
        after = gearing_study(workshop, said)
        assert before.fitted.startswith("Not fitted")
        assert after.fitted == "Fitted to 3 readings of yours."
        assert after.chosen is not None and before.chosen is not None
        assert after.chosen.top_speed_km_h != pytest.approx(before.chosen.top_speed_km_h, abs=0.5)
        assert _width(after) < _width(before)
        clock.on(hours=1)
        ran(workshop, minutes="5")
        assert "fit it again" in gearing_study(workshop, said).fitted


def _width(study: object) -> float:
    figure = study.chosen.bands.top_speed  # type: ignore[attr-defined]
    return float((figure.high - figure.low) / figure.value)


def laps(*pairs: tuple[str, str]) -> Iterator[dict[str, object]]:
    """Runs on tarmac with a lap time each, as (words of the lap, ground) pairs."""
    for words, ground in pairs:
        yield {"minutes": "3", "ground": ground, "ambient": "22", "readings": (words,)}


def test_one_lap_time_is_refused_and_says_what_to_time() -> None:
    with told(*laps(("lap club 32.5 s", "tarmac"))) as (workshop, _), pytest.raises(BadInput) as refused:
        fit_twin(workshop, "Bramble")
    assert "says nothing" in refused.value.sentence
    assert "another pinion, pack or tyre on the same track" in refused.value.way_out


def test_one_lap_time_beside_a_can_says_nothing_and_changes_nothing() -> None:
    """Law: the fit is the same without the lap, which is shown in tenths of a second all the same."""
    alone = {**HOT, "ground": "tarmac", "put_back": ""}
    with told(alone) as (workshop, _):
        without = fit_twin(workshop, "Bramble")
    with told({**alone, "readings": (*HOT["readings"], "lap club 32.5 s")}) as (workshop, _):
        found = fit_twin(workshop, "Bramble")
    assert [line.sentence.partition(".")[0] for line in found.laps] == [
        "One lap time of “lap club, tarmac” says nothing of the car yet"
    ]
    for one, other in zip(found.knobs, without.knobs, strict=True):
        assert one.factor.low is not None and one.factor.high is not None
        spread = math.log(one.factor.high / one.factor.low) / (2.0 * COVERS_NINE_IN_TEN)
        assert abs(math.log(one.factor.value / other.factor.value)) < NEAR_ENOUGH * spread
    lap = next(line for line in found.readings if line.unit == "s")
    assert (lap.digits, lap.read, round(lap.after.value, 1)) == (1, 32.5, 32.5)


def test_only_a_temperature_is_asked_for_its_seconds_after_the_stop() -> None:
    with told() as (workshop, _):
        run = RunSaid("Bramble", minutes="3", readings=("lap club 32.5 s", "motor can 60 °C"))
        echo = " ".join(draft_runs(workshop, (run,)).echo)
    assert "lap club 32.5 s;" in echo
    assert "motor can 60 °C (seconds after stopping not entered" in echo


@pytest.mark.slow
def test_laps_on_two_pinions_tell_something_and_the_track_is_no_guess_of_the_car() -> None:
    """Law: 8 teeth run out of revolutions on tarmac where 15 do not; the pinion is read from the journal."""
    with told(*laps(("lap club 32.5 s", "tarmac"))) as (workshop, clock):
        for part, lap in (("pinion, 8 teeth", "lap club 38.5 s"), ("pinion, 19 teeth", "lap club 32.4 s")):
            clock.on(hours=1)
            keep(workshop, draft_fitted(workshop, "Bramble", "pinion", part=part).entries)
            clock.on(hours=1)
            ran(workshop, **next(laps((lap, "tarmac"))))
        found = fit_twin(workshop, "Bramble")
        told_by_laps = found.laps[0]
        assert (told_by_laps.track, told_by_laps.laps) == ("lap club, tarmac", 3)
        assert told_by_laps.times_the_twins == pytest.approx(3.6, abs=0.3)
        assert told_by_laps.surer > 0.05
        assert "narrower" in told_by_laps.sentence
        kept = _kept(workshop)
    assert {one.name for one in found.knobs} <= {knob.value for knob in Knob}
    assert len(kept.learned.knobs) == len(found.knobs) + len(NOT_READ)  # type: ignore[attr-defined]


def test_the_same_words_on_other_ground_are_another_track() -> None:
    with (
        told(*laps(("lap 32.5 s", "tarmac"), ("lap 36 s", "dirt"))) as (workshop, _),
        pytest.raises(BadInput, match="says nothing"),
    ):
        fit_twin(workshop, "Bramble")


@pytest.mark.slow
def test_a_fit_dropped_and_made_again_comes_out_equal() -> None:
    """Law: the fit is a projection of the journal; nothing but readings is truth."""
    with told(HOT) as (workshop, _):
        fit_twin(workshop, "Bramble")
        first = _kept(workshop)
        with workshop.store.work() as work:
            work.projections.drop_all()
            work.commit()
        assert _kept(workshop) is None
        fit_twin(workshop, "Bramble")
        assert _kept(workshop) == first


def _kept(workshop: Workshop) -> object:
    with workshop.store.reading() as reads:
        return kept_fit(reads, car_called(ledger_now(reads), "Bramble").id)
