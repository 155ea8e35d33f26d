"""When something happened, read from what a person writes, with how sure it is.

“14:30” is today to the minute, “yesterday” a day, “2026-05-03 16:10” a minute, “about May” a guess.
Where clocks go back an hour comes twice; “02:30” is then its first time, “02:30+01:00” says which is meant.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta, timezone
from typing import NoReturn

from snugfast.core.errors import BadInput
from snugfast.core.spelling import plain_moment
from snugfast.core.zones import local_time
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
CLOCK = r"(?P<hour>\d{1,2}):(?P<minute>\d{2})\s*(?P<offset>z|[+-]\d{2}(?::?\d{2})?)?"  # as in ISO 8601
FARTHEST_OFFSET = timedelta(hours=14)
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
    local_now = local_time(now, zone)
    moment, precision = _local(plain_moment(text.strip()), local_now)
    if precision is not Precision.MINUTE and moment.date() == local_now.date():
        moment = local_now
    if moment.astimezone(UTC) > now + timedelta(minutes=1):
        raise BadInput(
            f"“{text}” has not come yet: it is {local_now:%Y-%m-%d %H:%M} here.",
            "Give a time that has passed.",
        )
    return Moment(moment.astimezone(now.tzinfo), precision)


def only_about(text: str) -> bool:
    """Whether words say that they are only about right: “about six”, “about May”, “May 2026”."""
    words = text.strip().casefold()
    return words.startswith("about ") or _month(words) is not None


def twice_on_the_clock(at: datetime, zone: str) -> tuple[datetime, datetime] | None:
    """Both moments of a time that clocks there showed twice, going back; None when they showed it once."""
    local = local_time(at, zone)
    first, second = local.replace(fold=0), local.replace(fold=1)
    return None if first.utcoffset() == second.utcoffset() else (first, second)


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
    if match := re.fullmatch(rf"(?:(?P<day>\d{{4}}-\d{{2}}-\d{{2}})[ t])?{CLOCK}", words):
        day = _day(match["day"], text) if match["day"] else now.date()
        return _on_the_clock(match, day, text, now), Precision.MINUTE
    if re.fullmatch(r"\d{4}-\d{2}-\d{2}", words):
        return _at(_day(words, text), NOON, now), Precision.DAY
    _unreadable(text)


def _at(day: date, clock: time, now: datetime) -> datetime:
    return datetime.combine(day, clock, tzinfo=now.tzinfo)


def _on_the_clock(match: re.Match[str], day: date, text: str, now: datetime) -> datetime:
    """The moment a clock showed a time: the clock on the wall here, or one of the offset that was typed."""
    try:
        clock = time(int(match["hour"]), int(match["minute"]))
    except ValueError:
        raise BadInput(f"“{text}” is not a time of day.", WAY_OUT) from None
    if match["offset"]:
        offset = timezone(_offset(match["offset"], text))
        return datetime.combine(day, clock, tzinfo=offset).astimezone(now.tzinfo)
    moment = _at(day, clock, now)
    if moment.astimezone(UTC).astimezone(now.tzinfo).time() != clock:
        raise BadInput(
            f"“{text}” never came: the clocks went forward over it that day.",
            "Write a time the clock has shown.",
        )
    return moment


def _offset(words: str, text: str) -> timedelta:
    """“+01:00”, “+0100”, “+01” or “z” as the offset from UTC."""
    digits = words.lstrip("z+-").replace(":", "").ljust(4, "0")
    offset = timedelta(hours=int(digits[:2]), minutes=int(digits[2:]))
    if offset > FARTHEST_OFFSET or int(digits[2:]) > 59:
        raise BadInput(f"“{text}” has an offset no place has.", "Write it like +01:00.")
    return -offset if words.startswith("-") else offset


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
