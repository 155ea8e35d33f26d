"""The first start: who you are, and what minutes are worth to you."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated
from zoneinfo import available_timezones

from fastapi import APIRouter, Form, Request
from fastapi.responses import Response
from pydantic import BaseModel

from snugfast.app.opening import machine_currency, machine_zone
from snugfast.core.errors import BadInput
from snugfast.usecases.settings import judgement
from snugfast.web.bench import NoWorkshopYet, TheBench
from snugfast.web.showing import show, to
from snugfast.web.troubles import Troubles

pages = APIRouter()


class FirstStartForm(BaseModel):
    """What is asked before there is a workshop."""

    by: str = ""
    currency: str = ""
    bench_minute: str = "0.15"
    running_minute: str = "0.40"
    zone: str = ""


@dataclass(frozen=True, slots=True)
class FirstStartPage:
    """The form, and what was wrong with it."""

    form: FirstStartForm
    zones: tuple[str, ...]
    troubles: Troubles | None


@pages.get("/first-start")
def ask(request: Request, bench: TheBench) -> Response:
    try:
        bench.workshop()
    except NoWorkshopYet:
        return _show(request, FirstStartForm(zone=machine_zone(), currency=machine_currency()))
    return to("/")


@pages.post("/first-start")
def begin(request: Request, bench: TheBench, form: Annotated[FirstStartForm, Form()]) -> Response:
    try:
        if not form.currency.strip():
            raise BadInput("Nobody said the currency.", "Write its three letters, as on your receipts.")
        settings = judgement(
            currency=form.currency,
            bench_minute=form.bench_minute,
            running_minute=form.running_minute,
            zone=form.zone or "UTC",
        )
        bench.begin(by=form.by, settings=settings, zone=settings["zone"])
    except BadInput as refused:
        return _show(request, form, Troubles.of(refused), 422)
    return to("/cars/new")


def _show(
    request: Request, form: FirstStartForm, troubles: Troubles | None = None, status: int = 200
) -> Response:
    page = FirstStartPage(form, tuple(sorted(available_timezones())), troubles)
    return show(request, "settings/first_start.html", page, title="Begin", status=status)
