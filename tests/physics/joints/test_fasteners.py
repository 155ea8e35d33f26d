"""How tight, and what gives first."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from snugfast.core.errors import ImpossibleInput
from snugfast.physics.joints.fasteners import (
    NO_FIGURE,
    Drive,
    Friction,
    GivesFirst,
    Hand,
    JointLimit,
    Screw,
    Seat,
    ThreadedPart,
    joint_limit,
    preload_band,
)
from snugfast.physics.joints.lock_nuts import InsertDrag, judge_lock_nut, wrench_torque
from snugfast.physics.joints.thread_torque import internal_thread_shear_area
from tests.physics.mechanics_tables import rows

mm, MPa = 1e-3, 1e6
FRICTION = Friction(0.08, 0.14, 0.20)
M3 = Screw(3 * mm, 0.5 * mm, 580 * MPa)
STEEL_SEAT = Seat(5.5 * mm, 3.2 * mm, 500 * MPa)


def limit(
    screw: Screw = M3,
    seat: Seat = STEEL_SEAT,
    threaded: ThreadedPart | None = None,
    drive: Drive | None = None,
) -> JointLimit:
    return joint_limit(screw=screw, seat=seat, friction=FRICTION, threaded=threaded, drive=drive)


def test_steel_in_steel_is_limited_by_the_screw() -> None:
    """Worked: M3 8.8 stays below the published 1.34 N·m (90 % of yield), above two thirds of it."""
    found = limit()
    assert found.gives_first is GivesFirst.SCREW
    assert found.torque_Nm is not None
    assert 0.66 * 1.344 < found.torque_Nm < 1.344
    assert found.preload_N is not None and found.preload_N <= 0.75 * 580 * 5.0308
    assert "the screw gives first" in found.sentence


def test_no_advised_torque_brings_an_oiled_screw_over_its_proof_load() -> None:
    """Law: where nobody knows whether a thread is oiled, the torque bears the slipperiest one."""
    found = limit()
    assert found.torque_Nm is not None and found.never_above_Nm is not None
    assert found.torque_Nm <= found.never_above_Nm
    _, most_N = preload_band(screw=M3, seat=STEEL_SEAT, torque_Nm=found.never_above_Nm, friction=FRICTION)
    assert most_N == pytest.approx(580 * 5.0308, rel=1e-4)


def test_a_joint_has_one_torque() -> None:
    """Motor screws go in with thread-lock: no dry end is told beside it, nor beside one nobody knows."""
    wet = Friction(0.08, 0.11, 0.14, state="with thread-lock")
    found = joint_limit(screw=M3, seat=STEEL_SEAT, friction=wet)
    assert "N·m with thread-lock; the screw" in found.sentence
    assert found.sentence.count("N·m") == limit().sentence.count("N·m") == 1
    assert "dry" not in found.sentence + limit().sentence


def test_plastic_under_the_head_gives_before_the_screw() -> None:
    """Law: pull is the lasting pressure times the ring under the head."""
    seat = Seat(5.5 * mm, 3.2 * mm, 20 * MPa)
    found = limit(seat=seat)
    assert found.gives_first is GivesFirst.HEAD
    assert found.preload_N == pytest.approx(20 * (5.5**2 - 3.2**2) * 0.785398, rel=1e-5)


def test_a_short_thread_in_aluminium_gives_before_the_screw_and_a_long_one_does_not() -> None:
    """Law: the stripping pull grows with the length of thread until the screw is the weaker."""
    short = limit(threaded=ThreadedPart(1.0 * mm, 186 * MPa))
    assert short.gives_first is GivesFirst.THREAD
    area_m2 = internal_thread_shear_area(diameter_m=3 * mm, pitch_m=0.5 * mm, engagement_m=1 * mm)
    assert short.preload_N == pytest.approx(0.6 * 186 * MPa * area_m2)
    # Design News: twice the diameter in aluminium is enough.
    assert limit(threaded=ThreadedPart(6.0 * mm, 186 * MPa)).gives_first is GivesFirst.SCREW


def test_a_weak_key_gives_first_whatever_the_friction() -> None:
    found = limit(drive=Drive(0.6))
    assert found.gives_first is GivesFirst.KEY
    assert found.torque_Nm == found.high_Nm == 0.6
    assert found.low_Nm is not None
    assert found.low_Nm <= 0.6


@pytest.mark.parametrize(
    ("changed", "unknown"),
    [
        ({"threaded": ThreadedPart(6 * mm, None)}, GivesFirst.THREAD),
        ({"seat": Seat(5.5 * mm, 3.2 * mm, None)}, GivesFirst.HEAD),
        ({"screw": Screw(3 * mm, 0.5 * mm, None)}, GivesFirst.SCREW),
        ({"drive": Drive(None)}, GivesFirst.KEY),
    ],
)
def test_no_figure_is_given_where_one_strength_is_not_known(
    changed: dict[str, ThreadedPart | Seat | Screw | Drive], unknown: GivesFirst
) -> None:
    found = limit(**changed)  # type: ignore[arg-type]
    assert found.torque_Nm is None
    assert found.low_Nm is None
    assert found.gives_first is None
    assert found.unknown == (unknown,)
    assert found.sentence == NO_FIGURE == "Stop when the head seats, then a touch."
    assert found.never_above_Nm is not None
    assert found.never_above_Nm > 0.0


def test_nothing_known_gives_no_bound_either() -> None:
    found = limit(screw=Screw(3 * mm, 0.5 * mm, None), seat=Seat(5.5 * mm, 3.2 * mm, None))
    assert found.never_above_Nm is None


@given(
    proof_MPa=st.floats(200.0, 1000.0),
    pressure_MPa=st.floats(5.0, 500.0),
    engagement_mm=st.floats(0.5, 8.0),
    key_Nm=st.floats(0.1, 5.0),
)
def test_the_band_encloses_the_figure_and_no_limit_is_passed(
    proof_MPa: float, pressure_MPa: float, engagement_mm: float, key_Nm: float
) -> None:
    """Law: adding a limit never raises the torque; dry threads take more of it than oiled ones."""
    screw = Screw(3 * mm, 0.5 * mm, proof_MPa * MPa)
    seat = Seat(5.5 * mm, 3.2 * mm, pressure_MPa * MPa)
    part = ThreadedPart(engagement_mm * mm, 186 * MPa)
    full = limit(screw, seat, part, Drive(key_Nm))
    assert full.torque_Nm is not None
    assert full.low_Nm is not None
    assert full.high_Nm is not None
    assert full.low_Nm <= full.torque_Nm <= full.high_Nm
    for fewer in (limit(screw, seat), limit(screw, seat, part), limit(screw, seat, None, Drive(key_Nm))):
        assert fewer.torque_Nm is not None
        assert full.torque_Nm <= fewer.torque_Nm


def test_one_torque_leaves_a_band_of_pull() -> None:
    """Law: the pull at the least friction over that at the most is the ratio of the levers."""
    least_N, most_N = preload_band(screw=M3, seat=STEEL_SEAT, torque_Nm=1.0, friction=FRICTION)
    assert 1.8 < most_N / least_N < 2.5
    usual = Friction(0.14, 0.14, 0.14)
    middle = preload_band(screw=M3, seat=STEEL_SEAT, torque_Nm=1.0, friction=usual)
    assert least_N < middle[0] == middle[1] < most_N


def test_button_heads_never_take_the_cap_screw_torque() -> None:
    """Worked: socket torque table; a button head's shallow socket takes 0.61 to 0.64 of the cap screw's."""
    for row in rows("seating_torques"):
        if row["button_Nm"]:
            assert 0.60 < float(row["button_Nm"]) / float(row["cap_Nm"]) < 0.65
            assert row["button_Nm"] == row["countersunk_Nm"]


def test_keys_of_one_thread_shrink_from_cap_to_set_screw() -> None:
    """Worked: M3 takes 2.5, 2 and 1.5; M4 3, 2.5 and 2; M5 4, 3 and 2.5."""
    key = {(row["size"], row["head"]): float(row["key_mm"]) for row in rows("screw_heads")}
    for size, printed in {"M3": (2.5, 2, 2, 1.5), "M4": (3, 2.5, 2.5, 2), "M5": (4, 3, 3, 2.5)}.items():
        assert tuple(key[size, head] for head in ("cap", "button", "countersunk", "set")) == printed


def test_left_hand_threads_say_so() -> None:
    assert "left-hand" in Hand.LEFT.sentence
    assert Hand.LEFT.sentence.startswith("Turn anticlockwise to tighten")
    assert "left-hand" not in Hand.RIGHT.sentence


def test_friction_and_heads_that_cannot_be_are_refused() -> None:
    with pytest.raises(ImpossibleInput, match="does not rise"):
        Friction(0.2, 0.14, 0.08)
    with pytest.raises(ImpossibleInput, match="no larger than its hole"):
        limit(seat=Seat(3 * mm, 3.2 * mm, 20 * MPa))


def drag(size: str) -> InsertDrag:
    row = next(row for row in rows("insert_nut_drag") if row["size"] == size)
    return InsertDrag(*(float(row[name]) for name in list(row)[1:]))


@pytest.mark.parametrize(
    ("drag_Nm", "times_off", "reusable"),
    [(0.20, 1, True), (0.15, 1, False), (0.15, 3, True), (0.10, 3, False)],
)
def test_a_lock_nut_is_used_up_when_its_drag_is_gone(drag_Nm: float, times_off: int, reusable: bool) -> None:
    """Worked: ISO 2320, class 04, M4: first removal 0.18, fifth 0.12 N·m."""
    assert judge_lock_nut(drag_Nm=drag_Nm, times_off=times_off, table=drag("M4")).reusable is reusable


def test_a_well_used_lock_nut_is_warned_of() -> None:
    assert "keep a new one" in judge_lock_nut(drag_Nm=0.3, times_off=6, table=drag("M4")).sentence
    with pytest.raises(ImpossibleInput):
        judge_lock_nut(drag_Nm=0.3, times_off=-1, table=drag("M4"))


def test_drag_comes_on_top_of_the_seating_torque() -> None:
    assert wrench_torque(seating_Nm=1.5, drag_Nm=0.3) == pytest.approx(1.8)
