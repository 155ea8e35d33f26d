"""Times as people write them."""

from __future__ import annotations

from datetime import UTC, datetime

import pytest

from snugfast.core.errors import BadInput
from snugfast.records.entries import Precision
from snugfast.records.moments import read_moment

NOW = datetime(2026, 11, 25, 19, 30, tzinfo=UTC)


@pytest.mark.parametrize(
    ("text", "at", "precision"),
    [
        ("", NOW, Precision.DAY),
        ("today", NOW, Precision.DAY),
        ("14:30", datetime(2026, 11, 25, 13, 30, tzinfo=UTC), Precision.MINUTE),
        ("yesterday", datetime(2026, 11, 24, 11, 0, tzinfo=UTC), Precision.DAY),
        ("2026-07-03", datetime(2026, 7, 3, 10, 0, tzinfo=UTC), Precision.DAY),
        ("2026-11-25 14:30", datetime(2026, 11, 25, 13, 30, tzinfo=UTC), Precision.MINUTE),
        ("about May", datetime(2026, 5, 15, 10, 0, tzinfo=UTC), Precision.ABOUT),
        ("about dec", datetime(2025, 12, 15, 11, 0, tzinfo=UTC), Precision.ABOUT),
        ("about 2026-07-03", datetime(2026, 7, 3, 10, 0, tzinfo=UTC), Precision.ABOUT),
    ],
)
def test_a_time_is_read_as_a_person_means_it(text: str, at: datetime, precision: Precision) -> None:
    """Law: the zone is an hour ahead of UTC in winter and two in summer."""
    moment = read_moment(text, now=NOW, zone="Europe/Berlin")
    assert (moment.at, moment.precision) == (at, precision)


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("2026-11-26", "has not come yet"),
        ("23:59", "has not come yet"),
        ("2026-02-30", "not a day in the calendar"),
        ("25:00", "not a time of day"),
        ("soonish", "not a time I can read"),
        ("about about", "not a time I can read"),
    ],
)
def test_words_that_are_no_time_are_refused_with_a_way_out(text: str, says: str) -> None:
    with pytest.raises(BadInput, match=says) as refused:
        read_moment(text, now=NOW, zone="Europe/Berlin")
    assert refused.value.way_out
