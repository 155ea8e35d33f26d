"""What minutes are worth, currency, zone."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated
from zoneinfo import available_timezones

from fastapi import APIRouter, Form, Request
from fastapi.responses import Response
from pydantic import BaseModel

from snugfast.core.errors import BadInput
from snugfast.core.spelling import CHOICES
from snugfast.usecases.journal.forms import keep_form
from snugfast.usecases.settings import draft_settings, judgement, settings_now
from snugfast.usecases.shared.workshop import Workshop
from snugfast.web.bench import TheBench, TheWorkshop
from snugfast.web.showing import show, to
from snugfast.web.troubles import Troubles

pages = APIRouter()
WRITTEN = {
    "temperature": "Temperature",
    "speed": "Speed",
    "weight": "Weight",
    "length": "Length",
    "clock": "Clock",
    "dates": "Dates",
    "decimal": "Decimal",
}


class SettingsForm(BaseModel):
    """The settings as they are typed."""

    currency: str = ""
    bench_minute: str = ""
    running_minute: str = ""
    zone: str = ""
    temperature: str = ""
    speed: str = ""
    weight: str = ""
    length: str = ""
    clock: str = ""
    dates: str = ""
    decimal: str = ""
    seen: str = ""


@dataclass(frozen=True, slots=True)
class SettingsPage:
    """The settings in force, in a form."""

    form: SettingsForm
    people: tuple[str, ...]
    zones: tuple[str, ...]
    written: tuple[tuple[str, str, str, tuple[str, ...]], ...]  # name, label, chosen, choices
    where: str
    troubles: Troubles | None


@pages.get("/settings")
def see(request: Request, workshop: TheWorkshop) -> Response:
    return _show(request, workshop, _in_force(workshop))


@pages.post("/settings")
def change(
    request: Request, bench: TheBench, workshop: TheWorkshop, form: Annotated[SettingsForm, Form()]
) -> Response:
    try:
        chosen = judgement(**form.model_dump(exclude={"seen"}))
        entry = draft_settings(workshop, chosen)
        keep_form(workshop, [entry], seen=int(form.seen) if form.seen.isdecimal() else None)
    except BadInput as refused:
        return _show(request, workshop, form, Troubles.of(refused), 422)
    if chosen.get("zone", workshop.zone) != workshop.zone:
        bench.reopen()
    return to("/settings", note="kept", entries=(entry.id,))


def _in_force(workshop: Workshop) -> SettingsForm:
    now = settings_now(workshop)
    with workshop.store.reading() as reads:
        seen = reads.position()
    return SettingsForm(
        seen=str(seen),
        currency=str(now["currency"]),
        bench_minute=f"{now['bench_minute'] / 100:.2f}",
        running_minute=f"{now['running_minute'] / 100:.2f}",
        zone=str(now["zone"]),
        **{name: str(now[name]) for name in CHOICES},
    )


def _show(
    request: Request,
    workshop: Workshop,
    form: SettingsForm,
    troubles: Troubles | None = None,
    status: int = 200,
) -> Response:
    with workshop.store.reading() as reads:
        people = tuple(person.name for person in reads.people() if person.name)
    written = tuple(
        (name, WRITTEN[name], getattr(form, name) or choices[0], choices) for name, choices in CHOICES.items()
    )
    page = SettingsPage(
        form, people, tuple(sorted(available_timezones())), written, workshop.store.address.words, troubles
    )
    return show(request, "settings/settings.html", page, title="Settings", here="more", status=status)
