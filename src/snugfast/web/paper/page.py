"""Every list on paper: a PDF, A4 or Letter."""

from __future__ import annotations

from typing import Annotated
from uuid import UUID

from fastapi import APIRouter, Query
from fastapi.responses import RedirectResponse, Response

from snugfast.exchange.paper.leaf import Leaf, PaperSize, pdf_of
from snugfast.exchange.paper.lists import kit_leaf, outing_leaf, set_up_leaf, shelf_leaf, wet_leaf
from snugfast.exchange.paper.sheet import sheet_leaf
from snugfast.web.bench import Bench, TheBench, TheWorkshop
from snugfast.web.cars.one_car import one_car
from snugfast.web.sheet.form import AskForm

pages = APIRouter(prefix="/paper")


@pages.get("/sheets/{sheet_id}")
def sheet(
    bench: TheBench,
    workshop: TheWorkshop,
    sheet_id: UUID,
    form: Annotated[AskForm, Query()],
    paper: str = "",
) -> Response:
    """The sheet that is being worked through; its code opens the very same."""
    held = bench.shelf.get(sheet_id)
    if held is None:  # the server was started again
        return RedirectResponse(form.to_make, status_code=303)
    link = link_to(bench, f"/sheets/{sheet_id}?{form.query}")
    return as_pdf(sheet_leaf(workshop, held, link=link, mark=str(sheet_id)[-6:].upper()), paper)


@pages.get("/packs")
def packs(bench: TheBench, workshop: TheWorkshop, paper: str = "") -> Response:
    return as_pdf(shelf_leaf(workshop, link_to(bench, "/packs")), paper)


@pages.get("/wet")
def wet(bench: TheBench, workshop: TheWorkshop, paper: str = "") -> Response:
    return as_pdf(wet_leaf(workshop, link_to(bench, "/")), paper)


@pages.get("/outing")
def outing(bench: TheBench, workshop: TheWorkshop, paper: str = "") -> Response:
    return as_pdf(outing_leaf(workshop, link_to(bench, "/outing")), paper)


@pages.get("/setup/{car_id}")
def set_up(bench: TheBench, workshop: TheWorkshop, car_id: UUID, paper: str = "") -> Response:
    car, _ = one_car(workshop, car_id)
    return as_pdf(set_up_leaf(workshop, car.name, link_to(bench, f"/cars/{car_id}/setup")), paper)


@pages.get("/kit")
def kit(
    bench: TheBench,
    workshop: TheWorkshop,
    car: Annotated[list[str] | None, Query()] = None,
    paper: str = "",
) -> Response:
    return as_pdf(kit_leaf(workshop, car or (), link_to(bench, "/kit")), paper)


def link_to(bench: Bench, path: str) -> str:
    """What a phone opens; nothing while phones cannot."""
    return f"{bench.house.address}{path}" if bench.house else ""


def as_pdf(leaf: Leaf, paper: str) -> Response:
    """A leaf as an answer that opens in the browser."""
    name = "-".join("".join(c if c.isalnum() else " " for c in leaf.title.lower()).split())
    return Response(
        pdf_of(leaf, PaperSize.called(paper)),
        media_type="application/pdf",
        headers={"content-disposition": f'inline; filename="{name.encode("ascii", "ignore").decode()}.pdf"'},
    )
