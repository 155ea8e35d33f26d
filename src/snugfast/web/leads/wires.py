"""Wires and connectors of a car: what they lose, how hot they get, what better ones buy; soldering."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated, Self
from uuid import UUID

from fastapi import APIRouter, Query, Request
from fastapi.responses import Response
from markupsafe import Markup
from pydantic import BaseModel

from snugfast.app.kernel_cache import threads
from snugfast.core.errors import SnugfastError
from snugfast.usecases.leads.soldering import Soldering, SolderSaid, soldering_of
from snugfast.usecases.leads.tables import electrics
from snugfast.usecases.leads.wiring import PathPart, Wiring, WiringSaid, wiring_of
from snugfast.usecases.shared.cautions import Caution, cautions_of
from snugfast.usecases.shared.citing import tell_to
from snugfast.usecases.shared.workshop import Workshop
from snugfast.usecases.twin.how_to_run import HowToRun
from snugfast.usecases.twin.tables import styles
from snugfast.web.bench import TheBench, TheWorkshop
from snugfast.web.cars.one_car import one_car
from snugfast.web.figure_lines import Pairs, RestsOn, rests_on
from snugfast.web.memo import HOUR_S
from snugfast.web.range_bars import Strip, range_bars
from snugfast.web.showing import show
from snugfast.web.troubles import Troubles

pages = APIRouter()
SOLDER_CAUTIONS = ("solder", "solder-lead", "pack-one-wire", "local-rules")


class WiresForm(BaseModel):
    """What is known better than the build, as typed."""

    wire: str = ""
    length: str = ""
    motor_length: str = ""
    plug: str = ""
    plug_ohm: str = ""
    to_wire: str = ""
    to_plug: str = ""
    ambient: str = ""
    style: str = ""


@dataclass(frozen=True, slots=True)
class PartCard:
    """One part of the path."""

    name: str
    what: str
    verdict: str
    figures: Pairs
    pulse: str

    @classmethod
    def of(cls, part: PathPart) -> Self:
        claimed = (("sold for", f"{part.claimed_A:.0f} A"),) if part.claimed_A else ()
        return cls(
            part.name,
            part.what,
            part.verdict,
            (
                ("hottest in the run", tell_to(part.hottest)),
                ("resistance, there and back", f"{part.resistance.value * 1e3:.2g} mΩ"),
                ("lost at full current", f"{part.lost.value:.2g} V"),
                ("heat over the run", f"{part.heat.value:.1f} W"),
                ("current, as it heats", f"{part.rms.value:.0f} A each"),
                *claimed,
            ),
            part.pulse,
        )


@dataclass(frozen=True, slots=True)
class WiresPage:
    """Wires of one car. `found` is None when what was typed could not be used."""

    car_id: UUID
    car_name: str
    form: WiresForm
    plugs: tuple[str, ...]
    styles: tuple[str, ...]
    found: Wiring | None
    head: str
    picture: Markup
    parts: tuple[PartCard, ...]
    upgrades: Pairs
    sources: tuple[RestsOn, ...]
    troubles: Troubles | None

    @classmethod
    def of(cls, car_id: UUID, form: WiresForm, found: Wiring) -> Self:
        rows = [(part.name, part.hottest) for part in found.parts]
        read = "; ".join(f"{name} {tell_to(figure)}" for name, figure in rows)
        limit = found.limit.value
        return cls(
            car_id,
            found.car,
            form,
            _plugs(),
            styles(),
            found,
            f"{found.style}, {found.air_degC:.0f} °C, {found.minutes:.0f} min",
            range_bars(
                title=f"Hottest in the run: {read}",
                unit="°C",
                rows=rows,
                strip=Strip("solder joints: 85 °C at most", limit, limit),
                to=100.0,
            ),
            tuple(PartCard.of(part) for part in found.parts),
            tuple((one.name, one.sentence) for one in found.upgrades),
            rests_on(found.sources),
            None,
        )

    @classmethod
    def refused(cls, car_id: UUID, car_name: str, form: WiresForm, why: SnugfastError) -> Self:
        empty = Markup()
        return cls(car_id, car_name, form, _plugs(), styles(), None, "", empty, (), (), (), Troubles.of(why))


@dataclass(frozen=True, slots=True)
class SolderPage:
    """Soldering on one car; `found` is None until somebody says that an adult is there."""

    car_id: UUID
    car_name: str
    wire: str
    iron: str
    found: Soldering | None
    cautions: tuple[Caution, ...]
    sources: tuple[RestsOn, ...]
    troubles: Troubles | None


@pages.get("/cars/{car_id}/wires")
def wires(
    request: Request,
    bench: TheBench,
    workshop: TheWorkshop,
    car_id: UUID,
    form: Annotated[WiresForm, Query()],
) -> Response:
    car, _ = one_car(workshop, car_id)
    said, status = WiringSaid(car.name, **form.model_dump()), 200
    try:
        found = bench.memo.once(
            workshop, ("wires", car_id, said), lambda: _driven(workshop, said), lasts_s=HOUR_S
        )
        page = WiresPage.of(car_id, form, found)
    except SnugfastError as refused:
        page, status = WiresPage.refused(car_id, car.name, form, refused), 422
    return show(request, "leads/wires.html", page, title=f"Wires of {car.name}", here="home", status=status)


def _driven(workshop: Workshop, said: WiringSaid) -> Wiring:
    with threads() as executor:
        return wiring_of(workshop, said, HowToRun(executor=executor))


@pages.get("/cars/{car_id}/solder")
def solder(
    request: Request, workshop: TheWorkshop, car_id: UUID, adult: bool = False, wire: str = "", iron: str = ""
) -> Response:
    car, _ = one_car(workshop, car_id)
    found, troubles, status = None, None, 200
    if adult:
        try:
            found = soldering_of(workshop, SolderSaid(car.name, wire, iron))
        except SnugfastError as refused:
            troubles, status = Troubles.of(refused), 422
    page = SolderPage(
        car_id,
        car.name,
        wire,
        iron,
        found,
        () if found else cautions_of(workshop.facts, SOLDER_CAUTIONS),
        rests_on(found.sources) if found else (),
        troubles,
    )
    return show(
        request,
        "leads/solder.html",
        page,
        title=f"Solder a connector of {car.name}",
        here="home",
        status=status,
    )


def _plugs() -> tuple[str, ...]:
    return tuple(str(row["key"]) for row in electrics("connectors").rows if row["on"] == "pack")
