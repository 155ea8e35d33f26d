"""The gearing of a car: the ladder, and one rung in time."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Annotated
from urllib.parse import urlencode
from uuid import UUID

from fastapi import APIRouter, Query, Request
from fastapi.responses import Response

from snugfast.app.kernel_cache import threads
from snugfast.core.errors import SnugfastError
from snugfast.usecases.shared.cautions import Caution
from snugfast.usecases.shared.workshop import Workshop
from snugfast.web.bench import TheBench, TheWorkshop
from snugfast.web.cars.one_car import one_car
from snugfast.web.figure_lines import RestsOn, rests_on
from snugfast.web.gearing.cards import ChosenCard, RungCard
from snugfast.web.gearing.form import GearingForm
from snugfast.web.gearing.picture import Scales
from snugfast.web.memo import HOUR_S
from snugfast.web.numbers import plain
from snugfast.web.showing import show
from snugfast.web.troubles import Troubles

if TYPE_CHECKING:
    from snugfast.usecases.gearing.rungs import LadderRung
    from snugfast.usecases.gearing.study import GearingStudy

pages = APIRouter()

MOST_ON_A_PAGE = 64  # rungs, so that a page comes at once


@dataclass(frozen=True, slots=True)
class GearingPage:
    """The ladder of a car. `rungs` is empty when what was typed could not be used."""

    car_id: UUID
    car_name: str
    form: GearingForm
    styles: tuple[str, ...]
    grounds: tuple[str, ...]
    packs: tuple[str, ...]
    head: str
    fitted: str
    rungs: tuple[RungCard, ...]
    scales: Scales | None
    chosen: ChosenCard | None
    one_tooth: tuple[str, ...]
    carried_on: str
    told: tuple[tuple[str, str, str], ...]
    notes: tuple[str, ...]
    cautions: tuple[Caution, ...]
    heat_cautions: tuple[str, ...]
    sources: tuple[RestsOn, ...]
    troubles: Troubles | None


@pages.get("/cars/{car_id}/gearing")
def ladder(
    request: Request,
    bench: TheBench,
    workshop: TheWorkshop,
    car_id: UUID,
    form: Annotated[GearingForm, Query()],
) -> Response:
    car, _ = one_car(workshop, car_id)
    asked = ("gearing", car_id, form.model_dump_json())
    study, troubles = None, None
    try:
        study = bench.memo.once(workshop, asked, lambda: _study(workshop, form, car.name), lasts_s=HOUR_S)
    except SnugfastError as refused:
        troubles = Troubles.of(refused)
    page = _ladder_page(workshop, car_id, car.name, form, study, troubles)
    status = 200 if troubles is None else 422
    return show(
        request, "gearing/gearing.html", page, title=f"Gearing of {car.name}", here="home", status=status
    )


def _study(workshop: Workshop, form: GearingForm, car: str) -> GearingStudy:
    with threads() as executor:
        from snugfast.usecases.gearing.study import gearing_study
        from snugfast.usecases.twin.how_to_run import HowToRun

        how = HowToRun(executor, most_rungs=MOST_ON_A_PAGE)
        return gearing_study(workshop, form.said(car), rung=form.rung, how=how)


def _ladder_page(
    workshop: Workshop,
    car_id: UUID,
    car_name: str,
    form: GearingForm,
    study: GearingStudy | None,
    troubles: Troubles | None,
) -> GearingPage:
    from snugfast.usecases.shared.citing import tell_figure
    from snugfast.usecases.shared.ledger import ledger_now
    from snugfast.usecases.twin import tables

    with workshop.store.reading() as reads:
        packs = tuple(pack.name for pack in ledger_now(reads).packs.values() if not pack.left_at)
    shown = () if study is None else (*study.in_reach, *study.out_of_reach)
    scales = None if study is None else Scales.of(study)
    return GearingPage(
        car_id=car_id,
        car_name=car_name,
        form=form,
        styles=tables.styles(),
        grounds=tables.grounds(),
        packs=packs,
        head="" if study is None else _head(study),
        fitted="" if study is None else study.fitted,
        rungs=tuple(
            RungCard.of(
                rung,
                study,
                _link(car_id, form, rung),
                scales,
                first_out_of_reach=rung in study.out_of_reach[:1],
            )
            for rung in shown
            if study and scales
        ),
        scales=scales,
        chosen=None if study is None else ChosenCard.of(study),
        one_tooth=() if study is None else study.one_tooth,
        carried_on=_carried_on(study),
        told=()
        if study is None
        else tuple((one.name, tell_figure(one.figure), one.how) for one in study.numbers),
        notes=() if study is None else study.notes,
        cautions=() if study is None else study.cautions,
        heat_cautions=() if study is None else study.heat_cautions,
        sources=() if study is None else rests_on(study.sources),
        troubles=troubles,
    )


def _head(study: GearingStudy) -> str:
    return (
        f"{study.driving.capitalize()}, air {study.air_degC:.0f} °C; {study.pack}; "
        f"tyres {plain(study.tyre_mm)} mm."
    )


def _link(car_id: UUID, form: GearingForm, rung: LadderRung) -> str:
    pair = rung.pairs[0]
    asked = {**form.model_dump(exclude_defaults=True), "rung": f"{pair.pinion_teeth}/{pair.spur_teeth}"}
    return f"/cars/{car_id}/gearing?{urlencode(asked)}#rung"


def _carried_on(study: GearingStudy | None) -> str:
    if study is None or not any(rung.carried_on for rung in study.rungs):
        return ""
    return f"“About”: nothing ended it in {study.minutes:.0f} min; the charge was carried on at its rate."
