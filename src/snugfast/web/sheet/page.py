"""The bench sheet: asking for one, working through it, answering its checks."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Annotated
from urllib.parse import quote
from uuid import UUID

from fastapi import APIRouter, Depends, Form, Query, Request
from fastapi.responses import RedirectResponse, Response
from starlette.datastructures import FormData

from snugfast.core.errors import BadInput, NotKnown
from snugfast.core.ids import derived
from snugfast.core.ways_out import Action, WayOut
from snugfast.records.entries import Checked, Entry, SheetDone, TreatmentDone
from snugfast.records.standing import standing
from snugfast.usecases.bench.bench_sheet import bench_sheet
from snugfast.usecases.bench.fix_first import FixJob
from snugfast.usecases.bench.sheet import Line, Sheet
from snugfast.usecases.bench.shown import planned_min, shown_of
from snugfast.usecases.bench.treatments import TreatedSaid, draft_treated
from snugfast.usecases.journal.bench_answers import draft_found
from snugfast.usecases.journal.forms import keep_form
from snugfast.usecases.journal.keeping import withdraw
from snugfast.usecases.shared.ledger import ledger_now
from snugfast.usecases.shared.lookup import cars_here
from snugfast.usecases.shared.telling import tell
from snugfast.usecases.shared.workshop import Workshop
from snugfast.web.bench import Bench, TheBench, TheWorkshop
from snugfast.web.outing.runs import GROUNDS as GROUNDS_SAID
from snugfast.web.outing.runs import WETS as WETS_SAID
from snugfast.web.outing.runs import Pairs
from snugfast.web.sheet.cards import Answered, Refused, SheetPage, key_of, offered_to
from snugfast.web.sheet.fixing import FixForm, answers_a_job, fixed
from snugfast.web.sheet.form import AskForm, TreatedForm, UndoForm
from snugfast.web.sheet.round_form import LineSaid, LineUnclear, answers_of_line
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
        asked = form.asked()
        sheet = bench.memo.once(workshop, ("sheet", form.query), lambda: bench_sheet(workshop, asked))
    except BadInput as refused:
        return _show_ask(request, workshop, form, Troubles.of(refused), 422)
    key = workshop.new_id()
    bench.shelf.put(key, sheet)
    done = f"&kept={quote(form.kept)}" if form.kept else ""
    return RedirectResponse(f"/sheets/{key}?{form.query}{done}", status_code=303)


@pages.get("/sheets/{sheet_id}")
def work(
    request: Request,
    bench: TheBench,
    workshop: TheWorkshop,
    sheet_id: UUID,
    form: Annotated[AskForm, Query()],
    open: str = "",
) -> Response:
    sheet = bench.shelf.get(sheet_id)
    if sheet is None:  # the server was started again
        return RedirectResponse(form.to_make, status_code=303)
    page = SheetPage.of(
        sheet, workshop, id=sheet_id, ask=form, answers=_answers(workshop, sheet), all_open=open == "all"
    )
    return show(request, "sheet/sheet.html", page, title=page.title, here="sheet")


async def _posted(request: Request) -> FormData:
    return await request.form()


@pages.post("/sheets/{sheet_id}/rounds/{key}")
def answer_round(
    request: Request,
    bench: TheBench,
    workshop: TheWorkshop,
    sheet_id: UUID,
    key: str,
    ask: Annotated[AskForm, Query()],
    form: Annotated[FormData, Depends(_posted)],
) -> Response:
    """Every line of a round answered at once; a second tap says the same and keeps nothing twice."""
    sheet = _the_sheet(bench, sheet_id)
    held = next((one for one in sheet.rounds if key_of(one) == key), None)
    if held is None:
        raise NotKnown(
            "This round is not on the sheet, so nothing was saved.", WayOut("Make a sheet", Action.SEE_SHEET)
        )
    answered = _answers(workshop, sheet)
    still = [line for line in sheet.lines if any(check.key not in answered for check in line.checks)]
    said = {line.number: LineSaid.of(form, line.number) for line in still}
    lines = [line for line in held.lines if line in still]
    # Without script all rounds are one form: what was ticked elsewhere comes along, and is saved as it is.
    others = [
        line for line in still if line not in lines and (said[line.number].ok or said[line.number].found)
    ]
    try:
        form_id = _form_id(form)
        entries = _entries(workshop, lines, said, rest=str(form.get("rest", "")), form_id=form_id)
        entries += _entries(workshop, others, said, rest="", form_id=form_id)
        if entries:
            done = _sheet_done(workshop, sheet, (*held.lines, *others), answered, entries)
            keep_form(workshop, (*entries, *done))
    except BadInput as refused:
        line = refused.number if isinstance(refused, LineUnclear) else 0
        key = next((key_of(one) for one in sheet.rounds for each in one.lines if each.number == line), key)
        page = SheetPage.of(
            sheet,
            workshop,
            id=sheet_id,
            ask=ask,
            answers=answered,
            refused=Refused(key, said, line, Troubles.of(refused)),
        )
        return show(request, "sheet/sheet.html", page, title=page.title, here="sheet", status=422)
    page = SheetPage.of(sheet, workshop, id=sheet_id, ask=ask, answers=_answers(workshop, sheet))
    before = _answered_elsewhere(held.lines, answered, form, _form_id(form))
    return to(f"/sheets/{sheet_id}?{ask.query}#{page.next_anchor}", note="before", entries=before)


def _answered_elsewhere(
    lines: Iterable[Line], answered: Mapping[str, Answered], form: FormData, form_id: UUID
) -> tuple[UUID, ...]:
    """Answers that stood before this form came and that it answers once more: another hand, another phone."""
    again = []
    for line in lines:
        said = LineSaid.of(form, line.number)
        if (said.ok or said.found) and all(check.key in answered for check in line.checks):
            again += [
                answered[check.key].entry
                for check in line.checks
                if answered[check.key].entry != derived(form_id, check.key)
            ]
    return tuple(dict.fromkeys(again))


def _form_id(form: FormData) -> UUID:
    try:
        return UUID(str(form.get("id", "")))
    except ValueError:
        raise BadInput(
            "The form could not be read, so nothing was saved.",
            "Open the sheet again and send it from there.",
        ) from None


def _entries(
    workshop: Workshop, lines: Iterable[Line], said: Mapping[int, LineSaid], *, rest: str, form_id: UUID
) -> list[Entry]:
    with workshop.store.reading() as reads:
        cars = ledger_now(reads).cars
    entries: list[Entry] = []
    for line in lines:
        build = workshop.build(cars[line.check.car].build)
        offered = offered_to(workshop.facts, build, line.check)
        for one in answers_of_line(line, said[line.number], offered, rest=rest, form_id=form_id):
            entries += draft_found(workshop, one).entries
    if not entries and lines:
        raise BadInput("Nothing was ticked, so nothing was saved.", "Say what the other lines are.")
    return entries


def _sheet_done(
    workshop: Workshop,
    sheet: Sheet,
    here: Sequence[Line],
    answered: Mapping[str, Answered],
    entries: Sequence[Entry],
) -> Iterable[Entry]:
    """The entry that the sheet is done, when this round is the last that was open."""
    elsewhere = (line for line in sheet.lines if line not in here)
    if all(check.key in answered for line in elsewhere for check in line.checks):
        cars = tuple(car.id for car in sheet.cars)
        with workshop.store.reading() as reads:
            planned = planned_min(shown_of(sheet), ledger_now(reads))
        skipped = any(not answer.looked for answer in answered.values()) or any(
            isinstance(entry.fact, Checked) and not entry.fact.looked for entry in entries
        )
        done = SheetDone(cars, sheet.made_at, sheet.asked.minutes, None if skipped else planned)
        yield workshop.entry(done, id=derived(entries[0].id, "sheet done"))


def _the_sheet(bench: Bench, sheet_id: UUID) -> Sheet:
    sheet = bench.shelf.get(sheet_id)
    if sheet is None:
        raise NotKnown(
            "This sheet is no longer here, so nothing was saved.", WayOut("Make a sheet", Action.SEE_SHEET)
        )
    return sheet


@pages.post("/sheets/{sheet_id}/undo")
def undo(
    workshop: TheWorkshop,
    sheet_id: UUID,
    ask: Annotated[AskForm, Query()],
    form: Annotated[UndoForm, Form()],
) -> Response:
    """Take the answers of a line back; the line is open again."""
    for entry in form.entry:
        withdraw(workshop, entry, "")
    return to(f"/sheets/{sheet_id}?{ask.query}#r-{quote(form.round)}")


@pages.post("/sheets/{sheet_id}/fixed")
def fix(
    bench: TheBench,
    workshop: TheWorkshop,
    sheet_id: UUID,
    ask: Annotated[AskForm, Query()],
    form: Annotated[FixForm, Form()],
) -> Response:
    """A known defect fixed, or its part replaced."""
    sheet = _the_sheet(bench, sheet_id)
    job = next((one for one in sheet.fix_first if one.key == form.key), None)
    if job is None:
        raise NotKnown(
            "This job is not on the sheet, so nothing was saved.", WayOut("Make a sheet", Action.SEE_SHEET)
        )
    with workshop.store.reading() as reads:
        ledger = ledger_now(reads)
    said = fixed(job, form.did, workshop.facts, workshop, ledger, form.id or workshop.new_id())
    keep_form(workshop, draft_found(workshop, said).entries)
    return to(f"/sheets/{sheet_id}?{ask.query}#fix")


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


def _answers(workshop: Workshop, sheet: Sheet) -> Mapping[str, Answered]:
    """What was answered since the sheet was made, by the key of the check."""
    with workshop.store.reading() as reads:
        ledger = ledger_now(reads)
        since = {
            row.entry.id: row.entry
            for car in sheet.cars
            for row in reads.entries_after(sheet.position, car.id)
        }
        names = {person.id: person.name or "somebody" for person in reads.people()}
    told = {}
    jobs = _jobs(sheet)
    for entry in standing(since.values()).entries:
        if isinstance(entry.fact, Checked) and answers_a_job(entry.fact, jobs):
            continue
        if isinstance(entry.fact, Checked | TreatmentDone) and entry.recorded_at >= sheet.made_at:
            answered = Answered(
                entry=entry.id,
                words=_answer_words(tell(entry, workshop.facts, ledger)),
                found=isinstance(entry.fact, Checked) and bool(entry.fact.answers),
                looked=not isinstance(entry.fact, Checked) or entry.fact.looked,
                by=names.get(entry.author, "somebody") if entry.author != workshop.author else "",
            )
            told.update(dict.fromkeys(_keys(entry), answered))
    return told


def _jobs(sheet: Sheet) -> Mapping[tuple[UUID, str], tuple[FixJob, ...]]:
    """The jobs of a sheet by car and check."""
    held: dict[tuple[UUID, str], tuple[FixJob, ...]] = {}
    for job in sheet.fix_first:
        held[job.car, job.check] = (*held.get((job.car, job.check), ()), job)
    return held


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
