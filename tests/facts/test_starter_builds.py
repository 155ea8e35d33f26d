"""Six kinds of cars, each made from its own kind, and every row of the tables reachable from one of them.

Authority: laws of this project, and common practice where a test says so.
"""

from __future__ import annotations

from itertools import combinations

import pytest

from snugfast.facts.load import load_facts
from snugfast.facts.model import Build, Check, Mode

FACTS = load_facts()
BUILDS = dict(FACTS.starters)
ONLY_ON_BUILDS_OF_OWNERS = {"pinion_screw_round_locked", "pinion_screw_dry"}


def fits(row: Mode | Check, build: Build) -> bool:
    return all(build.traits[key] in values.split("|") for key, values in row.traits.items())


def checks_of(build: Build) -> list[Check]:
    return [
        check
        for check in FACTS.checks.values()
        if fits(check, build) and any(build.of_role(role) for role in check.roles)
    ]


def test_there_are_twelve_kinds() -> None:
    assert list(BUILDS) == [
        "buggy-1-10-2wd-2s-ball-diff",
        "buggy-1-8-4wd-4s",
        "crawler-1-10-4wd-3s-brushed",
        "drift-1-10-2wd-2s",
        "mini-1-18-4wd-2s",
        "monster-1-8-4wd-6s",
        "on-road-1-10-4wd-shaft-brushed",
        "short-course-1-10-2wd-3s",
        "short-course-1-10-2wd-brushed",
        "touring-1-10-4wd-2s",
        "truck-1-10-4wd-3s",
        "truck-1-5-4wd-8s",
    ]


def test_no_trait_is_offered_that_no_row_knows() -> None:
    """Ball diffs, friction shocks, a gyro: a car that has them has ways to fail and checks for them."""
    for trait, value in (("diff", "ball"), ("shocks", "friction")):
        assert [mode for mode in FACTS.modes.values() if value in mode.traits.get(trait, "").split("|")]
        assert [check for check in FACTS.checks.values() if value in check.traits.get(trait, "").split("|")]
    drift = BUILDS["drift-1-10-2wd-2s"]
    assert drift.of_role("gyro") and "gyro_seat" in {check.key for check in checks_of(drift)}


def test_screws_are_counted_as_many_as_there_are() -> None:
    """Practice: such a truck has 25 to 40 screws in its chassis, and each hinge pin two e-clips."""
    truck = BUILDS["truck-1-10-4wd-3s"]
    assert 25 <= sum(place.pieces for place in truck.of_role("screw_chassis")) <= 40
    screws = {
        key: sum(place.pieces for place in build.places if "thread" in place.sizes and "head" in place.sizes)
        for key, build in BUILDS.items()
    }
    assert all(70 <= many <= 160 for many in screws.values()), screws
    assert all(many >= 100 for key, many in screws.items() if key.partition("-")[2][:3] in ("1-8", "1-5"))
    (clips,) = BUILDS["short-course-1-10-2wd-brushed"].of_role("e_clip")
    assert clips.pieces == 16
    (portals,) = BUILDS["crawler-1-10-4wd-3s-brushed"].of_role("portal_bearing")
    assert portals.pieces == 8


def test_a_build_is_found_under_the_name_of_its_file() -> None:
    """Only so can it be left unread until it is asked for."""
    assert all(build.key == key for key, build in BUILDS.items())


def test_every_build_answers_every_trait() -> None:
    """A trait left unsaid would silently take modes and checks away."""
    for key, build in BUILDS.items():
        assert set(build.traits) == set(FACTS.traits), key


@pytest.mark.parametrize(("one", "other"), list(combinations(BUILDS, 2)))
def test_no_build_is_a_copy_of_another(one: str, other: str) -> None:
    parts = [{(p.role, p.part, p.price_minor) for p in BUILDS[key].places} for key in (one, other)]
    assert len(parts[0] & parts[1]) < 0.25 * min(map(len, parts))


def test_every_mode_can_befall_one_of_them() -> None:
    met = {
        mode.key
        for mode in FACTS.modes.values()
        for build in BUILDS.values()
        if fits(mode, build) and build.of_role(mode.role)
    }
    assert set(FACTS.modes) - met == ONLY_ON_BUILDS_OF_OWNERS


def test_every_check_is_of_use_on_every_build_it_is_shown_for() -> None:
    for build in BUILDS.values():
        here = {m.key for m in FACTS.modes.values() if fits(m, build) and build.of_role(m.role)}
        idle = [c.key for c in checks_of(build) if not here & {cover.mode for cover in c.covers}]
        assert not idle, build.key


def test_what_is_asked_of_a_build_is_a_place_it_mainly_has() -> None:
    """The first role of a check is what it is about; a check is not shown for its other roles alone."""
    for build in BUILDS.values():
        strange = [c.key for c in checks_of(build) if not build.of_role(c.roles[0])]
        assert not strange, build.key


def test_wide_cheap_checks_are_there_for_every_build() -> None:
    for build in BUILDS.values():
        keys = {check.key for check in checks_of(build)}
        assert {"push_roll", "suspension_drop", "listen_low_throttle", "walk_round"} <= keys, build.key
        assert keys & {"full_travel", "axle_travel"}, build.key


def test_a_learner_can_do_most_checks_and_the_rest_are_marked() -> None:
    for build in BUILDS.values():
        marked = {
            check.key
            for check in checks_of(build)
            if check.adults_only or any(FACTS.cautions[key].adults_only for key in check.cautions)
        }
        assert len(marked) <= 0.35 * len(checks_of(build)), build.key
        assert not marked & {"wheel_nuts", "wheel_nuts_large", "walk_round", "fail_safe"}, build.key
        assert {"pack_voltages", "joint_screws", "leads_look"} & {c.key for c in checks_of(build)} <= marked


def test_no_check_is_without_a_caution() -> None:
    assert [check.key for check in FACTS.checks.values() if not check.cautions] == []
    assert [access.key for access in FACTS.access.values() if not access.cautions] == []


def test_bigger_and_faster_cars_cost_more() -> None:
    """Common practice: parts grow dear with scale, and a first car is the cheapest of all."""

    def total(key: str) -> int:
        return sum(place.price_minor * max(1, len(place.spots)) for place in BUILDS[key].places)

    assert min(BUILDS, key=total) == "mini-1-18-4wd-2s"
    assert max(BUILDS, key=total) == "truck-1-5-4wd-8s"
    tenth, eighth, fifth = (
        BUILDS[key] for key in ("truck-1-10-4wd-3s", "buggy-1-8-4wd-4s", "truck-1-5-4wd-8s")
    )
    for role in ("arm", "spur", "pinion", "wheel_bearing", "drive_shaft", "controller", "motor", "servo"):
        prices = [b.of_role(role)[0].price_minor for b in (tenth, eighth, fifth)]
        assert prices == sorted(prices), role


def test_gears_grow_with_the_car() -> None:
    """Common practice: 64 DP and 48 DP on light cars, module 1 on eighth scale, module 1.5 on the largest."""
    pitches = {key: build.of_role("spur")[0].sizes["pitch"] for key, build in BUILDS.items()}
    assert pitches == {
        "buggy-1-10-2wd-2s-ball-diff": "48 DP",
        "buggy-1-8-4wd-4s": "module 1",
        "crawler-1-10-4wd-3s-brushed": "48 DP",
        "drift-1-10-2wd-2s": "48 DP",
        "mini-1-18-4wd-2s": "module 0.5",
        "monster-1-8-4wd-6s": "module 1",
        "on-road-1-10-4wd-shaft-brushed": "module 0.6",
        "short-course-1-10-2wd-3s": "48 DP",
        "short-course-1-10-2wd-brushed": "48 DP",
        "touring-1-10-4wd-2s": "64 DP",
        "truck-1-10-4wd-3s": "module 0.8",
        "truck-1-5-4wd-8s": "module 1.5",
    }


def test_what_does_not_like_water_says_so() -> None:
    """Wet ratings are shown before a wet run, so the parts that matter then all have one."""
    wanted = {"controller", "servo", "receiver", "motor", "pack", "receiver_plug", "switch"}
    for build in BUILDS.values():
        bare = [p.key for p in build.places if p.role in wanted and p.wet_rated is None]
        assert not bare, build.key


def test_a_row_like_another_differs_from_it() -> None:
    """Variants exist for what differs; two rows alike in all but their name would be one too many."""
    seen: dict[str, str] = {}
    for check in FACTS.checks.values():
        image = repr((check.traits, check.access, check.roles, check.covers, check.steps))
        assert image not in seen, (check.key, seen.get(image))
        seen[image] = check.key
