"""Times as people write them."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from snugfast.core.errors import BadInput
from snugfast.records.entries import Precision
from snugfast.records.moments import read_moment, twice_on_the_clock

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
        ("2026-10-25 02:30", datetime(2026, 10, 25, 0, 30, tzinfo=UTC), Precision.MINUTE),
        ("2026-10-25 02:30+02:00", datetime(2026, 10, 25, 0, 30, tzinfo=UTC), Precision.MINUTE),
        ("2026-10-25T02:30+01:00", datetime(2026, 10, 25, 1, 30, tzinfo=UTC), Precision.MINUTE),
        ("2026-10-25 01:30Z", datetime(2026, 10, 25, 1, 30, tzinfo=UTC), Precision.MINUTE),
        ("2026-07-03 14:30 -0330", datetime(2026, 7, 3, 18, 0, tzinfo=UTC), Precision.MINUTE),
        ("14:30+01", datetime(2026, 11, 25, 13, 30, tzinfo=UTC), Precision.MINUTE),
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
        ("2026-03-29 02:30", "never came: the clocks went forward"),
        ("2026-07-03 14:30+25:00", "an offset no place has"),
        ("2026-07-03 14:30+01:75", "an offset no place has"),
    ],
)
def test_words_that_are_no_time_are_refused_with_a_way_out(text: str, says: str) -> None:
    with pytest.raises(BadInput, match=says) as refused:
        read_moment(text, now=NOW, zone="Europe/Berlin")
    assert refused.value.way_out


def test_in_the_hour_that_comes_twice_what_has_passed_is_told_from_what_has_not() -> None:
    """Law: half past two of the first passing lies behind ten past two of the second, not ahead of it."""
    second_ten_past_two = datetime(2026, 10, 25, 1, 10, tzinfo=UTC)
    moment = read_moment("02:30", now=second_ten_past_two, zone="Europe/Berlin")
    assert moment.at == datetime(2026, 10, 25, 0, 30, tzinfo=UTC)
    with pytest.raises(BadInput, match="has not come yet"):
        read_moment("02:30+01:00", now=second_ten_past_two, zone="Europe/Berlin")


@example((31 + 28 + 31 + 30 + 31 + 30 + 31 + 31 + 30 + 24) * 24 * 60 + 30)
@given(st.integers(0, 366 * 24 * 60))
def test_a_moment_is_on_the_clock_twice_in_one_hour_of_the_year_only(minutes: int) -> None:
    """Law: where both moments differ they are an hour apart, read alike, and one of them is the moment."""
    at = datetime(2026, 1, 1, tzinfo=UTC) + timedelta(minutes=minutes)
    both = twice_on_the_clock(at, "Europe/Berlin")
    begins, ends = datetime(2026, 10, 25, tzinfo=UTC), datetime(2026, 10, 25, 2, tzinfo=UTC)
    assert (both is not None) == (begins <= at < ends)
    if both is not None:
        first, second = (one.astimezone(UTC) for one in both)
        assert second - first == timedelta(hours=1)
        assert at in (first, second)
