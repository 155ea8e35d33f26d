"""Packs: adding one, its page, letting one go."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated
from uuid import UUID

from fastapi import APIRouter, Form, Request
from fastapi.responses import Response
from pydantic import BaseModel

from snugfast.core.errors import BadInput
from snugfast.usecases.pack_register import PackSaid, draft_pack
from snugfast.usecases.run_log import Draft
from snugfast.usecases.telling import tell
from snugfast.usecases.what_stands import ledger_now
from snugfast.usecases.workshop import Workshop
from snugfast.web.bench import TheWorkshop
from snugfast.web.pages.kept import echo
from snugfast.web.showing import show
from snugfast.web.troubles import Troubles

pages = APIRouter()

CHEMISTRIES = (
    "lithium-polymer",
    "high-voltage lithium-polymer",
    "lithium-ion",
    "lithium iron phosphate",
    "nickel-metal hydride",
)


class PackForm(BaseModel):
    """A pack as it is typed."""

    id: UUID | None = None
    name: str = ""
    cells: str = ""
    capacity: str = ""
    chemistry: str = CHEMISTRIES[0]
    when: str = ""
    change: str = ""


@dataclass(frozen=True, slots=True)
class PackFormPage:
    """The form, empty or filled in."""

    form: PackForm
    chemistries: tuple[str, ...]
    troubles: Troubles | None


@pages.get("/packs/new")
def ask(request: Request, workshop: TheWorkshop) -> Response:
    return _show(request, PackForm(id=workshop.new_id()))


@pages.post("/packs/new")
def add(request: Request, workshop: TheWorkshop, form: Annotated[PackForm, Form()]) -> Response:
    form = form.model_copy(update={"id": form.id or workshop.new_id()})
    if form.change:
        return _show(request, form)
    try:
        return echo(request, workshop, _draft(workshop, form), form=form, change="/packs/new")
    except BadInput as refused:
        return _show(request, form, Troubles.of(refused), 422)


def _draft(workshop: Workshop, form: PackForm) -> Draft:
    said = PackSaid(form.name, form.cells, form.capacity, form.chemistry, form.when)
    entry = draft_pack(workshop, said, id=form.id)
    with workshop.store.reading() as reads:
        return Draft((entry,), (tell(entry, workshop.facts, ledger_now(reads)),))


def _show(request: Request, form: PackForm, troubles: Troubles | None = None, status: int = 200) -> Response:
    page = PackFormPage(form, CHEMISTRIES, troubles)
    return show(request, "pack_new.html", page, title="Add a pack", here="home", status=status)
