"""Where one thing ends as the next begins.

Authority: law, a moment is not a span: what ends as the other begins does not overlap it.
"""

from __future__ import annotations

from datetime import timedelta

import pytest

from snugfast.records.entries import Finish, PackCharged, Ran
from snugfast.records.ledger import fold, overlapping
from snugfast.records.rules import contradictions
from tests.records.making import PACK, START, car_added, entry, pack_added, ran


def at(minutes: float) -> dict[str, object]:
    return {"happened_at": START + timedelta(minutes=minutes), "recorded_at": START + timedelta(minutes=500)}


@pytest.mark.parametrize(
    ("end", "clashes"), [(112.0, False), (111.99, True), (88.0, False), (88.01, True), (100.0, True)]
)
def test_a_run_that_ends_as_the_next_begins_is_no_contradiction(end: float, clashes: bool) -> None:
    """Both last 12 minutes; one ends at minute 100, so another may end at 88 or at 112 and not between."""
    first, other = ran(3, **at(100.0)), ran(4, **at(end))
    ledger = fold([car_added(1), pack_added(2), first])
    assert bool(contradictions(other, ledger, [first])) == clashes
    assert isinstance(first.fact, Ran)
    assert bool(overlapping([(first, first.fact)], other.happened_at, 12.0)) == clashes


@pytest.mark.parametrize(("end", "clashes"), [(88.0, False), (88.5, True), (130.0, False), (129.5, True)])
def test_a_charge_that_ends_as_the_run_begins_is_no_contradiction(end: float, clashes: bool) -> None:
    first = ran(3, **at(100.0))
    charge = entry(4, PackCharged(PACK, Finish.FULL, minutes=30.0), **at(end))
    ledger = fold([car_added(1), pack_added(2), first])
    assert bool(contradictions(charge, ledger, [first])) == clashes
