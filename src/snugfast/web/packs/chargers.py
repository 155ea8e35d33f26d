"""Chargers: adding one, letting one go."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated
from uuid import UUID

from fastapi import APIRouter, Form, Request
from fastapi.responses import Response
from pydantic import BaseModel

from snugfast.core.errors import SnugfastError
from snugfast.usecases.packs.register import ChargerSaid, draft_charger, draft_charger_left
from snugfast.web.bench import TheWorkshop
from snugfast.web.journal.kept import echo, identified, saved, with_id
from snugfast.web.showing import show
from snugfast.web.troubles import Troubles

pages = APIRouter()


class ChargerForm(BaseModel):
    """A charger as it is typed."""

    id: UUID | None = None
    name: str = ""
    channels: str = "1"
    amps: str = ""
    watts: str = ""
    supply: str = ""
    balances: str = "yes"
    stores: str = "yes"
    price: str = ""
    when: str = ""
    change: str = ""

    def said(self) -> ChargerSaid:
        return ChargerSaid(**self.model_dump(exclude={"change"}))


class GoneForm(BaseModel):
    """The charger that leaves."""

    name: str = ""
    change: str = ""


@dataclass(frozen=True, slots=True)
class ChargerPage:
    """The form, empty or filled in."""

    form: ChargerForm
    troubles: Troubles | None


@pages.get("/chargers/new")
def ask(request: Request, workshop: TheWorkshop) -> Response:
    return _show(request, ChargerForm(id=workshop.new_id()))


@pages.post("/chargers/new")
def add(request: Request, workshop: TheWorkshop, form: Annotated[ChargerForm, Form()]) -> Response:
    form = identified(workshop, form)
    if form.change:
        return _show(request, form)
    try:
        draft = draft_charger(workshop, form.said())
        return saved(workshop, with_id(draft, form.id or workshop.new_id()), then="/packs")
    except SnugfastError as refused:
        return _show(request, form, Troubles.of(refused), 422)


@pages.post("/chargers/gone")
def gone(request: Request, workshop: TheWorkshop, form: Annotated[GoneForm, Form()]) -> Response:
    draft = draft_charger_left(workshop, form.name)
    return echo(request, workshop, draft, form=form, change="/chargers/gone", then="/packs")


def _show(
    request: Request, form: ChargerForm, troubles: Troubles | None = None, status: int = 200
) -> Response:
    page = ChargerPage(form, troubles)
    return show(request, "packs/charger_new.html", page, title="Add a charger", here="packs", status=status)
