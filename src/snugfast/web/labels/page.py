"""Labels to print, and what a code on one opens."""

from __future__ import annotations

from dataclasses import dataclass

from fastapi import APIRouter, Request
from fastapi.responses import RedirectResponse, Response

from snugfast.core.errors import NotKnown
from snugfast.exchange.labels.sheet import LabelSheet, label_sheet, label_sheets, labels_pdf
from snugfast.exchange.labels.things import KINDS, labels_of, page_of
from snugfast.web.bench import TheBench, TheWorkshop
from snugfast.web.showing import show
from snugfast.web.troubles import Troubles

pages = APIRouter()


@dataclass(frozen=True, slots=True)
class LabelsPage:
    """What to print, and a code to type; `ready` once phones can open the pages."""

    kinds: tuple[str, ...]
    sheets: tuple[LabelSheet, ...]
    ready: bool
    address: str
    typed: str
    troubles: Troubles | None


@pages.get("/labels")
def labels(request: Request, bench: TheBench) -> Response:
    return _show(request, bench.house.address if bench.house else "")


@pages.get("/labels.pdf")
def pdf(
    bench: TheBench, workshop: TheWorkshop, kind: str = "packs", sheet: str = "a4-24", first: int = 1
) -> Response:
    made = labels_of(workshop, kind, bench.house.address if bench.house else "")
    return Response(
        labels_pdf(made, label_sheet(sheet), first=first),
        media_type="application/pdf",
        headers={"content-disposition": 'inline; filename="labels.pdf"'},
    )


@pages.get("/l")
def typed(request: Request, bench: TheBench, workshop: TheWorkshop, code: str = "") -> Response:
    """A code that was typed: its page, or the form again."""
    try:
        return RedirectResponse(page_of(workshop, code), status_code=303)
    except NotKnown as unknown:
        address = bench.house.address if bench.house else ""
        return _show(request, address, code, Troubles.of(unknown), 404)


@pages.get("/l/{code}")
def scanned(workshop: TheWorkshop, code: str) -> Response:
    return RedirectResponse(page_of(workshop, code), status_code=303)


def _show(
    request: Request, address: str, typed: str = "", troubles: Troubles | None = None, status: int = 200
) -> Response:
    page = LabelsPage(KINDS, tuple(label_sheets().values()), bool(address), address, typed, troubles)
    return show(request, "labels/labels.html", page, title="Labels", here="more", status=status)
