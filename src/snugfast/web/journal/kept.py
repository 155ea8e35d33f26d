"""“Save this?”: what a form would keep, told in full, before it is kept."""

from __future__ import annotations

import json
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Annotated, Any, Protocol, Self, TypeVar
from uuid import UUID

from fastapi import APIRouter, Form, Request
from fastapi.responses import Response
from pydantic import BaseModel

from snugfast.core.errors import BadInput
from snugfast.records.codec import canonical, entry_from_document, entry_to_document
from snugfast.records.shapes import shallow
from snugfast.usecases.journal.forms import keep_form, try_out, with_box
from snugfast.usecases.shared.draft import Draft
from snugfast.usecases.shared.workshop import Workshop
from snugfast.web.bench import TheWorkshop
from snugfast.web.showing import show, to

pages = APIRouter()
LONGEST_ENTRY = 400_000  # letters; a build of a few hundred places is a tenth of it
MOST_ENTRIES = 64
OWN_PATH = r"/(?!/)[!-\[\]-~]*"  # one slash, then printable ASCII without the backslash


class WithId(Protocol):
    """A form that carries the identity of the entry it becomes."""

    id: UUID | None

    def model_copy(self, *, update: Mapping[str, Any] | None = None) -> Self: ...


F = TypeVar("F", bound=WithId)


def identified(workshop: Workshop, form: F) -> F:
    """The form with an identity, so that a second tap of it is the same entry."""
    return form.model_copy(update={"id": form.id or workshop.new_id()})


class KeepForm(BaseModel):
    """The entries as they were echoed, and where to go then."""

    entry: list[str] = []
    then: str = "/"
    seen: str = ""


@dataclass(frozen=True, slots=True)
class Field:
    """A field of the form before, carried along so that it can be changed."""

    name: str
    value: str


@dataclass(frozen=True, slots=True)
class EchoPage:
    """What would be kept, told in full."""

    told: tuple[str, ...]
    warnings: tuple[str, ...]
    entries: tuple[str, ...]
    then: str
    seen: str
    change: str  # where the form is that this came from
    fields: tuple[Field, ...]


def echo(
    request: Request,
    workshop: Workshop,
    draft: Draft,
    *,
    form: BaseModel,
    change: str,
    then: str = "/",
    seen: int | None = None,
    warnings: Sequence[str] = (),
) -> Response:
    """Show what would be kept. Raises WrongData when the records forbid it."""
    try_out(workshop, draft.entries)
    draft = with_box(workshop, draft)
    page = EchoPage(
        told=draft.echo,
        warnings=tuple(warnings),
        entries=tuple(canonical(entry_to_document(entry)) for entry in draft.entries),
        then=then,
        seen="" if seen is None else str(seen),
        change=change,
        fields=tuple(_fields(form.model_dump())),
    )
    return show(request, "journal/echo.html", page, title="Save this?")


def with_id(draft: Draft, id: UUID) -> Draft:
    """The draft of one entry under the identity of its form, so that a second tap says the same."""
    (entry,) = draft.entries
    return Draft((replace(entry, id=id),), draft.echo)


def saved(workshop: Workshop, draft: Draft, *, then: str) -> Response:
    """Save what a form said and go on to a page that tells it, with Undo beside it.

    For what undo takes back whole. What lets a pack be used or charged, or changes much at once, is asked
    first (`echo`). Raises WrongData when the records forbid it.
    """
    keep_form(workshop, draft.entries)
    return to(_own_path(then), note="kept", entries=tuple(entry.id for entry in draft.entries))


@pages.post("/keep")
def keep(workshop: TheWorkshop, form: Annotated[KeepForm, Form()]) -> Response:
    if len(form.entry) > MOST_ENTRIES:
        raise BadInput("That is more than a form here can hold, so nothing was saved.", "Send less at once.")
    entries = [entry_from_document(_document(text)) for text in form.entry]
    if not entries:
        raise BadInput("There is nothing to save.", "Open the form again and send it from there.")
    keep_form(workshop, entries, seen=int(form.seen) if form.seen.isdecimal() else None)
    return to(_own_path(form.then), note="kept", entries=tuple(entry.id for entry in entries))


def _document(text: str) -> Any:
    try:
        if len(text) > LONGEST_ENTRY or not shallow(text):
            raise ValueError(text[:20])
        return json.loads(text)
    except (ValueError, RecursionError):
        raise BadInput(
            "The form could not be read, so nothing was saved.", "Open it again and send it from there."
        ) from None


def _own_path(path: str) -> str:
    """A path of these pages; anything else would lead people away from here.

    Browsers read a backslash as a slash and pass over tabs and line ends, so none of them may stand in it.
    """
    return path if re.fullmatch(OWN_PATH, path) else "/"


def _fields(values: Mapping[str, Any]) -> list[Field]:
    several = [
        (name, item)
        for name, value in values.items()
        for item in (value if isinstance(value, list) else [value])
    ]
    return [Field(name, str(item)) for name, item in several if item not in ("", None, False)]
