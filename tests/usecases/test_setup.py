"""The set-up record: what stands and stood, what a build has, two side by side, the way back as jobs."""

from __future__ import annotations

from collections.abc import Iterator

import pytest

from snugfast.core.errors import SnugfastError, WrongData
from snugfast.records.entries import SetUpChanged
from snugfast.usecases.chassis.setup_items import ITEMS, Per, items_of, places_of, read_change, told
from snugfast.usecases.chassis.setup_record import (
    SetUpSaid,
    changed_fields,
    differences,
    draft_set_up,
    field_text,
    set_up_at,
    set_up_now,
    way_back,
)
from snugfast.usecases.chassis.steering_job import SteeringSaid, draft_steering
from snugfast.usecases.journal.cars import draft_fitted
from snugfast.usecases.journal.keeping import keep, withdraw
from snugfast.usecases.shared.lookup import car_and_build
from snugfast.usecases.shared.workshop import Workshop
from tests.usecases.bench import Clock, facts, with_truck, workshop_in_memory

pytestmark = pytest.mark.slow  # through whole use-cases


@pytest.fixture
def bench() -> Iterator[tuple[Workshop, Clock]]:
    with workshop_in_memory() as (workshop, clock):
        with_truck(workshop)
        clock.on(days=1)
        yield workshop, clock


def put(workshop: Workshop, *changes: str, **said: str) -> None:
    keep(workshop, draft_set_up(workshop, SetUpSaid("Bramble", changes, **said)).entries)  # type: ignore[arg-type]


def texts(workshop: Workshop, key: str) -> list[str]:
    row = next(row for row in set_up_now(workshop, "Bramble").rows if row.item.key == key)
    return [cell.text for cell in row.cells]


def test_what_stands_and_what_stood(bench: tuple[Workshop, Clock]) -> None:
    workshop, clock = bench
    assert texts(workshop, "shock oil") == ["450 cSt", "450 cSt", "400 cSt", "400 cSt"]  # the build says so
    assert texts(workshop, "diff oil") == ["10\u00a0000 cSt", "7\u00a0000 cSt"]
    put(workshop, "camber front -2; camber rl -1.5", "shock oil rear = 350 mm²/s", why="nervous")
    clock.on(days=2)
    put(workshop, "camber fl: -1", drove="calmer", track="Kiln", weather="damp", air="12C")
    assert texts(workshop, "camber") == ["−1°", "−2°", "−1.5°", "–"]
    assert texts(workshop, "shock oil") == ["450 cSt", "450 cSt", "350 cSt", "350 cSt"]
    now = set_up_now(workshop, "Bramble")
    camber = next(row for row in now.corners if row.item.key == "camber")
    assert camber.cells[0].before == "−2°" and camber.cells[1].before == ""
    assert any("Camber, rear: entered on one side only" in note for note in now.notes)
    assert any("left −1°, right −2°" in note for note in now.notes)
    newest, first = now.changes
    assert (newest.drove, newest.where) == ("calmer", "Kiln, damp, 12 °C")
    assert first.what == "Camber, front −2°; Camber, rear left −1.5°; Shock oil, rear 350 cSt"
    assert now.tracks == ("Kiln",)


def test_a_change_taken_back_never_stood(bench: tuple[Workshop, Clock]) -> None:
    """Law: the record is a projection of the entries that stand, whatever order they came in."""
    workshop, clock = bench
    put(workshop, "toe front 1")
    clock.on(hours=1)
    draft = draft_set_up(workshop, SetUpSaid("Bramble", ("toe front -1",)))
    keep(workshop, draft.entries)
    put(workshop, "toe front 0.5", when="2026-05-02")  # remembered later, of a day before
    assert texts(workshop, "toe")[0] == "−1°"
    withdraw(workshop, draft.entries[0].id)
    assert texts(workshop, "toe")[0] == "1°"


def test_two_records_side_by_side_and_the_way_back(bench: tuple[Workshop, Clock]) -> None:
    workshop, clock = bench
    put(workshop, "camber front -1", "shock oil front 400", "tyres rear pins, soft", track="Kiln")
    clock.on(days=5)
    keep(workshop, draft_fitted(workshop, "Bramble", "pinion", part="pinion, 13 teeth").entries)
    steer = SteeringSaid("Bramble", "pistol", "92", "88", heard="quiet")
    keep(workshop, draft_steering(workshop, steer).entries)
    put(workshop, "camber front -2", "shock oil front 500", "sag front 8", track="Quarry")
    now, then = set_up_now(workshop, "Bramble"), set_up_at(workshop, "Bramble", "kiln")
    found = {(one.name, one.where): (one.one, one.other) for one in differences(now, then)}
    assert found["Camber", "front"] == ("−2°", "−1°")
    assert found["Shock oil", "front"] == ("500 cSt", "400 cSt")
    gearing = found["Gearing", ""]
    assert gearing[0].startswith("13T/54T") and gearing[1].startswith("15T/54T")
    assert ("Tyres", "rear") not in found
    assert differences(now, now) == ()
    back = way_back(workshop, "Bramble", "2026-05-03")
    jobs = [job.text for job in back.jobs]
    assert any(text.startswith("Gearing: 15T/54T") and "now 13T/54T" in text for text in jobs)
    assert "Camber, front: −1° (now −2°)" in jobs
    oil = next(job for job in back.jobs if job.text.startswith("Shock oil, front: 400 cSt"))
    assert "bleed" in oil.how and any("slippery" in caution.text for caution in oil.cautions)
    assert any(name.startswith("Sag, front") for name in back.unknown)
    for job in back.jobs:  # done, and the record says so again
        if job.text.startswith(("Camber", "Shock oil")):
            put(workshop, job.text.replace(",", "").split(" (now")[0].replace("−", "-"))
    assert "Camber, front: −1° (now −2°)" not in [
        job.text for job in way_back(workshop, "Bramble", "Kiln").jobs
    ]


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ("shock oil front 35wt", "is a weight"),
        ("diff oil front 7 weight", "is a weight"),
        ("camber front -40", "none a car has"),
        ("camber front 2 mm", "is not in °"),
        ("camber front", "has no value"),
        ("diff oil centre 5000", "no place “centre”"),
        ("bar front 1.2", "has nothing for anti-roll bar"),
        ("cambr front -2", "There are camber"),
        ("spring front red", "is not a number"),
        ("sag rear much", "is not a number"),
    ],
)
def test_what_a_set_up_cannot_hold_is_refused_with_what_to_do(
    bench: tuple[Workshop, Clock], change: str, words: str
) -> None:
    with pytest.raises(SnugfastError) as refused:
        put(bench[0], change)
    assert words in f"{refused.value.sentence} {refused.value.way_out}" and refused.value.way_out


def test_entries_from_elsewhere_are_judged_and_days_are_read(bench: tuple[Workshop, Clock]) -> None:
    workshop, _ = bench
    car, _ = car_and_build(workshop, "Bramble")
    for wrong in (
        SetUpChanged(car.id),
        SetUpChanged(car.id, {"camber": [1, 2]}),
        SetUpChanged(car.id, {"x": True}),
    ):
        with pytest.raises(WrongData):
            keep(workshop, [workshop.entry(wrong)])
    with pytest.raises(SnugfastError, match="neither a day nor a track"):
        set_up_at(workshop, "Bramble", "nowhere")
    put(workshop, drove="well")
    assert set_up_now(workshop, "Bramble").changes[0].drove == "well"
    with pytest.raises(SnugfastError, match="Nothing was changed"):
        put(workshop)


def test_of_a_whole_form_only_what_differs_is_a_change(bench: tuple[Workshop, Clock]) -> None:
    workshop, _ = bench
    put(workshop, "camber front -2")
    fields = {
        f"{row.item.key}/{place}" if place else row.item.key: field_text(cell)
        for row in set_up_now(workshop, "Bramble").rows
        for place, cell in zip(row.places, row.cells, strict=True)
    }
    assert changed_fields(workshop, "Bramble", fields) == ()
    changed = changed_fields(workshop, "Bramble", {**fields, "camber/front left": "-1", "rate": "80"})
    assert set(changed) == {"camber front left -1", "rate 80"}


@pytest.mark.parametrize("key", list(facts().starters))
def test_a_build_has_only_what_it_has(key: str) -> None:
    """Each item of a build can be typed at each of its places, and reads as it was told."""
    build = facts().starters[key]
    here = items_of(build)
    assert {item.key for item in here} <= {item.key for item in ITEMS}
    assert ("bar" in {item.key for item in here}) == bool(build.of_role("anti_roll_bar"))
    assert ("diff oil" in {item.key for item in here}) == (build.traits["diff"] == "geared, oil filled")
    assert ("camber" in {item.key for item in here}) <= (build.traits["suspension"] == "arms")
    for item in here:
        for place in places_of(item, build):
            value = "word" if item.words else f"{max(item.low or 0.0, 1.0):g}"
            read = read_change(f"{item.key} {place} {value}", build)
            assert list(read) == [f"{item.key}/{place}" if place else item.key]
            assert told(item, next(iter(read.values())))
        assert item.per is not Per.DIFF or places_of(item, build)
