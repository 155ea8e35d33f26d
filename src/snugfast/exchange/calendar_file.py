"""Dates as an iCalendar file (RFC 5545): stable UIDs, numbered changes, cancellations."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import timedelta
from typing import TYPE_CHECKING

from snugfast import __version__
from snugfast.core.spelling import respell
from snugfast.core.zones import local_time
from snugfast.usecases.bench.due_dates import DueDate

if TYPE_CHECKING:
    from icalendar import Event

WARNED_BEFORE = timedelta(hours=1)
ASK_AGAIN = timedelta(hours=1)  # how often a subscription may come back


def calendar_file(dates: Iterable[DueDate], *, zone: str, base: str = "") -> bytes:
    """The file. `base` is where phones find the pages, as http://192.168.1.5:8765; “” leaves links out."""
    from icalendar import Calendar

    calendar = Calendar()
    calendar.add("prodid", f"-//Snugfast//{__version__}//EN")
    calendar.add("version", "2.0")
    calendar.add("calscale", "GREGORIAN")
    calendar.add("method", "PUBLISH")
    calendar.add("name", "Snugfast")  # RFC 7986
    calendar.add("refresh-interval", ASK_AGAIN, parameters={"value": "DURATION"})  # RFC 7986
    for date in dates:
        calendar.add_component(_event(date, zone, base))
    return bytes(calendar.to_ical())


def _event(date: DueDate, zone: str, base: str) -> Event:
    from icalendar import Alarm, Event

    event = Event()
    event.add("uid", str(date.uid))
    event.add("dtstamp", date.changed_at)
    event.add("last-modified", date.changed_at)
    event.add("sequence", date.sequence)
    event.add("summary", respell(date.title))
    event.add("description", respell(date.text))
    event.add("transp", "TRANSPARENT")  # nobody is busy because of a pack
    if base:
        event.add("url", base + date.path)
    if date.minutes is None:
        day = local_time(date.at, zone).date()
        event.add("dtstart", day)
        event.add("dtend", day + timedelta(days=1))
    else:
        event.add("dtstart", date.at)
        event.add("dtend", date.at + timedelta(minutes=max(1.0, date.minutes)))
    if date.cancelled:
        event.add("status", "CANCELLED")
        return event
    event.add("status", "CONFIRMED")
    if date.minutes is not None:
        alarm = Alarm()
        alarm.add("action", "DISPLAY")
        alarm.add("description", respell(date.title))
        alarm.add("trigger", -WARNED_BEFORE)
        event.add_component(alarm)
    return event
