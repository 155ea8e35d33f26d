"""Bearings of one car or of all: the order list, life on paper, heat when one seizes."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated, Self

from fastapi import APIRouter, Query, Request
from fastapi.responses import Response
from pydantic import BaseModel

from snugfast.core.errors import SnugfastError
from snugfast.usecases.mechanics.bearing_list import (
    HUM_ADVICE,
    BearingList,
    BearingsSaid,
    OrderLine,
    bearing_list,
)
from snugfast.usecases.shared.cautions import Caution
from snugfast.usecases.shared.citing import tell_figure
from snugfast.web.bench import TheWorkshop
from snugfast.web.figure_lines import RestsOn, rests_on
from snugfast.web.numbers import money
from snugfast.web.showing import show
from snugfast.web.troubles import Troubles

pages = APIRouter()


class BearingsForm(BaseModel):
    """Which cars, and how hard they work, as it is typed."""

    car: list[str] = []
    load: str = ""
    speed: str = ""
    drag: str = ""
    air: str = ""


@dataclass(frozen=True, slots=True)
class Order:
    """One kind to order."""

    count: int
    size: str
    seal: str
    price: str
    where: tuple[str, ...]

    @classmethod
    def of(cls, line: OrderLine) -> Self:
        price = money(line.price) if line.price is not None else ""
        return cls(line.count, line.size, line.seal, price, line.where)


@dataclass(frozen=True, slots=True)
class Life:
    """Life on paper of one size."""

    size: str
    sentence: str
    rating: str


@dataclass(frozen=True, slots=True)
class Heat:
    """What a seized bearing does to the plastic around it."""

    where: str
    sentence: str
    limits: str


@dataclass(frozen=True, slots=True)
class BearingsPage:
    """The bearings of some cars; empty when what was typed could not be used."""

    form: BearingsForm
    cars: str
    order: tuple[Order, ...]
    worked: str
    lives: tuple[Life, ...]
    heats: tuple[Heat, ...]
    hums: tuple[tuple[str, str], ...]
    hum_advice: str
    advice: tuple[str, ...]
    cautions: tuple[Caution, ...]
    sources: tuple[RestsOn, ...]
    troubles: Troubles | None

    @classmethod
    def of(cls, form: BearingsForm, listed: BearingList) -> Self:
        return cls(
            form=form,
            cars=", ".join(listed.cars) or "no car yet",
            order=tuple(Order.of(line) for line in listed.order),
            worked=f"{tell_figure(listed.load)} on each bearing, the car at {tell_figure(listed.speed)}",
            lives=tuple(
                Life(
                    life.size,
                    life.sentence,
                    f"{tell_figure(life.rating)}, by {life.least_from} to {life.most_from}"
                    if life.rating is not None
                    else "",
                )
                for life in listed.lives
            ),
            heats=tuple(
                Heat(
                    f"{heat.car}, {heat.name}, in {heat.material}",
                    heat.sentence,
                    f"drag {tell_figure(heat.torque, 2)}; kept below {tell_figure(heat.keep_below)}, "
                    f"it softens from {tell_figure(heat.softening_torque, 2)}",
                )
                for heat in listed.heat
            ),
            hums=tuple((f"{hum.car}, {hum.name}, {hum.size}", hum.sentence) for hum in listed.hums),
            hum_advice=f"Worked at {tell_figure(listed.speed)}. {HUM_ADVICE}",
            advice=listed.advice,
            cautions=listed.cautions,
            sources=rests_on(listed.sources),
            troubles=None,
        )


@pages.get("/bearings")
def bearings(request: Request, workshop: TheWorkshop, form: Annotated[BearingsForm, Query()]) -> Response:
    status = 200
    said = BearingsSaid(tuple(form.car), form.load, form.speed, form.drag, form.air)
    try:
        page = BearingsPage.of(form, bearing_list(workshop, said))
    except SnugfastError as refused:
        page = BearingsPage(form, "", (), "", (), (), (), "", (), (), (), Troubles.of(refused))
        status = 422
    return show(request, "mechanics/bearings.html", page, title="Bearings", here="home", status=status)
