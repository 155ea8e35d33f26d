"""The phones of the house, seen at the machine itself: a code to scan, who is in, and signing out."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, datetime

from fastapi import APIRouter, Request
from fastapi.responses import RedirectResponse, Response

from snugfast.app.house_door import Phone
from snugfast.core.errors import RefusedAction
from snugfast.core.zones import local_day
from snugfast.exchange.qr import qr_svg
from snugfast.usecases.shared.workshop import Workshop
from snugfast.web.bench import PHONE, TheBench, TheWorkshop
from snugfast.web.numbers import ago
from snugfast.web.showing import show

pages = APIRouter()


@dataclass(frozen=True, slots=True)
class PhoneRow:
    """One phone that is signed in."""

    id: str
    name: str
    since: str
    seen: str
    until: str


@dataclass(frozen=True, slots=True)
class PhonesPage:
    """How the pages are open to the house; `address` is empty while they answer on this machine only."""

    address: str
    secure: bool
    at_the_machine: bool
    name: str  # of the phone that looks
    link: str
    code: str  # the link as an SVG
    phones: tuple[PhoneRow, ...]


@pages.get("/phones")
def see(request: Request, bench: TheBench, workshop: TheWorkshop) -> Response:
    phone: Phone | None = request.scope.get(PHONE)
    house = bench.house
    if house is None:
        page = PhonesPage("", False, True, "", "", "", ())
    elif phone is not None:
        page = PhonesPage(house.address, house.secure, False, phone.name, "", "", ())
    else:
        link = house.link
        rows = tuple(_row(one, workshop) for one in house.door.phones())
        page = PhonesPage(
            house.address, house.secure, True, "", link, qr_svg(link, "Code to scan with a phone"), rows
        )
    return show(request, "door/phones.html", page, title="Phones in the house", here="more")


@pages.post("/phones/{phone_id}/out")
def sign_out(request: Request, bench: TheBench, phone_id: str) -> Response:
    """End a session, or all of them; only at the machine itself."""
    if request.scope.get(PHONE) is not None:
        raise RefusedAction("Other phones are signed out at the computer itself.")
    if bench.house is not None:
        if phone_id == "all":
            bench.house.door.sign_out_all()
        else:
            bench.house.door.sign_out(phone_id)
    return RedirectResponse("/phones", status_code=303)


def _row(phone: Phone, workshop: Workshop) -> PhoneRow:
    zone, now = workshop.zone, datetime.now(UTC)
    return PhoneRow(
        phone.id,
        phone.name,
        ago(phone.since, now, zone),
        ago(phone.seen, now, zone),
        local_day(phone.until, zone),
    )
