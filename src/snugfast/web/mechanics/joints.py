"""Joints of a car: how tight, with what, whether it holds. Opened from a place and from a check."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated, Self
from uuid import UUID

from fastapi import APIRouter, Query, Request
from fastapi.responses import Response
from pydantic import BaseModel

from snugfast.core.errors import SnugfastError
from snugfast.usecases.mechanics.joint_guide import JointGuide, joint_guide, joints_of
from snugfast.usecases.mechanics.joint_parts import JointSaid, SetScrewSaid
from snugfast.usecases.mechanics.set_screw_guide import SetScrewJoint
from snugfast.usecases.shared.cautions import Caution
from snugfast.web.bench import TheWorkshop
from snugfast.web.cars.one_car import one_car
from snugfast.web.figure_lines import Pairs, RestsOn, rests_on, told
from snugfast.web.showing import show, to
from snugfast.web.troubles import Troubles

pages = APIRouter()


class JointForm(BaseModel):
    """What is said about a joint, as it is typed."""

    strength: str = ""
    state: str = ""
    engagement: str = ""
    head_width: str = ""
    seat: str = ""
    drag: str = ""
    times_off: str = ""
    flat: str = ""
    two: str = ""
    shaft: str = ""
    peak_torque: str = ""
    mass: str = ""
    final_ratio: str = ""

    def said(self, car: str, place: str) -> JointSaid:
        """The same for the use-case."""
        aside = SetScrewSaid(self.flat, self.two, self.shaft, self.peak_torque, self.mass, self.final_ratio)
        return JointSaid(
            car,
            place,
            self.strength,
            self.state,
            self.engagement,
            self.head_width,
            self.seat,
            self.drag,
            self.times_off,
            aside,
        )


@dataclass(frozen=True, slots=True)
class Hold:
    """What set screws hold, in words and figures."""

    sentence: str
    flat: str
    figures: Pairs
    peak_from: str

    @classmethod
    def of(cls, hold: SetScrewJoint) -> Self:
        figures = told(
            ("along the shaft", hold.holding),
            ("around it", hold.torque),
            ("peak torque here", hold.peak),
            ("seated with", hold.seating),
            ("shaft", hold.shaft),
            ("industry would count on", hold.industrial),
            digits=2,
        )
        return cls(hold.sentence, hold.flat, figures, hold.peak_from)


@dataclass(frozen=True, slots=True)
class JointPage:
    """One joint. `guide` is None when what was typed could not be used."""

    car_id: UUID
    car_name: str
    place: str
    name: str
    form: JointForm
    guide: JointGuide | None
    sizes: Pairs
    torque: Pairs
    hold: Hold | None
    cautions: tuple[Caution, ...]
    sources: tuple[RestsOn, ...]
    troubles: Troubles | None

    @classmethod
    def of(cls, car_id: UUID, form: JointForm, guide: JointGuide) -> Self:
        named = (
            ("thread", guide.thread),
            ("head", guide.head),
            ("turned with", guide.tool),
            ("goes into", guide.into),
            ("under the head", guide.under_head),
        )
        sizes = tuple((name, value) for name, value in named if value)
        bound = guide.never_above if guide.torque is None else None
        return cls(
            car_id=car_id,
            car_name=guide.car,
            place=guide.place,
            name=guide.name,
            form=form,
            guide=guide,
            sizes=(*sizes, *told(("thread in use", guide.engagement))),
            torque=told(
                ("torque", guide.torque), ("never above", bound), ("pulls with", guide.pull), digits=2
            ),
            hold=Hold.of(guide.hold) if guide.hold is not None else None,
            cautions=guide.cautions,
            sources=rests_on(guide.sources),
            troubles=None,
        )


@dataclass(frozen=True, slots=True)
class JointsPage:
    """The joints of a car."""

    car_id: UUID
    car_name: str
    joints: tuple[tuple[str, str, str], ...]  # key, name, part


@pages.get("/cars/{car_id}/joints")
def joints(request: Request, workshop: TheWorkshop, car_id: UUID, check: str = "") -> Response:
    """The joints of a car; those of a check alone, and with one only that one itself."""
    car, build = one_car(workshop, car_id)
    asked = workshop.facts.checks.get(check)
    found = [place for place in joints_of(build) if asked is None or place.role in asked.roles]
    if asked is not None and len(found) == 1:
        return to(f"/cars/{car_id}/places/{found[0].key}/joint")
    page = JointsPage(car_id, car.name, tuple((place.key, place.name, place.part) for place in found))
    return show(request, "mechanics/joints.html", page, title=f"Joints of {car.name}", here="home")


@pages.get("/cars/{car_id}/places/{place_key}/joint")
def joint(
    request: Request,
    workshop: TheWorkshop,
    car_id: UUID,
    place_key: str,
    form: Annotated[JointForm, Query()],
) -> Response:
    car, build = one_car(workshop, car_id)
    status = 200
    try:
        page = JointPage.of(car_id, form, joint_guide(workshop, form.said(car.name, place_key)))
    except SnugfastError as refused:
        place = build.place(place_key)
        name = place.name if place is not None else place_key
        page, status = (
            JointPage(
                car_id, car.name, place_key, name, form, None, (), (), None, (), (), Troubles.of(refused)
            ),
            422 if place is not None else 404,
        )
    return show(
        request, "mechanics/joint.html", page, title=f"{page.name} of {car.name}", here="home", status=status
    )
