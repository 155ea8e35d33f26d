"""What stands of the journal: corrections, withdrawals, redo, and two stores that meet again.

Authority: laws, checked by hypothesis against a plain model that follows the rule word by word, one entry at
a time and without any order of working.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any
from uuid import UUID

import pytest
from hypothesis import given
from hypothesis import strategies as st

from snugfast.records.entries import Entry, Withdrawn
from snugfast.records.standing import Clash, Conflict, standing
from tests.records.making import CAR, OTHER_CAR, identity, ran, withdrawn


def numbers(entries: Sequence[Entry]) -> list[int]:
    """Which of the numbered entries these are."""
    return [int((entry.happened_at - ran(0).happened_at).total_seconds() // 60) for entry in entries]


def corrected(number: int, target: Entry, **envelope: Any) -> Entry:
    return ran(number, minutes=float(number), replaces=target.id, **envelope)


def test_a_correction_stands_in_place_of_what_it_corrects() -> None:
    first, second, third = ran(1), corrected(2, ran(1)), corrected(3, ran(2))
    found = standing([first, second, third])
    assert found.entries == (third,)
    assert found.superseded == {first.id: third.id, second.id: third.id}
    assert found.conflicts == ()


def test_undo_and_redo_as_often_as_one_likes() -> None:
    told = [ran(1)]
    for number in range(2, 40):
        told.append(withdrawn(number, told[-1]))
        assert (ran(1) in standing(told).entries) == (number % 2 == 1)


def test_taking_back_a_correction_lets_stand_what_it_corrected() -> None:
    first, second = ran(1), corrected(2, ran(1))
    undo = withdrawn(3, second)
    assert standing([first, second, undo]).entries == (first,)
    assert standing([first, second, undo]).withdrawn == {second.id: undo.id}
    assert standing([first, second, undo, withdrawn(4, undo)]).entries == (second,)


def test_taking_back_what_was_first_said_takes_back_its_corrections() -> None:
    first, second, third = ran(1), corrected(2, ran(1)), corrected(3, ran(2))
    undo = withdrawn(4, first)
    found = standing([first, second, third, undo])
    assert found.entries == ()
    assert set(found.withdrawn) == {first.id, second.id, third.id}
    assert found.conflicts == (), "whoever took it back knew the corrections"


def test_of_two_rival_corrections_the_later_recorded_stands_and_the_rivalry_is_told() -> None:
    first = ran(1)
    left, right = corrected(2, first), corrected(3, first)
    left_again = corrected(4, left)
    found = standing([first, left, right])
    assert found.entries == (right,)
    assert found.conflicts == (Conflict((left.id, right.id), Clash.RIVALS),)
    assert found.superseded == {first.id: right.id, left.id: right.id}
    assert standing([first, left, right, left_again]).entries == (left_again,)
    assert standing([first, left, right, withdrawn(5, right)]).entries == (left,)
    assert standing([first, left, right, withdrawn(5, right)]).conflicts == ()


def test_a_correction_made_after_the_entry_was_taken_back_elsewhere_is_told() -> None:
    first, undo = ran(1), withdrawn(2, ran(1))
    late = corrected(3, first)
    found = standing([first, undo, late])
    assert found.entries == ()
    assert found.conflicts == (Conflict((undo.id, late.id), Clash.CORRECTED_BUT_WITHDRAWN),)
    assert standing([first, undo, late, withdrawn(4, undo)]).entries == (late,)


def test_references_to_absent_entries_are_kept_in_mind() -> None:
    absent = ran(1)
    left, right = corrected(2, absent), corrected(3, absent)
    assert standing([left, right]).entries == (right,)
    assert standing([left, right, withdrawn(4, absent)]).entries == ()
    assert standing([withdrawn(4, absent)]).entries == ()


def test_a_withdrawal_can_be_corrected_itself() -> None:
    """Taken back was the wrong one of two runs."""
    wrong, right = ran(1), ran(2)
    undo = withdrawn(3, wrong)
    better = withdrawn(4, right, replaces=undo.id)
    assert standing([wrong, right, undo, better]).entries == (wrong,)


@pytest.mark.parametrize(
    "circle",
    [
        [ran(1, replaces=identity(1))],
        [ran(1, replaces=identity(2)), ran(2, replaces=identity(1))],
        [ran(1, replaces=identity(3)), ran(2, replaces=identity(1)), ran(3, replaces=identity(2))],
        [withdrawn(1, ran(1))],
        [withdrawn(1, ran(2)), withdrawn(2, ran(1))],
        [ran(1), withdrawn(2, ran(1), replaces=identity(1))],
        [
            ran(1),
            ran(2),
            withdrawn(3, ran(1), replaces=identity(2)),
            withdrawn(4, ran(2), replaces=identity(1)),
        ],
    ],
)
def test_references_in_a_circle_count_for_nothing_and_are_told(circle: list[Entry]) -> None:
    bystander, undone = ran(8), ran(9)
    found = standing([*circle, bystander, undone, withdrawn(10, undone)])
    assert [conflict.clash for conflict in found.conflicts] == [Clash.CIRCLE]
    assert bystander in found.entries
    assert undone not in found.entries


def test_a_long_chain_is_judged_without_running_out_of_stack() -> None:
    chain = [ran(0)]
    for number in range(1, 3000):
        chain.append(corrected(number, chain[-1]))
    undone = [withdrawn(3000, chain[-1])]
    for number in range(3001, 6000):
        undone.append(withdrawn(number, undone[-1]))
    assert numbers(standing(chain + undone).entries) == [2999]


def test_two_different_entries_under_one_identity_are_an_error() -> None:
    with pytest.raises(ValueError, match="carry the identity"):
        standing([ran(1), ran(1, minutes=2)])


@st.composite
def journals(draw: st.DrawFn) -> list[Entry]:
    """A journal as people can write it: each entry refers to earlier ones only."""
    told: list[Entry] = []
    for number in range(draw(st.integers(1, 12))):
        recorded = ran(draw(st.integers(0, 12))).recorded_at  # clocks go back, and stores part
        envelope: dict[str, Any] = {"recorded_at": recorded}
        target = draw(st.sampled_from(told)) if told else None
        sort = draw(st.sampled_from(["new", "correct", "withdraw", "withdraw"])) if target else "new"
        if target is None or sort == "new":
            told.append(ran(number, draw(st.sampled_from([CAR, OTHER_CAR])), **envelope))
        elif sort == "correct" and isinstance(target.fact, Withdrawn):
            told.append(withdrawn(number, ran(draw(st.integers(0, number))), replaces=target.id, **envelope))
        elif sort == "correct":
            told.append(corrected(number, target, **envelope))
        else:
            told.append(withdrawn(number, target, **envelope))
    return told


@st.composite
def tangles(draw: st.DrawFn) -> list[Entry]:
    """Entries that refer to any entry at all, later ones, absent ones and themselves."""
    anywhere = st.integers(0, 7)
    told = []
    for number in range(draw(st.integers(1, 7))):
        replaces = draw(st.none() | anywhere.map(identity))
        withdraws = draw(st.booleans())
        recorded = ran(draw(anywhere)).recorded_at
        told.append(
            withdrawn(number, ran(draw(anywhere)), replaces=replaces, recorded_at=recorded)
            if withdraws
            else ran(number, replaces=replaces, recorded_at=recorded)
        )
    return told


@pytest.mark.slow
@given(st.one_of(journals(), tangles()), st.randoms(use_true_random=False))
def test_the_order_of_arrival_does_not_matter(told: list[Entry], random: object) -> None:
    shuffled = [*told, told[0]]
    random.shuffle(shuffled)  # type: ignore[attr-defined]
    assert standing(shuffled) == standing(told)


@pytest.mark.slow
@given(st.one_of(journals(), tangles()))
def test_every_entry_stands_or_is_accounted_for(told: list[Entry]) -> None:
    found = standing(told)
    stands = {entry.id for entry in found.entries}
    withdrawals = {entry.id for entry in told if isinstance(entry.fact, Withdrawn)}
    assert not stands & (found.superseded.keys() | found.withdrawn.keys() | withdrawals)
    assert stands | found.superseded.keys() | found.withdrawn.keys() | withdrawals == {e.id for e in told}
    assert not found.superseded.keys() & found.withdrawn.keys()
    assert list(found.entries) == sorted(found.entries, key=lambda entry: entry.order)


@given(journals())
def test_it_agrees_with_the_rule_followed_word_by_word(told: list[Entry]) -> None:
    found = standing(told)
    if Clash.CIRCLE not in {conflict.clash for conflict in found.conflicts}:
        assert {entry.id for entry in found.entries} == word_by_word(told)


def word_by_word(told: Sequence[Entry]) -> set[UUID]:
    """The rule as it reads, by recursion: slow, and with no thought for circles."""

    def taken_back(entry: Entry) -> bool:
        own = any(isinstance(w.fact, Withdrawn) and w.fact.entry == entry.id and acts(w) for w in told)
        return own or any(taken_back(of) for of in told if of.id == entry.replaces)

    def newest(entry: Entry) -> Entry:
        corrections = [newest(c) for c in told if c.replaces == entry.id and not taken_back(c)]
        return max(corrections, key=lambda one: (one.recorded_at, one.id), default=entry)

    def first_said(entry: Entry) -> Entry:
        return next((first_said(of) for of in told if of.id == entry.replaces), entry)

    def acts(entry: Entry) -> bool:
        return not taken_back(entry) and newest(first_said(entry)) is entry

    return {entry.id for entry in told if acts(entry) and not isinstance(entry.fact, Withdrawn)}
