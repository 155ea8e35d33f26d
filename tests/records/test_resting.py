"""What an undo has to warn of: the entries that rest on the one taken back.

Authority: worked stories of our own; the rule is ours.
"""

from __future__ import annotations

from collections.abc import Iterable
from uuid import UUID

from snugfast.records.entries import Answer, Broke, Checked, Entry, Failed, PartFitted, PartMoved
from snugfast.records.standing import depends_on
from tests.records.making import CAR, OTHER_CAR, car_added, entry, identity, pack_added, ran


def fitted(number: int, spots: tuple[str, ...] = ()) -> Entry:
    return entry(number, PartFitted(car=CAR, place="motor", part=identity(number), name="motor", spots=spots))


def moved(number: int) -> Entry:
    return entry(number, PartMoved(from_car=CAR, from_place="motor", to_car=OTHER_CAR, to_place="motor"))


def found_loose(number: int, car: UUID = CAR, place: str = "motor") -> Entry:
    answer = Answer(word="loose", mode=None, place=place)
    return entry(number, Checked(car=car, check="motor screws", answers=(answer,)))


def resting(entries: Iterable[Entry], on: Entry) -> tuple[Entry, ...]:
    return depends_on(entries, on.id)


def test_all_about_a_car_rests_on_its_being_added_even_what_happened_before() -> None:
    late = ran(1)
    story = [late, car_added(2), car_added(3, OTHER_CAR), ran(4, OTHER_CAR), found_loose(5), moved(6)]
    assert resting(story, car_added(2)) == (late, found_loose(5), moved(6))


def test_runs_rest_on_their_pack() -> None:
    assert resting([pack_added(1), car_added(2), ran(3)], pack_added(1)) == (ran(3),)


def test_on_a_part_rests_what_names_its_place_until_the_next_part() -> None:
    elsewhere = found_loose(2, place="wheel nut")
    failed = entry(4, Failed(car=CAR, broke=Broke(mode=None, place="motor")))
    story = [found_loose(0), fitted(1), elsewhere, found_loose(3), failed, fitted(5), found_loose(6)]
    assert resting(story, fitted(1)) == (found_loose(3), failed)


def test_a_part_for_one_spot_does_not_end_what_rests_on_the_whole() -> None:
    one_spot = fitted(2, spots=("front left",))
    assert resting([fitted(1), one_spot, found_loose(3)], fitted(1)) == (one_spot, found_loose(3))


def test_what_was_found_on_a_moved_part_rests_on_its_fitting_too() -> None:
    story = [fitted(1), moved(2), found_loose(3, OTHER_CAR), found_loose(4, OTHER_CAR, "wheel nut")]
    assert resting(story, fitted(1)) == (moved(2), found_loose(3, OTHER_CAR))
    assert resting(story, moved(2)) == (found_loose(3, OTHER_CAR),)


def test_nothing_rests_on_a_run_or_on_what_does_not_stand() -> None:
    story = [car_added(1), ran(2), found_loose(3)]
    assert resting(story, ran(2)) == ()
    assert resting(story, ran(9)) == ()
