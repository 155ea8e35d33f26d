"""Joints of a car, as its owner asks.

Authority: the published torque and holding tables where a test names one, trade practice where it says so,
else laws of the rooms below.
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterator
from dataclasses import replace

import pytest

from snugfast.core.errors import SnugfastError
from snugfast.physics.joints.fasteners import NO_FIGURE
from snugfast.physics.joints.set_screws import HoldVerdict, ShaftSeat
from snugfast.usecases.journal.cars import draft_car, starter
from snugfast.usecases.journal.keeping import keep
from snugfast.usecases.mechanics.joint_guide import JointGuide, joint_guide, joints_of
from snugfast.usecases.mechanics.joint_parts import JointSaid, SetScrewSaid
from snugfast.usecases.shared.citing import figures_in
from snugfast.usecases.shared.lookup import car_and_build
from snugfast.usecases.shared.workshop import Workshop
from tests.physics.mechanics_tables import rows
from tests.usecases.bench import with_truck, workshop_in_memory

pytestmark = pytest.mark.slow  # through a whole use-case: not in make check


@pytest.fixture(scope="module")
def workshop() -> Iterator[Workshop]:
    with workshop_in_memory() as (workshop, _):
        with_truck(workshop)
        yield workshop


def published_Nm(size: str, strength: str) -> float:
    """A published tightening torque, of the table kept with the tests."""
    found = (row for row in rows("published_torques") if row["size"] == size)
    return next(float(row["torque_Nm"]) for row in found if row["strength_class"] == strength)


def guide(workshop: Workshop, place: str, /, **said: str) -> JointGuide:
    return joint_guide(workshop, JointSaid("Bramble", place, **said))  # type: ignore[arg-type]


def held(workshop: Workshop, place: str, /, **said: str) -> JointGuide:
    return joint_guide(workshop, JointSaid("Bramble", place, set_screw=SetScrewSaid(**said)))


def test_every_joint_of_the_truck_is_told_and_every_figure_says_where_it_comes_from(
    workshop: Workshop,
) -> None:
    _, build = car_and_build(workshop, "Bramble")
    for place in joints_of(build):
        answer = guide(workshop, place.key)
        assert answer.tight and answer.turning and answer.thread_lock.sentence, place.key
        assert all(figure.origins for figure in figures_in(answer)), place.key


def test_a_screw_into_plastic_has_no_figure_and_no_thread_lock(workshop: Workshop) -> None:
    answer = guide(workshop, "gearbox_screws_front")
    assert answer.torque is None
    assert "head seats" in answer.tight
    assert answer.never_above is not None and answer.never_above.value < 0.2
    assert "thread" in answer.unknown[0]
    assert not answer.thread_lock.use and answer.thread_lock.cure is None
    assert any("plastic" in caution.text for caution in answer.cautions)


def test_a_motor_screw_stays_below_the_published_torque_of_its_class(workshop: Workshop) -> None:
    """*Worked*: tightening torques at friction 0.14 and 90 % of yield, by size and class."""
    for strength in ("8.8", "10.9", "12.9"):
        printed_Nm = published_Nm("M3", strength)
        answer = guide(workshop, "motor_screws", strength=strength, state="dry")
        assert answer.torque is not None
        assert 0.6 * printed_Nm < answer.torque.value < 1.01 * printed_Nm


def test_a_stronger_screw_moves_what_gives_first(workshop: Workshop) -> None:
    weak, strong = (guide(workshop, "motor_screws", strength=strength) for strength in ("8.8", "12.9"))
    assert weak.gives_first == "the screw"
    assert strong.gives_first != "the screw"
    assert weak.torque and strong.torque and strong.torque.value > weak.torque.value


def test_a_nylon_seat_rules_and_is_named(workshop: Workshop) -> None:
    metal, nylon = (guide(workshop, "motor_screws", seat=seat) for seat in ("aluminium", "nylon"))
    assert nylon.gives_first == "the material under the head"
    assert metal.torque and nylon.torque and nylon.torque.value < metal.torque.value / 4


def test_a_wheel_nut_is_firm_and_the_wheel_spins_freely(workshop: Workshop) -> None:
    """Practice: flanged, serrated nylon-insert nuts hold wheels best."""
    answer = guide(workshop, "wheel nuts")
    words = " ".join(answer.in_words)
    assert "spins freely" in words and "serrated" in words and "bearings" in words
    assert not answer.thread_lock.use
    assert "worn nut" in answer.tight and "the rest turns the nylon" in answer.tight
    bare = guide(workshop, "wheel nuts", head_width="7 mm")
    assert answer.torque and bare.torque and answer.torque.value > bare.torque.value


@pytest.mark.parametrize(
    ("drag", "times", "reusable"), [("0.3 Nm", "1", True), ("0.15 Nm", "1", False), ("0.15 Nm", "4", True)]
)
def test_a_lock_nut_is_used_again_as_long_as_it_drags(
    workshop: Workshop, drag: str, times: str, reusable: bool
) -> None:
    """*Worked*: prevailing torques of M4 lock nuts, class 04: 0.18 N·m first off, 0.12 the fifth time."""
    nut = guide(workshop, "wheel_nuts", drag=drag, times_off=times).lock_nut
    assert nut is not None and nut.verdict is not None
    assert nut.verdict.reusable is reusable


def test_the_pinion_screw_holds_on_its_flat_with_thread_lock(workshop: Workshop) -> None:
    """Practice: set screws go on the flat, with medium-strength thread-lock."""
    answer = guide(workshop, "pinion_screw")
    assert answer.tool == "hex driver 2 mm"
    assert answer.thread_lock.use and answer.thread_lock.sentence.startswith("Medium strength")
    assert answer.thread_lock.cure and answer.thread_lock.cure.value == 24.0
    hold = answer.hold
    assert hold is not None
    assert hold.seat is ShaftSeat.FLAT and hold.verdict is HoldVerdict.HOLDS
    assert hold.torque.low and hold.torque.high and hold.torque.low < hold.torque.value < hold.torque.high
    assert "elicited" in {source.seen for source in answer.sources}


def test_a_flat_adds_six_in_a_hundred_and_a_second_screw_less_than_double(workshop: Workshop) -> None:
    """*Worked*: a flat adds about 6 % around the shaft, nothing along it; two screws at 180° hold 1.29."""
    flat = held(workshop, "pinion_screw", flat="yes").hold
    round_shaft = held(workshop, "pinion_screw", flat="no").hold
    pair = held(workshop, "pinion_screw", flat="no", two="180").hold
    assert flat and round_shaft and pair
    assert flat.torque.value == pytest.approx(1.06 * round_shaft.torque.value)
    assert flat.holding.value == round_shaft.holding.value
    assert pair.torque.value == pytest.approx(1.29 * round_shaft.torque.value)


def test_an_m3_set_screw_never_holds_more_than_712_newtons(workshop: Workshop) -> None:
    """The cap of the tables: M3 lies between two inch sizes and takes the lower."""
    build = starter(workshop, "truck-1-10-4wd-3s")
    places = tuple(
        replace(place, sizes={**place.sizes, "thread": "M3", "key_mm": 1.5})
        if place.role == "pinion_screw"
        else place
        for place in build.places
    )
    keep(workshop, [draft_car(workshop, "Twig", replace(build, places=places))])
    hold = joint_guide(workshop, JointSaid("Twig", "pinion_screw")).hold
    assert hold and hold.holding.value <= 712.0


def test_a_peak_that_is_said_is_what_it_is_judged_by(workshop: Workshop) -> None:
    hold = held(workshop, "pinion_screw", peak_torque="30 Nm").hold
    assert hold and hold.verdict is HoldVerdict.SLIPS
    assert hold.peak.value == 30.0 and hold.peak_from == "as you said"


def test_the_pinion_sees_the_rotor_stopped_dead_and_not_the_tyres_alone(workshop: Workshop) -> None:
    """*By hand*: 1.3e-6 kg·m² from 3000 rad/s in 5 ms is 0.78 N·m, five times what the tyres can pass on."""
    hold = held(workshop, "pinion_screw").hold
    assert hold and hold.peak.high
    assert hold.peak.value == pytest.approx(0.78, rel=0.02)
    assert hold.torque.low and hold.torque.low < 3.0 * hold.peak.high
    assert "rotor" in hold.peak_from


@pytest.mark.parametrize(
    ("thread", "key_mm", "most_Nm"), [("M3", 1.5, 0.6), ("M4", 2.0, 1.5), ("M5", 2.5, 2.5)]
)
def test_a_set_screw_is_seated_by_what_a_soft_screw_and_a_worn_key_bear(
    workshop: Workshop, thread: str, key_mm: float, most_Nm: float
) -> None:
    """*Practice*: a mechanic’s upper bounds; the chart’s figure (0.92, 2.2, 4) is named as such."""
    build = starter(workshop, "truck-1-10-4wd-3s")
    places = tuple(
        replace(place, sizes={**place.sizes, "thread": thread, "key_mm": key_mm})
        if place.role == "pinion_screw"
        else place
        for place in build.places
    )
    keep(workshop, [draft_car(workshop, f"Set {thread}", replace(build, places=places))])
    answer = joint_guide(workshop, JointSaid(f"Set {thread}", "pinion_screw"))
    assert answer.torque and answer.hold
    assert answer.torque.value == pytest.approx(most_Nm, rel=0.03)
    assert answer.torque.value <= most_Nm + 1e-9 and answer.hold.seating == answer.torque
    assert "Charts say" in answer.tight


def test_each_joint_has_one_answer(workshop: Workshop) -> None:
    """One torque a joint; words alone where none is known. A worn nut and a new one turn differently."""
    _, build = car_and_build(workshop, "Bramble")
    for place in joints_of(build):
        answer = guide(workshop, place.key)
        figures = re.findall(r"[\d.]+ N·m", answer.tight)
        assert len(figures) == (0 if answer.torque is None else 1), answer.tight
        assert NO_FIGURE not in answer.tight or answer.tight == NO_FIGURE, answer.tight


def test_no_joint_is_told_to_spring_the_key_beyond_what_it_may_bear(workshop: Workshop) -> None:
    """A 2 mm key begins to spring at what a pinion's set screw bears; these bear half of that."""
    spring, screws = guide(workshop, "pinion_screw").torque, guide(workshop, "metal_screws")
    assert spring and screws.torque is None and screws.never_above
    assert screws.never_above.value < spring.value and "before the key springs" in screws.tight


def test_a_heavier_car_and_a_shorter_gearing_move_the_peak(workshop: Workshop) -> None:
    light, heavy = (held(workshop, "cup_screws", mass=mass).hold for mass in ("2 kg", "4 kg"))
    tall = held(workshop, "cup_screws", mass="2 kg", final_ratio="6").hold
    assert light and heavy and tall
    assert heavy.peak.value == pytest.approx(2 * light.peak.value)
    assert tall.peak.value > light.peak.value


def with_sizes(workshop: Workshop, name: str, role: str, **sizes: str | float) -> None:
    """A truck whose places of a role have these sizes besides."""
    build = starter(workshop, "truck-1-10-4wd-3s")
    places = tuple(
        replace(place, sizes={**place.sizes, **sizes}) if place.role == role else place
        for place in build.places
    )
    keep(workshop, [draft_car(workshop, name, replace(build, places=places))])


def test_what_the_build_says_of_a_joint_counts_as_if_it_was_said(workshop: Workshop) -> None:
    with_sizes(workshop, "Teasel", "motor_screw", strength_class="12.9")
    built = joint_guide(workshop, JointSaid("Teasel", "motor_screws"))
    said = guide(workshop, "motor_screws", strength="12.9")
    other = joint_guide(workshop, JointSaid("Teasel", "motor_screws", strength="8.8"))
    assert built.torque and said.torque and other.torque
    assert built.torque.value == said.torque.value
    assert other.torque.value == guide(workshop, "motor_screws").torque.value  # type: ignore[union-attr]
    whence = {origin.where for origin in built.torque.origins}
    assert "strength class in the build" in whence and not any("taken as 8.8" in one for one in whence)


def test_a_flange_spreads_the_load_of_a_wheel_nut(workshop: Workshop) -> None:
    """*Law*: 10 mm on a 4.5 mm hole against 7 mm: the pull grows as the ring that bears does."""
    flanged = guide(workshop, "wheel_nuts")
    bare = guide(workshop, "wheel_nuts", head_width="7 mm")
    assert flanged.pull and bare.pull
    rings = [width**2 - 4.5**2 for width in (10.0, 7.0)]
    assert flanged.pull.value / bare.pull.value == pytest.approx(rings[0] / rings[1])
    assert flanged.torque and "flange in the build" in {origin.where for origin in flanged.torque.origins}


def test_the_hand_of_a_thread_is_a_size_of_the_build(workshop: Workshop) -> None:
    with_sizes(workshop, "Cack", "wheel_nut", hand="left")
    assert "left-hand" in joint_guide(workshop, JointSaid("Cack", "wheel_nuts")).turning


def test_a_car_that_was_weighed_in_its_build_is_not_guessed(workshop: Workshop) -> None:
    with_sizes(workshop, "Dock", "chassis", mass_kg=3.1)
    built = joint_guide(workshop, JointSaid("Dock", "pinion_screw")).hold
    said = held(workshop, "pinion_screw", mass="3.1 kg").hold
    assert built and said
    assert built.peak.value == pytest.approx(said.peak.value)


def test_a_slipper_is_set_by_feel(workshop: Workshop) -> None:
    """Practice: in eighths of a turn."""
    answer = guide(workshop, "slipper_nut")
    assert answer.torque is None and answer.never_above is None


def test_the_screw_of_a_servo_horn_has_the_figure_of_what_it_presses_on(workshop: Workshop) -> None:
    """*Law*: an M3 button head on a nylon horn is held by the nylon, on an aluminium one by screw or key;
    either way the horn is held (practice: the gears of the servo give first).
    """
    nylon = guide(workshop, "servo_horn")
    metal = guide(workshop, "servo_horn", seat="aluminium")
    assert nylon.torque and metal.torque and nylon.gives_first == "the material under the head"
    assert nylon.torque.value < 0.25 < 0.8 < metal.torque.value
    assert metal.torque.high is not None
    assert metal.torque.high < 1.2 * published_Nm("M3", "8.8")
    assert "Hold the horn" in nylon.tight and "Hold the horn" in metal.tight
    keep(workshop, [draft_car(workshop, "Reed", starter(workshop, "short-course-1-10-2wd-brushed"))])
    plastic = joint_guide(workshop, JointSaid("Reed", "servo_horn"))  # into a plastic output: no figure
    assert plastic.torque is None and NO_FIGURE in plastic.tight and "Hold the horn" in plastic.tight


def test_a_mount_through_the_tower_is_as_strong_as_the_tower_and_a_lower_end_has_no_figure(
    workshop: Workshop,
) -> None:
    upper = guide(workshop, "shock_mounts_upper")
    assert upper.under_head == "nylon" and upper.gives_first == "the material under the head"
    lower = guide(workshop, "shock_mounts_lower")
    assert lower.torque is None and "the head seats" in lower.tight
    assert lower.never_above is not None and lower.never_above.value < 0.2
    keep(workshop, [draft_car(workshop, "Sedge", starter(workshop, "touring-1-10-4wd-2s"))])
    carbon = joint_guide(workshop, JointSaid("Sedge", "shock_mounts_upper"))  # no pressure is known for it
    assert carbon.torque is None and "ball" in carbon.tight and "free" in carbon.tight
    assert all("swing freely" in answer.in_words[0] for answer in (upper, lower, carbon))


def test_a_large_wheel_nut_is_held_by_the_face_of_the_wheel(workshop: Workshop) -> None:
    """*Against* the relation of VDI 2230, 5.4.3, done by hand: 17 mm across flats on a 13.5 mm hole at
    20 MPa, M12 with 1 mm pitch (d₂ = 11.350 mm), friction 0.08 and 0.20.
    """
    keep(workshop, [draft_car(workshop, "Bough", starter(workshop, "buggy-1-8-4wd-4s"))])
    answer = joint_guide(workshop, JointSaid("Bough", "wheel_nuts"))
    pull_N = math.pi / 4 * (17.0**2 - 13.5**2) * 20.0
    by_hand = [
        pull_N * (0.16 * 1.0 + 0.58 * 11.350 * mu + (17.0 + 13.5) / 4 * mu) / 1000 for mu in (0.08, 0.20)
    ]
    assert answer.torque is not None
    assert (answer.torque.low, answer.torque.high) == pytest.approx(by_hand, rel=1e-3)
    assert answer.gives_first == "the material under the head"
    assert any("spins freely" in words for words in answer.in_words)
    assert "Fine thread" in answer.turning
    assert not answer.thread_lock.use


def test_a_left_hand_thread_is_said(workshop: Workshop) -> None:
    build = starter(workshop, "truck-1-10-4wd-3s")
    places = tuple(
        replace(place, note="Left-hand thread on this side.") if place.role == "wheel_nut" else place
        for place in build.places
    )
    keep(workshop, [draft_car(workshop, "Sinister", replace(build, places=places))])
    assert "left-hand" in joint_guide(workshop, JointSaid("Sinister", "wheel_nuts")).turning
    assert "left-hand thread" in guide(workshop, "links_front").turning
    assert "clockwise" in guide(workshop, "motor_screws").turning


@pytest.mark.parametrize(
    ("place", "said", "helps"),
    [
        ("body", {}, "motor_screws"),
        ("moter_screws", {}, "motor screws"),
        ("motor_screws", {"strength": "9.9"}, "10.9"),
        ("motor_screws", {"state": "rusty"}, "oiled"),
        ("motor_screws", {"head_width": "0.22 mm"}, "0.22 in"),
        ("motor_screws", {"drag": "0.1 Nm"}, "Leave its drag out"),
        ("wheel_nuts", {"drag": "0.1 Nm", "times_off": "a few"}, "whole number"),
    ],
)
def test_what_cannot_be_is_refused_with_a_suggestion(
    workshop: Workshop, place: str, said: dict[str, str], helps: str
) -> None:
    with pytest.raises(SnugfastError) as refused:
        guide(workshop, place, **said)
    assert helps in refused.value.way_out


@pytest.mark.parametrize(
    ("said", "helps"),
    [({"flat": "perhaps"}, "yes or no"), ({"two": "270"}, "120"), ({"shaft": "5 in"}, "5 mm")],
)
def test_a_set_screw_that_cannot_be_is_refused_with_a_suggestion(
    workshop: Workshop, said: dict[str, str], helps: str
) -> None:
    with pytest.raises(SnugfastError) as refused:
        held(workshop, "pinion_screw", **said)
    assert helps in refused.value.way_out


def test_two_screws_nearer_than_was_tried_are_answered_with_a_caution(workshop: Workshop) -> None:
    """Two set screws were tried 60° to 180° apart."""
    usual, near = (held(workshop, "pinion_screw", two=angle) for angle in ("90", "30"))
    assert not any("was tried" in caution.text for caution in usual.cautions)
    assert any("30°; this was tried for 60° to 180°" in caution.text for caution in near.cautions)
