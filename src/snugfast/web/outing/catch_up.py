"""Running remembered in bulk: “about six packs since May, one wet”."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated
from uuid import UUID

from fastapi import APIRouter, Form, Request
from fastapi.responses import Response
from pydantic import BaseModel

from snugfast.core.errors import BadInput
from snugfast.records.entries import Ground, Wet
from snugfast.usecases.journal.run_log import CatchUpSaid, draft_catch_up
from snugfast.usecases.shared.ledger import ledger_now
from snugfast.usecases.shared.lookup import cars_here
from snugfast.usecases.shared.workshop import Workshop
from snugfast.web.bench import TheWorkshop
from snugfast.web.journal.kept import echo, identified
from snugfast.web.showing import show
from snugfast.web.troubles import Troubles

pages = APIRouter()

WETS = tuple(wet.value for wet in Wet if wet is not Wet.DRY)
GROUNDS = tuple(ground.value for ground in Ground if ground is not Ground.UNKNOWN)


class CatchUpForm(BaseModel):
    """As it is typed."""

    id: UUID | None = None
    car: str = ""
    packs: str = ""
    since: str = ""
    until: str = ""
    minutes_each: str = ""
    wet_packs: str = ""
    wet: str = ""
    hits: str = ""
    ground: str = ""
    change: str = ""

    def said(self) -> CatchUpSaid:
        return CatchUpSaid(**self.model_dump(exclude={"change"}))


@dataclass(frozen=True, slots=True)
class CatchUpPage:
    """The form, empty or filled in."""

    form: CatchUpForm
    cars: tuple[str, ...]
    wets: tuple[str, ...]
    grounds: tuple[str, ...]
    troubles: Troubles | None


@pages.get("/catch-up")
def ask(request: Request, workshop: TheWorkshop, car: str = "") -> Response:
    return _show(request, workshop, CatchUpForm(id=workshop.new_id(), car=car))


@pages.post("/catch-up")
def log(request: Request, workshop: TheWorkshop, form: Annotated[CatchUpForm, Form()]) -> Response:
    form = identified(workshop, form)
    if form.change:
        return _show(request, workshop, form)
    try:
        draft = draft_catch_up(workshop, form.said())
        return echo(request, workshop, draft, form=form, change="/catch-up")
    except BadInput as refused:
        return _show(request, workshop, form, Troubles.of(refused), 422)


def _show(
    request: Request,
    workshop: Workshop,
    form: CatchUpForm,
    troubles: Troubles | None = None,
    status: int = 200,
) -> Response:
    with workshop.store.reading() as reads:
        cars = tuple(car.name for car in cars_here(ledger_now(reads)))
    page = CatchUpPage(form, cars, WETS, GROUNDS, troubles)
    return show(request, "outing/catch_up.html", page, title="Catch up", here="run", status=status)
