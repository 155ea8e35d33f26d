"""When something happened, read from what a person writes, with how sure it is.

“14:30” is today to the minute, “yesterday” a day, “2026-05-03 16:10” a minute, “about May” a guess.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from typing import NoReturn
from zoneinfo import ZoneInfo

from snugfast.core.errors import BadInput
from snugfast.records.entries import Precision

NOON = time(12, 0)
MONTHS = (
    "january",
    "february",
    "march",
    "april",
    "may",
    "june",
    "july",
    "august",
    "september",
    "october",
    "november",
    "december",
)
WAY_OUT = "Write 14:30, today, yesterday, 2026-05-03, 2026-05-03 14:30 or “about May”."


@dataclass(frozen=True, slots=True)
class Moment:
    """A time in UTC and how sure it is."""

    at: datetime
    precision: Precision


def read_moment(text: str, *, now: datetime, zone: str) -> Moment:
    """The moment a person means. Days are taken at noon, a month at its middle, never later than now.

    Raises BadInput for words that are no time, and for a time that has not come yet.
    """
    local_now = now.astimezone(ZoneInfo(zone))
    moment, precision = _local(text.strip(), local_now)
    if precision is not Precision.MINUTE and moment.date() == local_now.date():
        moment = local_now
    if moment > local_now + timedelta(minutes=1):
        raise BadInput(
            f"“{text}” has not come yet: it is {local_now:%Y-%m-%d %H:%M} here.",
            "Give a time that has passed.",
        )
    return Moment(moment.astimezone(now.tzinfo), precision)


def _local(text: str, now: datetime) -> tuple[datetime, Precision]:
    words = text.casefold()
    if words in ("", "now"):
        return now, Precision.DAY
    if words == "today":
        return now, Precision.DAY
    if words == "yesterday":
        return _at(now.date() - timedelta(days=1), NOON, now), Precision.DAY
    if _month(words) is not None:
        return _about(words, text, now), Precision.ABOUT
    if words.startswith("about "):
        return _about(words.removeprefix("about ").strip(), text, now), Precision.ABOUT
    if match := re.fullmatch(r"(\d{1,2}):(\d{2})", words):
        return _at(now.date(), _clock(match, text), now), Precision.MINUTE
    if match := re.fullmatch(r"(\d{4}-\d{2}-\d{2})(?:[ t](\d{1,2}):(\d{2}))?", words):
        day = _day(match.group(1), text)
        if match.group(2) is None:
            return _at(day, NOON, now), Precision.DAY
        clock = re.fullmatch(r"(\d{1,2}):(\d{2})", f"{match.group(2)}:{match.group(3)}")
        assert clock is not None
        return _at(day, _clock(clock, text), now), Precision.MINUTE
    _unreadable(text)


def _at(day: date, clock: time, now: datetime) -> datetime:
    return datetime.combine(day, clock, tzinfo=now.tzinfo)


def _clock(match: re.Match[str], text: str) -> time:
    try:
        return time(int(match.group(1)), int(match.group(2)))
    except ValueError:
        raise BadInput(f"“{text}” is not a time of day.", WAY_OUT) from None


def _day(iso: str, text: str) -> date:
    try:
        return date.fromisoformat(iso)
    except ValueError:
        raise BadInput(f"“{text}” is not a day in the calendar.", WAY_OUT) from None


def _about(words: str, text: str, now: datetime) -> datetime:
    """The middle of a month named in words, the last one that has begun; or a day only about right."""
    named = _month(words)
    if named is None:
        return _local(words, now)[0] if not words.startswith("about") else _unreadable(text)
    month, said_year = named
    year = said_year or now.year - (month > now.month)
    middle = _at(date(year, month, 15), NOON, now)
    return min(middle, now) if (year, month) <= (now.year, now.month) else middle


def _month(words: str) -> tuple[int, int | None] | None:
    """The month that “may” or “may 2026” names, and the year when it is said."""
    match = re.fullmatch(r"([a-z]{3,})(?:\s+(\d{4}))?", words)
    if match is None:
        return None
    month = next((n for n, name in enumerate(MONTHS, 1) if name.startswith(match.group(1))), None)
    return None if month is None else (month, int(match.group(2)) if match.group(2) else None)


def _unreadable(text: str) -> NoReturn:
    raise BadInput(f"“{text}” is not a time I can read.", WAY_OUT)
