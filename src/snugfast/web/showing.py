"""From a page class and its template to an answer."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any
from uuid import UUID

from fastapi import Request
from fastapi.responses import HTMLResponse, RedirectResponse, Response
from jinja2 import Environment, FileSystemLoader, StrictUndefined

from snugfast import __version__
from snugfast.core.spelling import bare, respell_page, unit
from snugfast.usecases.shared.ledger import ledger_now
from snugfast.usecases.shared.telling import tell
from snugfast.usecases.shared.workshop import Workshop
from snugfast.web import numbers
from snugfast.web.bench import Bench
from snugfast.web.drawings import DRAWN

HERE = Path(__file__).resolve().parent
SIGNED_OUT = "snugfast.signed_out"  # set by the door, before any page is asked
BEFORE = "Answered before, so what you sent for it was not saved"
NOTES = {"kept": "Saved", "back": "Undone", "again": "Redone", "before": BEFORE}


@dataclass(frozen=True, slots=True)
class Note:
    """What the last form did, said on the page it leads to."""

    kind: str
    head: str
    told: tuple[str, ...]
    entry: UUID | None


@dataclass(frozen=True, slots=True)
class Frame:
    """What every page has around it."""

    title: str
    here: str  # which entry of the menu this page belongs to
    note: Note | None
    read_only: bool
    workshop: bool  # whether there is one yet
    version: str = __version__


@cache
def templates() -> Environment:
    """The templates. Undefined names fail, and all that is shown is escaped."""
    environment = Environment(
        loader=FileSystemLoader(HERE),
        undefined=StrictUndefined,
        autoescape=True,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    for name in ("plain", "percent", "minutes", "short_time", "money", "money_range", "count", "capital"):
        environment.filters[name] = getattr(numbers, name)
    environment.globals["drawn"] = DRAWN
    environment.globals["unit"] = unit
    environment.filters["bare"] = bare
    return environment


def show(
    request: Request, template: str, page: Any, *, title: str, here: str = "", status: int = 200
) -> HTMLResponse:
    """The page as HTML. `page` is the frozen class that the template is written for."""
    bench: Bench = request.app.state.bench
    signed_out = is_signed_out(request)
    frame = Frame(
        title=title,
        here=here,
        note=None if signed_out else _note(request, bench),
        read_only=bench.read_only,
        workshop=template != "settings/first_start.html" and not signed_out,
    )
    html = templates().get_template(template).render(page=page, frame=frame)
    return HTMLResponse(respell_page(html), status)


def is_signed_out(request: Request) -> bool:
    """Whether who asks has not come in yet: nothing of the workshop is shown to them."""
    return bool(request.scope.get(SIGNED_OUT))


def to(path: str, *, note: str = "", entries: tuple[UUID, ...] = ()) -> RedirectResponse:
    """Go on to another page after a form; it says what was done."""
    if note and entries:
        address, hash_, fragment = path.partition("#")
        mark = "&" if "?" in address else "?"
        path = f"{address}{mark}{note}={','.join(map(str, entries))}{hash_}{fragment}"
    return RedirectResponse(path, status_code=303)


def _note(request: Request, bench: Bench) -> Note | None:
    for kind, head in NOTES.items():
        if said := request.query_params.get(kind):
            told, entry = _told(bench.workshop(), said, by=kind == "before")
            return Note(kind, head, told, entry) if told else None
    return None


def _told(workshop: Workshop, said: str, *, by: bool) -> tuple[tuple[str, ...], UUID | None]:
    try:
        ids = [UUID(text) for text in said.split(",")[:8]]
    except ValueError:
        return (), None
    with workshop.store.reading() as reads:
        ledger = ledger_now(reads)
        rows = reads.entries_with(ids)
        names = {person.id: person.name or "somebody" for person in reads.people()}
    told = tuple(
        f"{tell(row.entry, workshop.facts, ledger)}{f' ({names.get(row.entry.author)})' if by else ''}"
        for row in rows
    )
    return told, rows[0].entry.id if rows else None


def csv_file(data: bytes, name: str) -> Response:
    """A list to open in a spreadsheet."""
    return Response(
        data,
        media_type="text/csv; charset=utf-8",
        headers={"content-disposition": f'attachment; filename="{name}.csv"'},
    )
