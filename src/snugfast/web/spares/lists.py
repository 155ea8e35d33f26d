"""What to carry to the next outing, what to buy now, and the plan of a day out."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated

from fastapi import APIRouter, Query, Request
from fastapi.responses import Response
from pydantic import BaseModel

from snugfast.exchange.box_lists import buy_csv, carry_csv
from snugfast.exchange.paper.spares import buy_leaf, carry_leaf, plan_leaf
from snugfast.usecases.shared.ledger import ledger_now
from snugfast.usecases.shared.lookup import cars_here
from snugfast.usecases.shared.workshop import Workshop
from snugfast.usecases.spares.buy import BuyList, buy_list
from snugfast.usecases.spares.carry import CarryList, CarrySaid, carry_list
from snugfast.usecases.spares.plan import DayPlan, PlanSaid, day_plan
from snugfast.web.bench import TheBench, TheWorkshop
from snugfast.web.figure_lines import RestsOn, rests_on
from snugfast.web.paper.page import as_pdf, link_to
from snugfast.web.showing import csv_file, show
from snugfast.web.troubles import Troubles, answered

pages = APIRouter(prefix="/box")


class CarryForm(BaseModel):
    """Which cars go, and what may be taken."""

    car: list[str] = []
    pieces: str = ""
    grams: str = ""
    litres: str = ""
    money: str = ""
    trip: str = ""
    packs: str = ""
    wet: str = ""

    def said(self) -> CarrySaid:
        said = self.model_dump(exclude={"car"})
        return CarrySaid(cars=tuple(self.car), **said)


class BuyForm(BaseModel):
    """For which cars, and with how much money."""

    car: list[str] = []
    money: str = ""


@dataclass(frozen=True, slots=True)
class CarryPage:
    """The list with boxes to tick, and the form that asked for it."""

    found: CarryList | None
    all_cars: tuple[str, ...]
    form: CarryForm
    query: str
    sources: tuple[RestsOn, ...]
    troubles: Troubles | None


@dataclass(frozen=True, slots=True)
class BuyPage:
    """What to buy, and the form that asked for it."""

    found: BuyList | None
    form: BuyForm
    query: str
    sources: tuple[RestsOn, ...]
    troubles: Troubles | None


@pages.get("/carry")
def carry(request: Request, workshop: TheWorkshop, form: Annotated[CarryForm, Query()]) -> Response:
    found, troubles, status = answered(lambda: carry_list(workshop, form.said()))
    page = CarryPage(
        found,
        _cars(workshop),
        form,
        request.url.query,
        rests_on(found.sources) if found else (),
        troubles,
    )
    return show(request, "spares/carry.html", page, title="Spares to carry", here="more", status=status)


@pages.get("/carry.csv")
def carry_list_csv(workshop: TheWorkshop, form: Annotated[CarryForm, Query()]) -> Response:
    return csv_file(carry_csv(carry_list(workshop, form.said())), "spares-to-carry")


@pages.get("/carry.pdf")
def carry_pdf(
    bench: TheBench, workshop: TheWorkshop, form: Annotated[CarryForm, Query()], paper: str = ""
) -> Response:
    leaf = carry_leaf(workshop, carry_list(workshop, form.said()), link_to(bench, "/box/carry"))
    return as_pdf(leaf, paper)


@pages.get("/buy")
def buy(request: Request, workshop: TheWorkshop, form: Annotated[BuyForm, Query()]) -> Response:
    found, troubles, status = answered(lambda: buy_list(workshop, form.money, form.car))
    sources = rests_on(found.sources) if found else ()
    page = BuyPage(found, form, request.url.query, sources, troubles)
    return show(request, "spares/buy.html", page, title="What to buy", here="more", status=status)


@pages.get("/buy.csv")
def buy_list_csv(workshop: TheWorkshop, form: Annotated[BuyForm, Query()]) -> Response:
    return csv_file(buy_csv(buy_list(workshop, form.money, form.car)), "to-buy")


@pages.get("/buy.pdf")
def buy_pdf(
    bench: TheBench, workshop: TheWorkshop, form: Annotated[BuyForm, Query()], paper: str = ""
) -> Response:
    leaf = buy_leaf(workshop, buy_list(workshop, form.money, form.car), link_to(bench, "/box/buy"))
    return as_pdf(leaf, paper)


class PlanForm(BaseModel):
    """Which cars go, for how long, into what."""

    car: list[str] = []
    packs: str = ""
    minutes: str = ""
    wet: str = ""
    ground: str = ""
    sheet: str = ""

    def said(self) -> PlanSaid:
        return PlanSaid(cars=tuple(self.car), **self.model_dump(exclude={"car"}))


@dataclass(frozen=True, slots=True)
class PlanPage:
    """The plan, and the form that asked for it."""

    plan: DayPlan | None
    all_cars: tuple[str, ...]
    form: PlanForm
    query: str
    sources: tuple[RestsOn, ...]
    troubles: Troubles | None


@pages.get("/plan")
def plan(request: Request, workshop: TheWorkshop, form: Annotated[PlanForm, Query()]) -> Response:
    made, troubles, status = answered(lambda: day_plan(workshop, form.said()))
    sources = rests_on(made.sources) if made else ()
    page = PlanPage(made, _cars(workshop), form, request.url.query, sources, troubles)
    return show(request, "spares/plan.html", page, title="Plan a day out", here="more", status=status)


@pages.get("/plan.pdf")
def plan_pdf(
    bench: TheBench, workshop: TheWorkshop, form: Annotated[PlanForm, Query()], paper: str = ""
) -> Response:
    leaf = plan_leaf(workshop, day_plan(workshop, form.said()), link_to(bench, "/box/plan"))
    return as_pdf(leaf, paper)


def _cars(workshop: Workshop) -> tuple[str, ...]:
    with workshop.store.reading() as reads:
        return tuple(car.name for car in cars_here(ledger_now(reads)))
