"""The field sheet to take along, and its notes coming home: pasted, as a file, or as photographs of codes."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated

from fastapi import APIRouter, Form, Query, Request, UploadFile
from fastapi.responses import Response

from snugfast.core.errors import BadInput
from snugfast.exchange.field_sheet.make import field_sheet
from snugfast.exchange.notes_files import notes_in
from snugfast.usecases.field.notes import NotesTakenIn, take_in_notes
from snugfast.web.bench import TheBench, TheWorkshop
from snugfast.web.sheet.form import AskForm
from snugfast.web.showing import show
from snugfast.web.troubles import Troubles

pages = APIRouter(prefix="/field")


@dataclass(frozen=True, slots=True)
class NotesPage:
    """The form, what was wrong, or what came of it."""

    typed: str
    done: NotesTakenIn | None
    troubles: Troubles | None


@pages.get("/sheet.html")
def sheet(workshop: TheWorkshop, form: Annotated[AskForm, Query()]) -> Response:
    """The file, to be saved on the phone and opened from its files."""
    return Response(
        field_sheet(workshop, form.asked()),
        media_type="text/html; charset=utf-8",
        headers={"content-disposition": 'attachment; filename="field-sheet.html"'},
    )


@pages.get("/notes")
def ask(request: Request) -> Response:
    return _show(request, NotesPage("", None, None))


@pages.post("/notes")
def take_in(
    request: Request,
    bench: TheBench,
    workshop: TheWorkshop,
    notes: Annotated[str, Form()] = "",
    files: Annotated[list[UploadFile] | None, Form()] = None,
) -> Response:
    try:
        texts = [notes, *(notes_in(data) for one in files or () if (data := one.file.read()))]
        done = take_in_notes(workshop, "\n".join(texts))
    except BadInput as refused:
        return _show(request, NotesPage(notes, None, Troubles.of(refused)), 422)
    return _show(request, NotesPage("", done, None))


def _show(request: Request, page: NotesPage, status: int = 200) -> Response:
    return show(request, "field/notes.html", page, title="Field notes", here="run", status=status)
