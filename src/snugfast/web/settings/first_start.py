"""The first start: a picture of the first car and its name; the rest is guessed, and asked later."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated
from zoneinfo import available_timezones

from fastapi import APIRouter, Form, Request
from fastapi.responses import Response
from pydantic import BaseModel

from snugfast.app.opening import machine_currency, machine_zone
from snugfast.core.errors import BadInput
from snugfast.usecases.journal.forms import keep_form
from snugfast.usecases.settings import GUESSED, judgement
from snugfast.web.bench import NoWorkshopYet, TheBench
from snugfast.web.cars.kinds import HISTORIES, Kind, draft_first_car, first_sheet, shipped_kinds
from snugfast.web.showing import show, to
from snugfast.web.troubles import Troubles

pages = APIRouter()


class FirstStartForm(BaseModel):
    """The first car, and what was guessed."""

    starter: str = ""
    name: str = ""
    history: str = "new"
    by: str = "me"
    currency: str = ""
    bench_minute: str = "0.15"
    running_minute: str = "0.40"
    zone: str = ""

    def guessed_by_us(self) -> bool:
        """Whether what we guessed stands as it was."""
        return all(
            getattr(self, name) == getattr(_guess(), name) for name in ("currency", "zone", "bench_minute")
        )


@dataclass(frozen=True, slots=True)
class FirstStartPage:
    """The form, and what was wrong with it."""

    form: FirstStartForm
    kinds: tuple[Kind, ...]
    histories: tuple[tuple[str, str], ...]
    zones: tuple[str, ...]
    troubles: Troubles | None


def _guess() -> FirstStartForm:
    return FirstStartForm(zone=machine_zone(), currency=machine_currency())


@pages.get("/first-start")
def ask(request: Request, bench: TheBench) -> Response:
    try:
        bench.workshop()
    except NoWorkshopYet:
        return _show(request, _guess())
    return to("/")


@pages.post("/first-start")
def begin(request: Request, bench: TheBench, form: Annotated[FirstStartForm, Form()]) -> Response:
    try:
        _told(form)
        settings = judgement(
            currency=form.currency or machine_currency(),
            bench_minute=form.bench_minute,
            running_minute=form.running_minute,
            zone=form.zone or machine_zone(),
        )
        guessed = {"guessed": GUESSED} if form.guessed_by_us() else {}
        bench.begin(by=form.by, settings={**settings, **guessed}, zone=settings["zone"])
    except BadInput as refused:
        return _show(request, form, Troubles.of(refused), 422)
    workshop = bench.workshop()
    entry = draft_first_car(workshop, name=form.name, kind=form.starter, history=form.history)
    keep_form(workshop, [entry])
    return to(first_sheet(form.name.strip()), note="kept", entries=(entry.id,))


def _told(form: FirstStartForm) -> None:
    """Raises BadInput for what would leave a workshop without its first car."""
    if form.starter not in {kind.key for kind in shipped_kinds()}:
        raise BadInput("Which kind of car is it?", "Tap the picture that looks most like yours.")
    if not form.name.strip():
        raise BadInput("The car has no name yet.", "Write what you call it.")
    if form.history not in {key for key, _ in HISTORIES}:
        raise BadInput(f"“{form.history}” is no history.", "Choose new, second-hand or don’t know.")


def _show(
    request: Request, form: FirstStartForm, troubles: Troubles | None = None, status: int = 200
) -> Response:
    zones = tuple(sorted(available_timezones()))
    page = FirstStartPage(form, shipped_kinds(), HISTORIES, zones, troubles)
    return show(request, "settings/first_start.html", page, title="Your first car", status=status)
