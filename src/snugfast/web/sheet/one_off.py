"""A car that comes or goes: its one-off sheet, putting it away, waking it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Annotated, Self
from uuid import UUID

from fastapi import APIRouter, Depends, Form, Request
from fastapi.responses import Response
from pydantic import BaseModel
from starlette.datastructures import FormData

from snugfast.core.errors import BadInput
from snugfast.core.ids import derived
from snugfast.core.zones import local_day
from snugfast.facts.model import Occasion
from snugfast.records.entries import Entry
from snugfast.usecases.bench.one_off import (
    OneOff,
    OneOffCheck,
    OneOffWork,
    draft_lay_up,
    draft_sheet_done,
    draft_wake_up,
    one_off_sheet,
)
from snugfast.usecases.journal.answer_form import Group, answer_form
from snugfast.usecases.journal.bench_answers import SOUND, FoundSaid, draft_found
from snugfast.usecases.journal.forms import keep_form
from snugfast.usecases.shared.applicability import of_pack
from snugfast.usecases.shared.cautions import Caution
from snugfast.usecases.shared.ledger import ledger_now
from snugfast.usecases.shared.lookup import car_and_build, packs_here
from snugfast.usecases.shared.workshop import Workshop
from snugfast.web.bench import TheWorkshop
from snugfast.web.cars.page import name_of
from snugfast.web.journal.kept import identified, saved
from snugfast.web.numbers import count, minutes, money
from snugfast.web.sheet.round_form import DID
from snugfast.web.showing import show, to
from snugfast.web.troubles import Troubles

pages = APIRouter()
MOST_CHECKS = 200  # a form of more was not made here


@dataclass(frozen=True, slots=True)
class CheckSaid:
    """What was chosen for one check; nothing found means that nobody looked yet."""

    found: str = ""
    done: str = ""
    pack: str = ""

    @classmethod
    def of(cls, form: FormData, check: str) -> Self:
        return cls(*(str(form.get(f"{check}.{name}", "")).strip() for name in ("found", "done", "pack")))


class NothingMore(BaseModel):
    """A form that says all by being sent."""

    id: UUID | None = None


class RestForm(BaseModel):
    """A car put away or woken up."""

    id: UUID | None = None
    words: str = ""
    when: str = ""
    change: str = ""


@dataclass(frozen=True, slots=True)
class WorkCard:
    """Work that is no check."""

    name: str
    minutes: str
    steps: tuple[str, ...]
    parts: tuple[str, ...]
    cautions: tuple[Caution, ...]
    adults_only: bool

    @classmethod
    def of(cls, work: OneOffWork) -> Self:
        parts = tuple(f"{count(part.count, '×')} {part.name}, {money(part.cost)}" for part in work.parts)
        return cls(work.name, minutes(work.minutes), work.steps, parts, work.cautions, work.adults_only)


@dataclass(frozen=True, slots=True)
class CheckCard:
    """A check that is done once, and the form that answers it."""

    check: OneOffCheck
    minutes: str
    found: tuple[Group, ...]
    on_pack: bool
    done: str
    said: CheckSaid
    troubles: Troubles | None


@dataclass(frozen=True, slots=True)
class OneOffPage:
    """The whole sheet."""

    id: UUID
    form_id: UUID
    done_id: UUID
    name: str
    occasion: str
    why: str
    before: tuple[WorkCard, ...]
    checks: tuple[CheckCard, ...]
    after: tuple[WorkCard, ...]
    minutes: str
    minutes_left: str
    price: str
    likely: str
    done: str
    laid_up: bool
    learner: bool
    packs: tuple[str, ...]
    dones: tuple[tuple[str, str], ...]
    source: str
    troubles: Troubles | None

    @property
    def left(self) -> bool:
        """Whether a check is still to be answered."""
        return any(not card.done and (self.packs or not card.on_pack) for card in self.checks)

    @classmethod
    def of(
        cls,
        sheet: OneOff,
        workshop: Workshop,
        *,
        learner: bool = False,
        said: Mapping[str, CheckSaid] | None = None,
        refused: tuple[str, Troubles] | None = None,
    ) -> Self:
        _, build = car_and_build(workshop, sheet.car_name)
        with workshop.store.reading() as reads:
            packs = tuple(pack.name for pack in packs_here(ledger_now(reads)))
        facts = workshop.facts
        checks = tuple(
            CheckCard(
                check=one,
                minutes=minutes(one.minutes),
                found=answer_form(facts, build, facts.checks[one.check]).found,
                on_pack=of_pack(facts, facts.checks[one.check]),
                done=local_day(one.done_at, workshop.zone) if one.done_at else "",
                said=(said or {}).get(one.check, CheckSaid()),
                troubles=refused[1] if refused and refused[0] == one.check else None,
            )
            for one in sheet.checks
        )
        return cls(
            id=sheet.car,
            form_id=workshop.new_id(),
            done_id=workshop.new_id(),
            name=sheet.car_name,
            occasion=sheet.name,
            why=sheet.why,
            before=tuple(WorkCard.of(work) for work in sheet.before),
            checks=checks,
            after=tuple(WorkCard.of(work) for work in sheet.after),
            minutes=minutes(sheet.minutes),
            minutes_left=minutes(sheet.minutes_left),
            price=money(sheet.price),
            likely=money(sheet.likely),
            done=local_day(sheet.done_at, workshop.zone) if sheet.done_at else "",
            laid_up=sheet.occasion is Occasion.LAY_UP,
            learner=learner,
            packs=packs,
            dones=DID,
            source=sheet.key,
            troubles=refused[1] if refused and not refused[0] else None,
        )


@dataclass(frozen=True, slots=True)
class RestPage:
    """The form for a car put away or woken up."""

    id: UUID
    name: str
    waking: bool
    form: RestForm
    sheet: OneOffPage | None
    troubles: Troubles | None


async def posted(request: Request) -> FormData:
    return await request.form()


def read_id(form: FormData) -> UUID | None:
    """The identity the form was made with, None where it has none that can be read."""
    try:
        return UUID(str(form.get("id", "")))
    except ValueError:
        return None


@pages.get("/cars/{car_id}/arrive")
def arrive(request: Request, workshop: TheWorkshop, car_id: UUID, learner: bool = False) -> Response:
    name = name_of(workshop, car_id)
    page = OneOffPage.of(one_off_sheet(workshop, name), workshop, learner=learner)
    return show(request, "sheet/one_off.html", page, title=f"{name}: {page.occasion}", here="home")


@pages.post("/cars/{car_id}/arrive")
def answer(
    request: Request,
    workshop: TheWorkshop,
    car_id: UUID,
    form: Annotated[FormData, Depends(posted)],
) -> Response:
    """Many checks in one save; what nobody answered is left, or was OK where the button says so."""
    name, path = name_of(workshop, car_id), f"/cars/{car_id}/arrive"
    asked = list(dict.fromkeys(str(check) for check in form.getlist("check")))[:MOST_CHECKS]
    said = {check: CheckSaid.of(form, check) for check in asked}
    if str(form.get("rest", "")) == "ok":
        said = {check: one if one.found else replace(one, found=SOUND) for check, one in said.items()}
    entries: list[Entry] = []
    check = ""
    try:
        form_id = read_id(form) or workshop.new_id()
        for check, one in said.items():
            if one.found:
                word = one.found if one.found == SOUND or not one.done else f"{one.found}: {one.done}"
                id = derived(form_id, check)
                entries += draft_found(
                    workshop, FoundSaid(name, check, (word,), pack=one.pack, id=id)
                ).entries
        check = ""
        if not entries:
            raise BadInput("Nothing was answered, so nothing was saved.", "Say what you found, or OK.")
        keep_form(workshop, entries)
    except BadInput as refused:
        sheet = one_off_sheet(workshop, name)
        page = OneOffPage.of(sheet, workshop, said=said, refused=(check, Troubles.of(refused)))
        return show(
            request, "sheet/one_off.html", page, title=f"{name}: {page.occasion}", here="home", status=422
        )
    return to(path, note="kept", entries=tuple(entry.id for entry in entries))


@pages.post("/cars/{car_id}/arrive/done")
def worked_through(workshop: TheWorkshop, car_id: UUID, form: Annotated[NothingMore, Form()]) -> Response:
    draft = draft_sheet_done(workshop, name_of(workshop, car_id), id=form.id or workshop.new_id())
    keep_form(workshop, draft.entries)
    return to(f"/cars/{car_id}/arrive", note="kept", entries=(draft.entries[0].id,))


@pages.get("/cars/{car_id}/lay-up")
def ask_lay_up(request: Request, workshop: TheWorkshop, car_id: UUID) -> Response:
    return _show_rest(request, workshop, car_id, RestForm(id=workshop.new_id()), waking=False)


@pages.post("/cars/{car_id}/lay-up")
def log_lay_up(
    request: Request, workshop: TheWorkshop, car_id: UUID, form: Annotated[RestForm, Form()]
) -> Response:
    return _log_rest(request, workshop, car_id, form, waking=False)


@pages.get("/cars/{car_id}/wake-up")
def ask_wake_up(request: Request, workshop: TheWorkshop, car_id: UUID) -> Response:
    return _show_rest(request, workshop, car_id, RestForm(id=workshop.new_id()), waking=True)


@pages.post("/cars/{car_id}/wake-up")
def log_wake_up(
    request: Request, workshop: TheWorkshop, car_id: UUID, form: Annotated[RestForm, Form()]
) -> Response:
    return _log_rest(request, workshop, car_id, form, waking=True)


def _log_rest(
    request: Request, workshop: Workshop, car_id: UUID, form: RestForm, *, waking: bool
) -> Response:
    name = name_of(workshop, car_id)
    form = identified(workshop, form)
    if form.change:
        return _show_rest(request, workshop, car_id, form, waking=waking)
    draft_of = draft_wake_up if waking else draft_lay_up
    try:
        draft = draft_of(workshop, name, words=form.words, when=form.when, id=form.id)
        then = f"/cars/{car_id}/arrive" if waking else f"/cars/{car_id}"
        return saved(workshop, draft, then=then)
    except BadInput as refused:
        troubles = Troubles.of(refused)
        return _show_rest(request, workshop, car_id, form, waking=waking, troubles=troubles, status=422)


def _show_rest(
    request: Request,
    workshop: Workshop,
    car_id: UUID,
    form: RestForm,
    *,
    waking: bool,
    troubles: Troubles | None = None,
    status: int = 200,
) -> Response:
    name = name_of(workshop, car_id)
    sheet = None if waking else OneOffPage.of(one_off_sheet(workshop, name, Occasion.LAY_UP), workshop)
    page = RestPage(car_id, name, waking, form, sheet, troubles)
    title = f"Wake {name}" if waking else f"Put {name} away"
    return show(request, "sheet/rest.html", page, title=title, here="home", status=status)
