"""Oils, greases, rebuilds and what attacks what, from the build and its beliefs.

Authority: sums by hand; laws of this project; rows of tables.
"""

from __future__ import annotations

from collections.abc import Iterator

import pytest

from snugfast.core.errors import NotKnown
from snugfast.facts.load import load_facts
from snugfast.facts.texts import UNKNOWN, placeholders
from snugfast.usecases.chassis.setup_record import SetUpSaid, draft_set_up
from snugfast.usecases.fluids.fluids import Fluids, Rebuild, fluids_of, rebuild_of
from snugfast.usecases.journal.cars import draft_fitted
from snugfast.usecases.journal.keeping import keep
from snugfast.usecases.mechanics.tables import table_of
from snugfast.usecases.shared.applicability import fits
from snugfast.usecases.shared.guides import guide, guides_of
from snugfast.usecases.shared.workshop import Workshop
from tests.usecases.bench import Clock, as_the_tables_mean, facts, ran, with_truck, workshop_in_memory

pytestmark = pytest.mark.slow  # through a whole use-case: not in make check

FACTS = load_facts()


@pytest.fixture
def bench() -> Iterator[tuple[Workshop, Clock]]:
    with workshop_in_memory(as_the_tables_mean(facts())) as (workshop, clock):
        with_truck(workshop)
        clock.on(days=1)
        yield workshop, clock


def due(found: Fluids, key: str) -> float:
    job = next(one for one in found.rebuilds if one.job.key == key)
    return max(line.chance for line in job.due)


def test_amounts_come_from_bore_and_stroke(bench: tuple[Workshop, Clock]) -> None:
    """*By hand*: 11 mm over 28 + 10 mm are 3.6 ml; both front corners are told together."""
    found = fluids_of(bench[0], "Bramble")
    front = next(oil for oil in found.oils if oil.where == "Front shocks")
    assert front.each is not None and front.each.value == pytest.approx(3.611, abs=2e-3)
    assert front.count == 2 and "450 cSt" in front.sentence and "common: 250 to 550" in front.sentence
    assert [oil.where for oil in found.oils] == ["Front shocks", "Rear shocks", "Front diff", "Rear diff"]
    assert found.air is not None and 0.02 < found.air.value < 0.1


def test_the_oil_is_the_set_up_s_and_one_far_off_is_asked_about(bench: tuple[Workshop, Clock]) -> None:
    workshop, clock = bench
    keep(workshop, draft_set_up(workshop, SetUpSaid("Bramble", ("shock oil rear 60",))).entries)
    clock.on(days=1)
    rear = next(oil for oil in fluids_of(workshop, "Bramble").oils if oil.where == "Rear shocks")
    assert rear.now_mm2_s == 60.0 and "is that a “weight”?" in rear.sentence


def test_a_rebuild_is_due_by_running_and_not_by_a_calendar(bench: tuple[Workshop, Clock]) -> None:
    """*Law*: half a year on the shelf moves nothing; running and mud do."""
    workshop, clock = bench
    before = fluids_of(workshop, "Bramble")
    clock.on(days=180)
    assert due(fluids_of(workshop, "Bramble"), "shock_rebuild") == pytest.approx(
        due(before, "shock_rebuild"), abs=1e-6
    )
    for _ in range(12):
        clock.on(hours=1)
        ran(workshop)
    after = fluids_of(workshop, "Bramble")
    assert due(after, "shock_rebuild") > due(before, "shock_rebuild")
    line = next(one for one in after.rebuilds if one.job.key == "shock_rebuild").due[0]
    assert "likely now; as likely as not after about" in line.sentence and "pack" in line.sentence


def test_new_seals_that_are_logged_begin_anew(bench: tuple[Workshop, Clock]) -> None:
    """The loop: running makes it likely, the rebuild that was logged takes it back."""
    workshop, clock = bench
    for _ in range(8):
        clock.on(hours=1)
        ran(workshop)
    before = rebuild_of(workshop, "Bramble", "shock")
    for key, _ in before.renews:
        keep(workshop, draft_fitted(workshop, "Bramble", key).entries)
    after = rebuild_of(workshop, "Bramble", "shock")

    def seals(found: Rebuild) -> float:
        return max(line.chance for line in found.due if line.mode == "shock_low_oil")

    assert [name for _, name in before.renews] == ["Front shock seals", "Rear shock seals"]
    assert seals(after) < 0.5 * seals(before)


def test_one_rebuild_tells_sizes_parts_bleeding_and_how_to_log_it(bench: tuple[Workshop, Clock]) -> None:
    found = rebuild_of(bench[0], "Bramble", "shock")
    text = " ".join(step.do for step in found.job.steps)
    assert "3 × 1.9 mm" in text and "Bleed" in text and "3 mm shaft" in text
    assert found.log_as == "shocks_look" and any("1.40" in part for part in found.parts)
    assert rebuild_of(bench[0], "Bramble", "diff").log_as == "diff_service"
    with pytest.raises(NotKnown, match="no rebuild") as refused:
        rebuild_of(bench[0], "Bramble", "ball_diff")
    assert "shock" in str(refused.value.way_out)


def test_what_the_car_has_not_is_not_told(bench: tuple[Workshop, Clock]) -> None:
    found = fluids_of(bench[0], "Bramble")
    assert not any("ball diff" in grease.where for grease in found.greases)
    assert any("pads" in attack.on and "silicone oil" in attack.substance for attack in found.attacks)
    assert any("body plastic" in attack.on and attack.seen == "primary" for attack in found.attacks)
    assert {source.seen for source in found.sources} >= {"primary", "practice", "elicited", "secondary"}


@pytest.mark.parametrize("key", guides_of("fluids"))
def test_every_rebuild_belongs_to_a_starter_and_leaves_no_size_open(key: str) -> None:
    row = guide(FACTS, "fluids", key, build=next(iter(FACTS.starters.values())))
    builds = [
        build
        for build in FACTS.starters.values()
        if fits(row.traits, build) and all(build.of_role(role) for role in row.roles)
    ]
    assert builds and row.source in FACTS.sources and row.modes and row.checks
    assert set(row.modes) <= set(FACTS.modes) and set(row.checks) <= set(FACTS.checks)
    assert any(step.cautions for step in row.steps) and row.cautions and row.minutes > 0
    for build in builds:
        told = guide(FACTS, "fluids", key, build=build)
        for text in (*(step.do for step in told.steps), *told.tools, *told.parts):
            assert UNKNOWN not in text and not placeholders(text), (build.key, text)
        assert set(row.uses) <= {place.role for place in build.places}
    if "degreaser" in " ".join(step.do for step in row.steps):
        assert row.adults_only


@pytest.mark.parametrize("name", ["greases", "attacks"])
def test_rows_name_places_of_starters_and_known_sources(name: str) -> None:
    roles = {place.role for build in FACTS.starters.values() for place in build.places}
    for row in table_of("fluids", name).rows:
        assert row["role"] in roles, row
        assert row["row_source"] in FACTS.sources, row


def test_ranges_rise_and_no_viscosity_is_a_weight() -> None:
    for row in table_of("fluids", "fills").rows:
        assert row["low"] < row["usual"] < row["high"]  # type: ignore[operator]
    for row in table_of("fluids", "usual_oils").rows:
        assert 50.0 < row["low_mm2_s"] < row["high_mm2_s"]  # type: ignore[operator]
    texts = " ".join(
        step.do
        for key in guides_of("fluids")
        for step in guide(FACTS, "fluids", key, build=FACTS.starters["truck-1-10-4wd-3s"]).steps
    )
    assert " wt" not in texts
