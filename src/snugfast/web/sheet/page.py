"""The bench sheet: asking for one, working through it, answering its checks."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Annotated
from uuid import UUID

from fastapi import APIRouter, Form, Query, Request
from fastapi.responses import RedirectResponse, Response

from snugfast.core.errors import BadInput, NotKnown
from snugfast.records.entries import Checked, Entry, TreatmentDone
from snugfast.records.standing import standing
from snugfast.usecases.bench.bench_sheet import bench_sheet
from snugfast.usecases.bench.sheet import Sheet
from snugfast.usecases.bench.treatments import TreatedSaid, draft_treated
from snugfast.usecases.journal.bench_answers import draft_found
from snugfast.usecases.journal.forms import keep_form
from snugfast.usecases.shared.ledger import ledger_now
from snugfast.usecases.shared.lookup import cars_here
from snugfast.usecases.shared.telling import tell
from snugfast.usecases.shared.workshop import Workshop
from snugfast.web.bench import TheBench, TheWorkshop
from snugfast.web.numbers import clock_time
from snugfast.web.outing.runs import GROUNDS as GROUNDS_SAID
from snugfast.web.outing.runs import WETS as WETS_SAID
from snugfast.web.outing.runs import Pairs
from snugfast.web.sheet.cards import Answered, Refused, SheetPage, anchor_of
from snugfast.web.sheet.form import AskForm, FoundForm, TreatedForm
from snugfast.web.showing import show, to
from snugfast.web.troubles import Troubles

pages = APIRouter()

AS_USUAL = ("", "as usual")
GROUNDS: Pairs = (AS_USUAL, *GROUNDS_SAID[1:])
WETS: Pairs = (AS_USUAL, *WETS_SAID)


@dataclass(frozen=True, slots=True)
class AskPage:
    """The form that asks for a sheet."""

    form: AskForm
    cars: tuple[str, ...]
    grounds: Pairs
    wets: Pairs
    troubles: Troubles | None


@pages.get("/sheet")
def ask(
    request: Request, bench: TheBench, workshop: TheWorkshop, form: Annotated[AskForm, Query()]
) -> Response:
    if not form.make:
        return _show_ask(request, workshop, form)
    try:
        sheet = bench_sheet(workshop, form.asked())
    except BadInput as refused:
        return _show_ask(request, workshop, form, Troubles.of(refused), 422)
    key = workshop.new_id()
    bench.shelf.put(key, sheet)
    return RedirectResponse(f"/sheets/{key}?{form.query}", status_code=303)


@pages.get("/sheets/{sheet_id}")
def work(
    request: Request,
    bench: TheBench,
    workshop: TheWorkshop,
    sheet_id: UUID,
    form: Annotated[AskForm, Query()],
    open: str = "",
    at: str = "",
) -> Response:
    sheet = bench.shelf.get(sheet_id)
    if sheet is None:  # the server was started again: the same question gives a new sheet
        return RedirectResponse(f"/sheet?{form.query}&make=again", status_code=303)
    page = SheetPage.of(
        sheet,
        workshop,
        id=sheet_id,
        ask=form,
        answers=_answers(workshop, sheet),
        at=at,
        all_open=open == "all",
    )
    return show(request, "sheet/sheet.html", page, title=_title(sheet), here="sheet")


@pages.post("/sheets/{sheet_id}")
def answer(
    request: Request,
    bench: TheBench,
    workshop: TheWorkshop,
    sheet_id: UUID,
    ask: Annotated[AskForm, Query()],
    form: Annotated[FoundForm, Form()],
) -> Response:
    sheet = bench.shelf.get(sheet_id)
    if sheet is None:
        raise NotKnown("This sheet is no longer here, so nothing was kept.", "See: snugfast sheet")
    check = next((check for check in sheet.checks if check.key == form.key), None)
    if check is None:
        raise NotKnown("This check is not on the sheet, so nothing was kept.", "See: snugfast sheet")
    try:
        draft = draft_found(workshop, form.said(check, form.id or workshop.new_id()))
        keep_form(workshop, draft.entries)
    except BadInput as refused:
        answers = _answers(workshop, sheet)
        said = Refused(check.key, form, Troubles.of(refused))
        page = SheetPage.of(sheet, workshop, id=sheet_id, ask=ask, answers=answers, refused=said)
        return show(request, "sheet/sheet.html", page, title=_title(sheet), here="sheet", status=422)
    answers = _answers(workshop, sheet)
    ahead = [n for n, one in enumerate(sheet.checks, 1) if one.key not in answers]
    here = next(n for n, one in enumerate(sheet.checks, 1) if one.key == check.key)
    if not ahead:
        return to(f"/sheets/{sheet_id}?{ask.query}#done")
    further = next((n for n in ahead if n > here), ahead[0])
    return to(f"/sheets/{sheet_id}?{ask.query}&at={further}#{anchor_of(further)}")


@pages.post("/sheets/{sheet_id}/treated")
def treated(
    workshop: TheWorkshop,
    sheet_id: UUID,
    ask: Annotated[AskForm, Query()],
    form: Annotated[TreatedForm, Form()],
) -> Response:
    draft = draft_treated(workshop, TreatedSaid(form.car, form.treatment, id=form.id or workshop.new_id()))
    keep_form(workshop, draft.entries)
    return to(f"/sheets/{sheet_id}?{ask.query}", note="kept", entries=(draft.entries[0].id,))


def _title(sheet: Sheet) -> str:
    names = ", ".join(car.name for car in sheet.cars)
    return f"Bench sheet: {names}" if names else "Bench sheet"


def _answers(workshop: Workshop, sheet: Sheet) -> Mapping[str, Answered]:
    """What was answered since the sheet was made, by the key of the check."""
    with workshop.store.reading() as reads:
        ledger = ledger_now(reads)
        since = {
            row.entry.id: row.entry
            for car in sheet.cars
            for row in reads.entries_after(sheet.position, car.id)
        }
    told = {}
    for entry in standing(since.values()).entries:
        if isinstance(entry.fact, Checked | TreatmentDone) and entry.recorded_at >= sheet.made_at:
            answered = Answered(
                entry=entry.id,
                words=_answer_words(tell(entry, workshop.facts, ledger)),
                at=clock_time(entry.recorded_at, workshop.zone),
            )
            told.update(dict.fromkeys(_keys(entry), answered))
    return told


def _keys(entry: Entry) -> tuple[str, ...]:
    """Under what a sheet knows what an entry answers: as `SheetCheck.key` and `DueTreatment.key` are made.

    A check of the car that looked at a pack as well names that pack and is the car's all the same.
    """
    fact = entry.fact
    if isinstance(fact, TreatmentDone):
        return (f"{fact.car}/{fact.treatment}",)
    assert isinstance(fact, Checked)
    own = f"{fact.car}/{fact.check}"
    return (f"{own}/{fact.pack}", own) if fact.pack else (own,)


def _answer_words(told: str) -> str:
    """The end of the sentence that tells an answer: what was found."""
    return told.rsplit(": ", 1)[-1].rstrip(".")


def _show_ask(
    request: Request,
    workshop: Workshop,
    form: AskForm,
    troubles: Troubles | None = None,
    status: int = 200,
) -> Response:
    with workshop.store.reading() as reads:
        cars = tuple(car.name for car in cars_here(ledger_now(reads)))
    page = AskPage(form, cars, GROUNDS, WETS, troubles)
    return show(request, "sheet/ask.html", page, title="Bench sheet", here="sheet", status=status)
