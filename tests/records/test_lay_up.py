"""Cars put away and woken up, and how a car last came: what the ledger says, and what the rules refuse.

Authority: laws of this project.
"""

from __future__ import annotations

from snugfast.records.entries import CameBack, LaidUp, TreatmentDone, WokenUp
from snugfast.records.ledger import fold
from snugfast.records.ledger_form import ledger_bytes, ledger_from
from snugfast.records.rules import contradictions
from tests.records.making import CAR, car_added, entry, ran

LAID, WOKEN = entry(2, LaidUp(CAR, "for the winter")), entry(3, WokenUp(CAR))


def test_a_car_laid_up_is_so_until_it_is_woken() -> None:
    laid = fold([car_added(1), LAID])
    assert laid.cars[CAR].laid_up_at == LAID.happened_at
    woken = fold([car_added(1), LAID, WOKEN]).cars[CAR]
    assert (woken.laid_up_at, woken.woken_at) == (None, WOKEN.happened_at)


def test_driving_a_car_wakes_it_without_a_word() -> None:
    assert fold([car_added(1), LAID, ran(3)]).cars[CAR].laid_up_at is None


def test_loans_and_treatments_leave_their_time() -> None:
    back, done = entry(4, CameBack(CAR, 1, 3)), entry(5, TreatmentDone(CAR, "wash_mud", 20))
    record = fold([car_added(1), back, done]).cars[CAR]
    assert record.came_back_at == back.happened_at
    assert record.treated == {"wash_mud": done.happened_at}


def test_the_ledger_in_bytes_keeps_all_of_it() -> None:
    told = [car_added(1), LAID, WOKEN, entry(4, CameBack(CAR, 1, 3)), entry(5, TreatmentDone(CAR, "x"))]
    ledger = fold([*told, entry(6, LaidUp(CAR))])
    assert ledger_from(ledger_bytes(ledger)) == ledger


def test_putting_away_twice_and_waking_what_is_awake_are_refused() -> None:
    laid, awake = fold([car_added(1), LAID]), fold([car_added(1)])
    assert contradictions(LAID, awake) == ()
    assert contradictions(WOKEN, laid) == ()
    assert "laid up already" in contradictions(entry(3, LaidUp(CAR)), laid)[0].problem
    assert "is not laid up" in contradictions(WOKEN, awake)[0].problem


def test_what_happens_to_a_car_that_is_not_here_is_refused() -> None:
    nobody = fold([])
    for fact in (LaidUp(CAR), WokenUp(CAR), TreatmentDone(CAR, "x"), CameBack(CAR, 1, 2)):
        assert "not in the workshop" in contradictions(entry(2, fact), nobody)[0].problem
