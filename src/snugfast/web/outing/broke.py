"""Something found broken on the bench: what, where on the car, what was done. No grammar to type."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated
from uuid import UUID

from fastapi import APIRouter, Form, Request
from fastapi.responses import Response
from pydantic import BaseModel

from snugfast.core.errors import BadInput
from snugfast.core.ids import derived
from snugfast.records.entries import Entry
from snugfast.usecases.journal.forms import keep_form
from snugfast.usecases.journal.run_log import draft_broke
from snugfast.usecases.shared.ledger import ledger_now
from snugfast.usecases.shared.lookup import car_called, cars_here, packs_here
from snugfast.usecases.shared.workshop import Workshop
from snugfast.web.bench import TheWorkshop
from snugfast.web.journal.kept import identified
from snugfast.web.outing.breaks import UNKNOWN, BreakGroup, break_groups, break_where, broke_words
from snugfast.web.picker import CORNERS, ENDS, Where
from snugfast.web.sheet.round_form import DID
from snugfast.web.showing import show, to
from snugfast.web.troubles import Troubles

pages = APIRouter()


class BrokeForm(BaseModel):
    """Something found broken outside a run, as it is tapped."""

    id: UUID | None = None
    car: str = ""
    broke: str = ""
    at: list[str] = []
    did: str = ""
    pack: str = ""
    when: str = ""
    minutes: str = ""
    spent: str = ""


@dataclass(frozen=True, slots=True)
class BrokePage:
    """The choice of the car, then of what broke on it."""

    form: BrokeForm
    car: str
    cars: tuple[str, ...]
    packs: tuple[str, ...]
    breaks: tuple[BreakGroup, ...]
    where: Where
    dids: tuple[tuple[str, str], ...]
    troubles: Troubles | None


@pages.get("/broke")
def ask(request: Request, workshop: TheWorkshop, car: str = "") -> Response:
    return _show(request, workshop, BrokeForm(id=workshop.new_id(), car=car))


@pages.post("/broke")
def log(request: Request, workshop: TheWorkshop, form: Annotated[BrokeForm, Form()]) -> Response:
    form = identified(workshop, form)
    try:
        entries = _entries(workshop, form)
        keep_form(workshop, entries)
    except BadInput as refused:
        return _show(request, workshop, form, Troubles.of(refused), 422)
    return to("/", note="kept", entries=tuple(entry.id for entry in entries))


def _entries(workshop: Workshop, form: BrokeForm) -> list[Entry]:
    with workshop.store.reading() as reads:
        car = car_called(ledger_now(reads), form.car)
    words = broke_words(workshop.facts, workshop.build(car.build), form.broke, tuple(form.at), form.did)
    assert form.id is not None
    return [
        entry
        for n, one in enumerate(words)
        for entry in draft_broke(
            workshop,
            form.car,
            one,
            when=form.when,
            minutes=form.minutes if n == 0 else "",
            spent=form.spent if n == 0 else "",
            pack=form.pack,
            id=form.id if n == 0 else derived(form.id, one),
        ).entries
    ]


def _show(
    request: Request,
    workshop: Workshop,
    form: BrokeForm,
    troubles: Troubles | None = None,
    status: int = 200,
) -> Response:
    with workshop.store.reading() as reads:
        ledger = ledger_now(reads)
    cars = tuple(car.name for car in cars_here(ledger))
    chosen = form.car or (cars[0] if len(cars) == 1 else "")
    car = ledger.car_named(chosen) if chosen else None
    build = workshop.build(car.build) if car else None
    known = build is not None and form.broke not in ("", UNKNOWN)
    page = BrokePage(
        form=form,
        car=car.name if car else "",
        cars=cars,
        packs=tuple(pack.name for pack in packs_here(ledger)),
        breaks=break_groups(workshop.facts, build) if build else (),
        where=break_where(workshop.facts, build, form.broke)
        if build and known
        else Where(CORNERS, ENDS, (), ()),
        dids=DID,
        troubles=troubles,
    )
    return show(request, "outing/broke.html", page, title="Found broken", here="run", status=status)
