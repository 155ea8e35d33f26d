"""The mesh of a car: now, as it should be, how to set it, drawn to scale."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated, Self
from urllib.parse import urlencode
from uuid import UUID

from fastapi import APIRouter, Query, Request
from fastapi.responses import Response
from markupsafe import Markup
from pydantic import BaseModel

from snugfast.core.errors import SnugfastError
from snugfast.exchange.mesh_drawing import Panel, drawing, panels_of, teeth_enlarged
from snugfast.usecases.mechanics.mesh_guide import MeshAt, MeshGuide, MeshSaid, mesh_guide
from snugfast.usecases.shared.cautions import Caution
from snugfast.web.bench import TheWorkshop
from snugfast.web.cars.one_car import one_car
from snugfast.web.figure_lines import Pairs, RestsOn, rests_on, told
from snugfast.web.showing import show
from snugfast.web.troubles import Troubles

pages = APIRouter()


class MeshForm(BaseModel):
    """What is said about a mesh, as it is typed."""

    shift: str = ""
    play: str = ""
    paper: str = ""
    pinion: str = ""
    spur: str = ""
    pitch: str = ""


@dataclass(frozen=True, slots=True)
class Setting:
    """The mesh at one distance: a verdict, its figures, and the teeth drawn."""

    title: str
    sentence: str
    advice: str
    figures: Pairs
    picture: Markup

    @classmethod
    def of(cls, title: str, at: MeshAt, advice: str, move_m: float = 0.0) -> Self:
        figures = told(
            ("backlash", at.backlash),
            ("felt at the rim", at.rim_play),
            ("contact ratio", at.contact_ratio),
            ("centre distance", at.centre_distance),
            ("pressure angle", at.pressure_angle),
        )
        teeth = teeth_enlarged(at.mesh, f"{title}: the teeth", move_m=move_m)
        return cls(title, at.sentence, advice, figures, _picture(teeth))


@dataclass(frozen=True, slots=True)
class MeshPage:
    """One mesh. `settings` is empty when what was typed could not be used."""

    car_id: UUID
    car_name: str
    form: MeshForm
    pair: str
    pitches: str
    settings: tuple[Setting, ...]
    whole: Markup
    notes: tuple[str, ...]
    paper: str
    steps: tuple[str, ...]
    cautions: tuple[Caution, ...]
    sources: tuple[RestsOn, ...]
    file: str
    troubles: Troubles | None

    @classmethod
    def of(cls, car_id: UUID, form: MeshForm, guide: MeshGuide) -> Self:
        settings = [Setting.of("As it should be", guide.wanted, "")]
        if guide.now is not None:
            move_m = guide.move.value if guide.move is not None else 0.0
            settings.insert(0, Setting.of("Now", guide.now, guide.advice, move_m))
        return cls(
            car_id=car_id,
            car_name=guide.car,
            form=form,
            pair=f"{guide.pinion.gear.teeth} on {guide.spur.gear.teeth} teeth, {guide.pinion.pitch}",
            pitches=guide.pitches.sentence if guide.pinion.pitch != guide.spur.pitch else "",
            settings=tuple(settings),
            whole=_picture(panels_of(guide)[0]),
            notes=tuple(filter(None, (guide.strips_sentence, guide.undercut))),
            paper=guide.paper.sentence,
            steps=guide.steps,
            cautions=guide.cautions,
            sources=rests_on(guide.sources),
            file=f"/cars/{car_id}/mesh.svg?{urlencode(form.model_dump(exclude_defaults=True))}",
            troubles=None,
        )

    @classmethod
    def refused(cls, car_id: UUID, car_name: str, form: MeshForm, why: SnugfastError) -> Self:
        empty = Markup()
        return cls(car_id, car_name, form, "", "", (), empty, (), "", (), (), (), "", Troubles.of(why))


@pages.get("/cars/{car_id}/mesh")
def mesh(
    request: Request, workshop: TheWorkshop, car_id: UUID, form: Annotated[MeshForm, Query()]
) -> Response:
    car, _ = one_car(workshop, car_id)
    status = 200
    try:
        page = MeshPage.of(car_id, form, mesh_guide(workshop, MeshSaid(car.name, **form.model_dump())))
    except SnugfastError as refused:
        page, status = MeshPage.refused(car_id, car.name, form, refused), 422
    return show(request, "mechanics/mesh.html", page, title=f"Mesh of {car.name}", here="home", status=status)


@pages.get("/cars/{car_id}/mesh.svg")
def mesh_file(workshop: TheWorkshop, car_id: UUID, form: Annotated[MeshForm, Query()]) -> Response:
    car, _ = one_car(workshop, car_id)
    guide = mesh_guide(workshop, MeshSaid(car.name, **form.model_dump()))
    return Response(drawing(panels_of(guide)), media_type="image/svg+xml")


def _picture(panel: Panel) -> Markup:
    return Markup(panel.svg)  # our own drawing; its title is escaped where it is made
