"""A car that comes or goes: its one-off sheet, putting it away, waking it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated, Self
from uuid import UUID

from fastapi import APIRouter, Form, Request
from fastapi.responses import Response
from pydantic import BaseModel

from snugfast.core.errors import BadInput
from snugfast.facts.model import Occasion
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
from snugfast.web.journal.kept import echo
from snugfast.web.numbers import count, day, minutes, money
from snugfast.web.sheet.round_form import DID
from snugfast.web.showing import show, to
from snugfast.web.troubles import Troubles

pages = APIRouter()


class AnswerForm(BaseModel):
    """The answer to one check of the sheet."""

    id: UUID | None = None
    check: str = ""
    found: str = SOUND
    done: str = ""
    pack: str = ""


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

    form_id: UUID
    check: OneOffCheck
    minutes: str
    found: tuple[Group, ...]
    on_pack: bool
    done: str
    troubles: Troubles | None


@dataclass(frozen=True, slots=True)
class OneOffPage:
    """The whole sheet."""

    id: UUID
    form_id: UUID
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

    @classmethod
    def of(
        cls,
        sheet: OneOff,
        workshop: Workshop,
        *,
        learner: bool = False,
        refused: tuple[str, Troubles] | None = None,
    ) -> Self:
        _, build = car_and_build(workshop, sheet.car_name)
        with workshop.store.reading() as reads:
            packs = tuple(pack.name for pack in packs_here(ledger_now(reads)))
        facts = workshop.facts
        checks = tuple(
            CheckCard(
                form_id=workshop.new_id(),
                check=one,
                minutes=minutes(one.minutes),
                found=answer_form(facts, build, facts.checks[one.check]).found,
                on_pack=of_pack(facts, facts.checks[one.check]),
                done=day(one.done_at, workshop.zone) if one.done_at else "",
                troubles=refused[1] if refused and refused[0] == one.check else None,
            )
            for one in sheet.checks
        )
        return cls(
            id=sheet.car,
            form_id=workshop.new_id(),
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
            done=day(sheet.done_at, workshop.zone) if sheet.done_at else "",
            laid_up=sheet.occasion is Occasion.LAY_UP,
            learner=learner,
            packs=packs,
            dones=DID,
            source=sheet.key,
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


@pages.get("/cars/{car_id}/arrive")
def arrive(request: Request, workshop: TheWorkshop, car_id: UUID, learner: bool = False) -> Response:
    name = name_of(workshop, car_id)
    page = OneOffPage.of(one_off_sheet(workshop, name), workshop, learner=learner)
    return show(request, "sheet/one_off.html", page, title=f"{name}: {page.occasion}", here="home")


@pages.post("/cars/{car_id}/arrive")
def answer(
    request: Request, workshop: TheWorkshop, car_id: UUID, form: Annotated[AnswerForm, Form()]
) -> Response:
    name, path = name_of(workshop, car_id), f"/cars/{car_id}/arrive"
    word = form.found if form.found == SOUND or not form.done else f"{form.found}: {form.done}"
    said = FoundSaid(name, form.check, (word,), pack=form.pack, id=form.id or workshop.new_id())
    try:
        draft = draft_found(workshop, said)
        keep_form(workshop, draft.entries)
    except BadInput as refused:
        sheet = one_off_sheet(workshop, name)
        page = OneOffPage.of(sheet, workshop, refused=(form.check, Troubles.of(refused)))
        return show(
            request, "sheet/one_off.html", page, title=f"{name}: {page.occasion}", here="home", status=422
        )
    return to(f"{path}#{form.check}", note="kept", entries=(draft.entries[0].id,))


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
    form = form.model_copy(update={"id": form.id or workshop.new_id()})
    if form.change:
        return _show_rest(request, workshop, car_id, form, waking=waking)
    draft_of, path = (draft_wake_up, "wake-up") if waking else (draft_lay_up, "lay-up")
    try:
        draft = draft_of(workshop, name, words=form.words, when=form.when, id=form.id)
        then = f"/cars/{car_id}/arrive" if waking else f"/cars/{car_id}"
        return echo(request, workshop, draft, form=form, change=f"/cars/{car_id}/{path}", then=then)
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
