"""A zone that the data of this system do not know is shown in UTC, and never takes a journal down.

Authority: law, the moment itself stays the same whatever the zone it is shown in.
"""

from __future__ import annotations

from datetime import UTC, datetime

import pytest

from snugfast.core.zones import is_zone, local_time

AT = datetime(2026, 7, 1, 12, 0, tzinfo=UTC)


def test_a_known_zone_shows_its_own_clock() -> None:
    assert f"{local_time(AT, 'Europe/Vienna'):%H:%M}" == "14:00"


@pytest.mark.parametrize(
    "name", ["Mars/Olympus", "", "/etc/passwd", "../UTC", "Europe", "a\x00b", "x" * 5000]
)
def test_an_unknown_zone_is_shown_in_utc(name: str) -> None:
    assert not is_zone(name)
    assert local_time(AT, name) == AT
    assert f"{local_time(AT, name):%H:%M}" == "12:00"


@pytest.mark.parametrize("year", [1, 9999])
def test_the_ends_of_the_calendar_are_shown_as_they_stand(year: int) -> None:
    at = datetime(year, 12 if year > 1 else 1, 31 if year > 1 else 1, 23 if year > 1 else 0, 30, tzinfo=UTC)
    assert local_time(at, "Pacific/Kiritimati").year == year
    assert local_time(at, "America/Los_Angeles").year == year
