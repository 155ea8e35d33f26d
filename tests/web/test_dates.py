"""Dates as a calendar: two readers understand it, what moves replaces, what no longer holds is cancelled.

Authority: RFC 5545, 3.8.4.7 (UID), 3.8.7.4 (SEQUENCE), 3.8.1.11 (STATUS); read by icalendar and by vobject.
"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date, datetime, timedelta
from math import exp
from pathlib import Path
from typing import Any

import pytest
import vobject
from icalendar import Calendar
from starlette.testclient import TestClient

from snugfast.app.house_door import HouseDoor
from snugfast.exchange.calendar_file import calendar_file
from snugfast.facts.model import Arrival
from snugfast.usecases.bench.due_dates import WORN_AT, _days_until_worn, due_dates, published
from snugfast.usecases.bench.outlook import outlooks
from snugfast.usecases.bench.treatments import TreatedSaid, draft_treated, treatments_of
from snugfast.usecases.journal.keeping import keep
from snugfast.usecases.journal.run_log import RunSaid, draft_runs
from snugfast.usecases.shared.workshop import Workshop
from snugfast.web.app import create_for
from snugfast.web.bench import House
from tests.web.parsed import Page
from tests.web.workshops import Clock

AT = "http://192.168.1.5:8765"


def drive_in_mud(workshop: Workshop, clock: Clock) -> None:
    keep(workshop, draft_runs(workshop, (RunSaid("Bramble", ("Ember 1",), "10", wet="mud"),)).entries)
    clock.on(hours=1)


def read(workshop: Workshop) -> dict[str, Any]:
    """The events by UID, as icalendar reads the file."""
    parsed = Calendar.from_ical(calendar_file(published(workshop), zone=workshop.zone, base=AT))
    return {str(event["uid"]): event for event in parsed.walk("VEVENT")}


def test_two_readers_see_the_same_dates(workshop: Workshop, clock: Clock) -> None:
    drive_in_mud(workshop, clock)
    data = calendar_file(published(workshop), zone=workshop.zone, base=AT)
    assert all(len(line) <= 75 for line in data.split(b"\r\n")), (
        "RFC 5545, 3.1: lines are folded at 75 octets"
    )
    ours, theirs = Calendar.from_ical(data), vobject.readOne(data.decode("utf-8"))
    events = {str(event["uid"]): event for event in ours.walk("VEVENT")}
    others = {str(event.uid.value): event for event in theirs.vevent_list}
    assert set(events) == set(others)
    for uid, event in events.items():
        assert str(event["summary"]) == others[uid].summary.value
        assert event.decoded("dtstart") == others[uid].dtstart.value
        assert str(event["url"]).startswith(AT)
    titles = [str(event["summary"]) for event in events.values()]
    assert any("bench sheet before the next outing" in title for title in titles)
    wet = [event for event in events.values() if event.walk("VALARM")]
    assert wet, "what is due within hours warns before"
    assert all(isinstance(event.decoded("dtstart"), datetime) for event in wet)
    assert any(type(event.decoded("dtstart")) is date for event in events.values())


def test_a_date_keeps_its_number_until_something_changes(workshop: Workshop, clock: Clock) -> None:
    drive_in_mud(workshop, clock)
    first = read(workshop)
    clock.on(minutes=3)
    again = read(workshop)
    assert {uid: int(event["sequence"]) for uid, event in first.items()} == {
        uid: int(event["sequence"]) for uid, event in again.items()
    }


def test_what_was_done_is_cancelled_and_what_moved_replaces(workshop: Workshop, clock: Clock) -> None:
    drive_in_mud(workshop, clock)
    first = read(workshop)
    due = treatments_of(workshop, ("Bramble",))[0]
    keep(workshop, draft_treated(workshop, TreatedSaid("Bramble", due.treatment)).entries)
    clock.on(minutes=5)
    after = read(workshop)
    (done,) = [uid for uid, one in first.items() if str(one["summary"]) == f"Bramble: {due.name}"]
    assert str(after[done]["status"]) == "CANCELLED"
    assert int(after[done]["sequence"]) > int(first[done]["sequence"])
    clock.on(days=4)
    keep(workshop, draft_runs(workshop, (RunSaid("Bramble", ("Ember 1",), "13", ground="gravel"),)).entries)
    later = read(workshop)
    moved = [
        uid
        for uid in first.keys() & later.keys()
        if str(later[uid]["status"]) == "CONFIRMED"
        and later[uid].decoded("dtstart") != first[uid].decoded("dtstart")
    ]
    assert moved, "driving moves what wears or what the packs ask for"
    assert all(int(later[uid]["sequence"]) > int(first[uid]["sequence"]) for uid in moved)
    clock.on(days=31)
    assert done not in read(workshop), "a month later nobody needs to be told"


def test_a_date_of_wear_is_when_the_chance_reaches_one_half(workshop: Workshop) -> None:
    """By hand: 1 − (1 − p₀)·exp(−rate·exposure) at that day."""
    risks = [
        (risk, outlook.ahead.days)
        for outlook in outlooks(workshop, lambda ledger: list(ledger.cars.values())).cars
        for risk in outlook.risks
    ]
    tried = 0
    for risk, days_ahead in risks:
        days = _days_until_worn(risk, days_ahead)
        if days is None:
            assert risk.mode.arrival is not Arrival.WEAR_OUT or risk.presence >= WORN_AT or not risk.rate
            continue
        tried += 1
        exposure = risk.exposure * days / days_ahead
        assert 1.0 - (1.0 - risk.presence) * exp(-risk.rate * exposure) == pytest.approx(WORN_AT)
    assert tried > 3


@pytest.fixture
def house(tmp_path: Path, workshop: Workshop) -> Iterator[House]:
    yield House(HouseDoor(tmp_path / "door.json", now=workshop.now), AT, False)


def test_a_calendar_subscribes_by_a_secret_address_that_can_be_changed(
    workshop: Workshop, house: House
) -> None:
    app = create_for(workshop, house)
    desk = TestClient(app, base_url="http://127.0.0.1:8765", client=("127.0.0.1", 1))
    other = TestClient(app, base_url=AT, client=("192.168.1.20", 1), follow_redirects=False)
    page = Page.of(desk.get("/dates"))
    address = next(word for word in page.text.split() if word.startswith(f"{AT}/feed/"))
    answer = other.get(address.removeprefix(AT))
    assert answer.headers["content-type"].startswith("text/calendar")
    assert Calendar.from_ical(answer.content).walk("VEVENT")
    assert other.get("/dates").status_code == other.get("/dates.ics").status_code == 303
    assert other.get("/feed/guessed.ics").status_code == 404
    desk.post("/dates/new-feed")
    assert other.get(address.removeprefix(AT)).status_code == 404


def test_dates_stay_readable_where_nothing_may_be_written(workshop: Workshop) -> None:
    workshop.read_only = True
    assert len(published(workshop)) == len(due_dates(workshop))
    assert all(one.changed_at > workshop.now() - timedelta(minutes=1) for one in published(workshop))
