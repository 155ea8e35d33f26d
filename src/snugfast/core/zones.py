"""Time zones by name, also by one that this system's zone data does not know (any more)."""

from __future__ import annotations

from datetime import UTC, datetime, tzinfo
from functools import lru_cache
from zoneinfo import ZoneInfo

UNKNOWN = "UTC"


def is_zone(name: str) -> bool:
    """Whether the zone data of this system know a zone of that name."""
    return _zone(name) is not None


def zone_called(name: str) -> tzinfo:
    """The zone of that name; UTC where the zone data do not know it.

    A name stands in entries that were written on other systems and years ago: showing them in UTC is right
    to the minute, refusing them would take the whole journal down.
    """
    return _zone(name) or UTC


def local_time(at: datetime, zone: str) -> datetime:
    """A moment as a clock in that zone shows it; at the ends of the calendar as it stands."""
    try:
        return at.astimezone(zone_called(zone))
    except (OverflowError, ValueError):
        return at


def local_day(at: datetime, zone: str) -> str:
    """The day a clock in that zone shows, as 2026-05-03."""
    return f"{local_time(at, zone):%Y-%m-%d}"


@lru_cache(maxsize=512)
def _zone(name: str) -> ZoneInfo | None:
    try:
        return ZoneInfo(name)
    except (OSError, ValueError):  # not there, a folder of the data, no name at all
        return None
    except KeyError:  # ZoneInfoNotFoundError
        return None
