"""Steering at the bench: the job in order, the form that keeps it, and what measured lengths say, drawn."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Annotated
from uuid import UUID

from fastapi import APIRouter, Form, Request
from fastapi.responses import Response
from markupsafe import Markup
from pydantic import BaseModel

from snugfast.core.errors import SnugfastError
from snugfast.core.zones import local_day
from snugfast.usecases.chassis.lengths import LINKAGE, SERVO, Measure, missing, tidy
from snugfast.usecases.chassis.steering_job import (
    Heard,
    SteeringSaid,
    Step,
    draft_lengths,
    draft_steering,
    steering_job,
)
from snugfast.usecases.chassis.steering_past import SteeringPast
from snugfast.usecases.chassis.steering_sums import SteeringSums, steering_sums
from snugfast.usecases.shared.cautions import Caution
from snugfast.usecases.shared.citing import tell_to
from snugfast.web.bench import TheWorkshop
from snugfast.web.cars.one_car import one_car
from snugfast.web.chassis.linkage_drawing import from_above
from snugfast.web.figure_lines import RestsOn, rests_on
from snugfast.web.journal.kept import echo
from snugfast.web.line_chart import Level, Line, line_chart
from snugfast.web.showing import show
from snugfast.web.troubles import Troubles

pages = APIRouter()
MINUS = "−"
# Our own invention, no one car: what a 1/10 truck’s linkage may measure, to see what comes of it.
EXAMPLE = (
    "wheelbase=280&kingpins=190&arm=22&balls=176&horn=18&servo_behind=95&servo_left=2&crank_behind=45"
    "&crank_in=20&crank_out=25&inner=16&wheel_stop=30"
)


class SetForm(BaseModel):
    """End points as they were set."""

    id: UUID | None = None
    check_id: UUID | None = None
    radio: str = ""
    left: str = ""
    right: str = ""
    centre: str = ""
    heard: str = ""
    done: list[str] = []
    words: str = ""
    change: str = ""


@dataclass(frozen=True, slots=True)
class SetBefore:
    """End points of before, as a line."""

    day: str
    radio: str
    ends: str
    heard: str
    words: str


@dataclass(frozen=True, slots=True)
class LengthField:
    """One length to measure, with what is known of it."""

    measure: Measure
    value: str


@dataclass(frozen=True, slots=True)
class Row:
    """One pulse of the table."""

    pulse: str
    left: str
    right: str
    ideal: str
    percent: str
    push: str


@dataclass(frozen=True, slots=True)
class End:
    """One side: where it should end, and what stops it where."""

    side: str
    sentence: str
    band: str
    met: tuple[tuple[str, str], ...]
    picture: Markup


@dataclass(frozen=True, slots=True)
class Sums:
    """What the lengths say."""

    ends: tuple[End, ...]
    lines: tuple[str, ...]
    set_now: tuple[str, ...]
    chart: Markup
    rows: tuple[Row, ...]
    sources: tuple[RestsOn, ...]


@dataclass(frozen=True, slots=True)
class SteeringPage:
    """The job, its form, what was set before, and the lengths. `sums` is None while some are missing."""

    car_id: UUID
    car_name: str
    steps: tuple[Step, ...]
    cautions: tuple[Caution, ...]
    form: SetForm
    heard: tuple[tuple[str, str], ...]
    radios: tuple[str, ...]
    past: tuple[SetBefore, ...]
    linkage: tuple[LengthField, ...]
    servo: tuple[LengthField, ...]
    missing: tuple[str, ...]
    lengths_open: bool
    example: str
    sums: Sums | None
    sums_trouble: Troubles | None
    troubles: Troubles | None


@pages.get("/cars/{car_id}/steering")
def steering(request: Request, workshop: TheWorkshop, car_id: UUID) -> Response:
    measured = {key: text for key, text in request.query_params.items() if text.strip()}
    return _show(request, workshop, car_id, measured=measured)


@pages.post("/cars/{car_id}/steering")
def keep_steering(
    request: Request, workshop: TheWorkshop, car_id: UUID, form: Annotated[SetForm, Form()]
) -> Response:
    form = form.model_copy(
        update={"id": form.id or workshop.new_id(), "check_id": form.check_id or workshop.new_id()}
    )
    car, _ = one_car(workshop, car_id)
    if form.change:
        return _show(request, workshop, car_id, form=form)
    said = SteeringSaid(
        car.name,
        form.radio,
        form.left,
        form.right,
        form.centre,
        form.heard,
        tuple(form.done),
        form.words,
        id=form.id,
        check_id=form.check_id,
    )
    path = f"/cars/{car_id}/steering"
    try:
        return echo(request, workshop, draft_steering(workshop, said), form=form, change=path, then=path)
    except SnugfastError as refused:
        return _show(request, workshop, car_id, form=form, troubles=Troubles.of(refused), status=422)


@pages.post("/cars/{car_id}/steering/lengths")
async def keep_lengths(request: Request, workshop: TheWorkshop, car_id: UUID) -> Response:
    typed = {key: str(value) for key, value in (await request.form()).items()}
    car, _ = one_car(workshop, car_id)
    path = f"/cars/{car_id}/steering"
    changing = bool(typed.pop("change", ""))
    measured = {key: value for key, value in typed.items() if value.strip()}
    if changing:
        return _show(request, workshop, car_id, measured=measured, lengths_open=True)
    try:
        draft = draft_lengths(workshop, car.name, measured)
        return echo(
            request,
            workshop,
            draft,
            form=_Lengths(**measured),
            change=f"{path}/lengths",
            then=f"{path}#lengths",
        )
    except SnugfastError as refused:
        return _show(request, workshop, car_id, measured=measured, troubles=Troubles.of(refused), status=422)


class _Lengths(BaseModel, extra="allow"):
    """The lengths, carried along so that they can be changed."""


def _show(
    request: Request,
    workshop: TheWorkshop,
    car_id: UUID,
    *,
    form: SetForm | None = None,
    measured: dict[str, str] | None = None,
    lengths_open: bool = False,
    troubles: Troubles | None = None,
    status: int = 200,
) -> Response:
    car, _ = one_car(workshop, car_id)
    job = steering_job(workshop, car.name)
    typed = measured or {}
    sums, trouble = None, None
    gone: tuple[str, ...] = ()
    known = {**job.past.measured, **typed}
    try:
        known = {**job.past.measured, **tidy(typed)}
        gone = tuple(one.label for one in missing(known))
        if not gone:
            sums = _sums(steering_sums(workshop, car.name, typed))
    except SnugfastError as refused:
        trouble = Troubles.of(refused)
        status = 422 if typed else status
    page = SteeringPage(
        car_id=car.id,
        car_name=car.name,
        steps=job.steps,
        cautions=job.cautions,
        form=form or SetForm(id=workshop.new_id(), check_id=workshop.new_id(), radio=job.radio),
        heard=tuple((one.value, one.value) for one in Heard),
        radios=job.past.radios,
        past=tuple(_before(job.past, workshop.zone)),
        linkage=tuple(LengthField(one, known.get(one.key, "")) for one in LINKAGE),
        servo=tuple(LengthField(one, known.get(one.key, "")) for one in SERVO),
        missing=gone if known else (),
        lengths_open=lengths_open or (bool(typed) and sums is None),
        example=EXAMPLE,
        sums=sums,
        sums_trouble=trouble,
        troubles=troubles,
    )
    return show(
        request, "chassis/steering.html", page, title=f"Steering of {car.name}", here="home", status=status
    )


def _before(past: SteeringPast, zone: str) -> list[SetBefore]:
    lines = []
    for one in reversed(past.sets):
        fact = one.fact
        named = (("left", fact.left), ("right", fact.right), ("sub-trim", fact.centre))
        ends = ", ".join(f"{name} {value:g} {fact.unit.value}" for name, value in named if value is not None)
        heard = "quiet" if fact.quiet else "still hums"
        lines.append(SetBefore(local_day(one.at, zone), fact.radio, ends, heard, fact.words))
    return lines


def _sums(sums: SteeringSums) -> Sums:
    by, straight = sums.by, sums.by.wheels(sums.by.drive.centre_us)
    assert straight is not None
    ends = tuple(
        End(
            advice.side.value,
            advice.sentence,
            f"{tell_to(advice.pulse)} with each length read to half a millimetre",
            tuple((f"{at.value:.0f} µs", stop.value) for stop, at in advice.met),
            from_above(
                by.steering,
                (straight, advice.end.at.steered),
                f"The linkage from above, straight ahead and at the {advice.side.value} end point",
            ),
        )
        for advice in sums.ends
    )
    lines = [*sums.notes]
    if sums.torque is not None:
        lines.append(sums.torque.sentence)
    lines.append(f"Stalled for two seconds, the servo’s motor warms by {tell_to(sums.stalled, 1)}.")
    return Sums(ends, tuple(lines), sums.set_now, _chart(sums), tuple(_rows(sums)), rests_on(sums.sources))


def _chart(sums: SteeringSums) -> Markup:
    def curve(name: str, angles: list[float]) -> Line:
        pulses = [row.pulse_us for row in sums.rows]
        return Line(name, [(x, math.degrees(y)) for x, y in zip(pulses, angles, strict=True)])

    ideal = [
        row.ideal_outer_rad * (1.0 if row.steered.left_rad + row.steered.right_rad >= 0.0 else -1.0)
        for row in sums.rows
    ]
    return line_chart(
        title="Wheel angle against pulse width: left wheel, right wheel, and the ideal outer wheel",
        along="pulse, µs",
        up="° to the left",
        lines=(
            curve("left wheel", [row.steered.left_rad for row in sums.rows]),
            curve("right wheel", [row.steered.right_rad for row in sums.rows]),
            curve("ideal outer", ideal),
        ),
        levels=(Level("straight ahead", 0.0),),
    )


def _rows(sums: SteeringSums) -> list[Row]:
    def degrees(angle: float) -> str:
        return f"{round(math.degrees(angle), 1) + 0.0:.1f}".replace("-", MINUS)

    centre = sums.by.drive.centre_us
    return [
        Row(
            f"{row.pulse_us:.0f}",
            degrees(row.steered.left_rad),
            degrees(row.steered.right_rad),
            degrees(row.ideal_outer_rad) if row.pulse_us != centre else "",
            f"{row.percent:.0f}" if row.pulse_us != centre else "",
            f"{math.degrees(row.steered.transmission_rad):.0f}",
        )
        for row in sums.rows
    ]
