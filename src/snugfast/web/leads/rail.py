"""Can this servo reset this receiver? The answer, a picture of the volts, a trial, what helps."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated, Self
from uuid import UUID

from fastapi import APIRouter, Query, Request
from fastapi.responses import Response
from markupsafe import Markup
from pydantic import BaseModel

from snugfast.core.errors import SnugfastError
from snugfast.usecases.leads.rail import Rail, RailSaid, moments_with_rest, rail_of
from snugfast.usecases.leads.tables import high_of, low_of
from snugfast.usecases.shared.citing import tell_figure, tell_to
from snugfast.web.bench import TheWorkshop
from snugfast.web.cars.one_car import one_car
from snugfast.web.figure_lines import Pairs, RestsOn, rests_on
from snugfast.web.range_bars import Strip, range_bars
from snugfast.web.showing import show
from snugfast.web.troubles import Troubles

pages = APIRouter()


class RailForm(BaseModel):
    """What is known better than the build, as typed."""

    stall: str = ""
    supply: str = ""
    gives: str = ""
    restarts: str = ""
    lowest: str = ""


@dataclass(frozen=True, slots=True)
class RailPage:
    """The rail of one car. `found` is None when what was typed could not be used."""

    car_id: UUID
    car_name: str
    form: RailForm
    found: Rail | None
    picture: Markup
    volts: Pairs
    capacitors: Pairs
    sources: tuple[RestsOn, ...]
    troubles: Troubles | None

    @classmethod
    def of(cls, car_id: UUID, form: RailForm, found: Rail) -> Self:
        rows = moments_with_rest(found)
        restarts = found.restarts
        read = "; ".join(f"{name} {tell_to(volts, 1)}" for name, volts in rows)
        return cls(
            car_id=car_id,
            car_name=found.car,
            form=form,
            found=found,
            picture=range_bars(
                title=f"Volts at the receiver: {read}",
                unit="V",
                rows=rows,
                strip=Strip("receiver restarts", low_of(restarts), high_of(restarts)),
            ),
            volts=(
                *((name, tell_to(volts, 1)) for name, volts in rows),
                ("receiver restarts below", tell_to(restarts, 1)),
                ("and is gone for", tell_figure(found.back_after)),
            ),
            capacitors=tuple((f"{line.capacitance_uF:.0f} µF", line.sentence) for line in found.capacitors),
            sources=rests_on(found.sources),
            troubles=None,
        )

    @classmethod
    def refused(cls, car_id: UUID, car_name: str, form: RailForm, why: SnugfastError) -> Self:
        return cls(car_id, car_name, form, None, Markup(), (), (), (), Troubles.of(why))


@pages.get("/cars/{car_id}/rail")
def rail(
    request: Request, workshop: TheWorkshop, car_id: UUID, form: Annotated[RailForm, Query()]
) -> Response:
    car, _ = one_car(workshop, car_id)
    status = 200
    try:
        page = RailPage.of(car_id, form, rail_of(workshop, RailSaid(car.name, **form.model_dump())))
    except SnugfastError as refused:
        page, status = RailPage.refused(car_id, car.name, form, refused), 422
    return show(
        request, "leads/rail.html", page, title=f"Receiver supply of {car.name}", here="home", status=status
    )
