"""The dates, their calendar file, and the feed of it."""

from __future__ import annotations

from dataclasses import dataclass

from fastapi import APIRouter, Request
from fastapi.responses import RedirectResponse, Response

from snugfast.core.errors import NotKnown
from snugfast.exchange.calendar_file import calendar_file
from snugfast.usecases.bench.due_dates import day_of, due_dates, published
from snugfast.usecases.shared.workshop import Workshop
from snugfast.web.bench import PHONE, Bench, TheBench, TheWorkshop
from snugfast.web.showing import show

pages = APIRouter()


@dataclass(frozen=True, slots=True)
class DateRow:
    """One date."""

    day: str
    title: str
    text: str
    link: str


@dataclass(frozen=True, slots=True)
class DatesPage:
    """What has a date; `feed` is the address to subscribe to, “” while no phone could."""

    rows: tuple[DateRow, ...]
    feed: str
    may_change: bool


@pages.get("/dates")
def dates(request: Request, bench: TheBench, workshop: TheWorkshop) -> Response:
    rows = tuple(
        DateRow(day_of(date, workshop.zone), date.title, date.text, date.path) for date in due_dates(workshop)
    )
    feed = f"{bench.house.address}/feed/{bench.house.door.feed()}.ics" if bench.house else ""
    page = DatesPage(rows, feed, request.scope.get(PHONE) is None)
    return show(request, "dates/dates.html", page, title="Dates", here="more")


@pages.get("/dates.ics")
def file(bench: TheBench, workshop: TheWorkshop) -> Response:
    return _calendar(bench, workshop)


@pages.get("/feed/{secret}.ics")
def feed(bench: TheBench, workshop: TheWorkshop, secret: str) -> Response:
    """For a calendar that cannot sign in: who knows the address may read the dates, and nothing else."""
    if bench.house is None or not bench.house.door.is_feed(secret):
        raise NotKnown("There is no calendar at this address.", "Copy it again from the page “Dates”.")
    return _calendar(bench, workshop)


@pages.post("/dates/new-feed")
def new_feed(request: Request, bench: TheBench) -> Response:
    """A new address; calendars that have the old one get nothing any more."""
    if bench.house is not None and request.scope.get(PHONE) is None:
        bench.house.door.new_feed()
    return RedirectResponse("/dates", status_code=303)


def _calendar(bench: Bench, workshop: Workshop) -> Response:
    base = bench.house.address if bench.house else ""
    return Response(
        calendar_file(published(workshop), zone=workshop.zone, base=base),
        media_type="text/calendar; charset=utf-8",
        headers={"content-disposition": 'attachment; filename="snugfast.ics"'},
    )
