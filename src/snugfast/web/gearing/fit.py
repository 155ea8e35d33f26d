"""Fitting the twin to what was read: it takes seconds, so its page says how far it is and can stop it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Annotated
from uuid import UUID

from fastapi import APIRouter, Form, Request
from fastapi.responses import Response
from pydantic import BaseModel

from snugfast.app.kernel_cache import threads
from snugfast.core.errors import NotKnown, SnugfastError
from snugfast.core.zones import local_day
from snugfast.physics.powertrain.runs import Progress, ShouldStop
from snugfast.usecases.shared.citing import tell_to
from snugfast.usecases.shared.workshop import Workshop
from snugfast.web.at_work import Work
from snugfast.web.bench import TheBench, TheWorkshop
from snugfast.web.cars.one_car import one_car
from snugfast.web.gearing.answers import NO_ANSWER, Answer, AnswerPage, show_answer
from snugfast.web.showing import show, to
from snugfast.web.troubles import Troubles

if TYPE_CHECKING:
    from snugfast.usecases.twin.fitting import TwinFitted

pages = APIRouter()

TITLE = "The fitted car model"
ASK_AGAIN_s = 1
SOON_s = 0.3  # what is done by then needs no page of its own


class FitForm(BaseModel):
    """Nothing is typed to fit the twin, or to stop it; a form is a form all the same."""


@dataclass(frozen=True, slots=True)
class AtWorkPage:
    """How far the fitting is."""

    car_id: UUID
    car_name: str
    title: str
    share: int  # of 100
    path: str


@pages.post("/cars/{car_id}/gearing/fit")
def fit(workshop: TheWorkshop, bench: TheBench, car_id: UUID, form: Annotated[FitForm, Form()]) -> Response:
    car, _ = one_car(workshop, car_id)

    def work_out(progress: Progress, should_stop: ShouldStop) -> TwinFitted:
        return _fitted(workshop, car.name, progress, should_stop)

    return to(f"/cars/{car_id}/gearing/fit/{bench.at_work.start(f'fit {car_id}', work_out)}")


@pages.get("/cars/{car_id}/gearing/fit/{key}")
def see(request: Request, workshop: TheWorkshop, bench: TheBench, car_id: UUID, key: UUID) -> Response:
    car, _ = one_car(workshop, car_id)
    work = _of(bench.at_work.get(key))
    try:
        found: TwinFitted = work.outcome.result(timeout=SOON_s)
    except TimeoutError:
        share = round(100 * work.share)
        page = AtWorkPage(
            car_id, car.name, "Fitting the car model", share, f"/cars/{car_id}/gearing/fit/{key}"
        )
        shown = show(
            request, "frame/at_work.html", page, title=f"Fitting the car model: {car.name}", here="home"
        )
        shown.headers["refresh"] = str(ASK_AGAIN_s)
        return shown
    except SnugfastError as refused:
        refusal = AnswerPage(car_id, car.name, TITLE, *NO_ANSWER, Troubles.of(refused))
        return show_answer(request, refusal, 422)
    return show_answer(request, AnswerPage(car_id, car.name, TITLE, *_told(workshop, found), None), 200)


@pages.post("/cars/{car_id}/gearing/fit/{key}/stop")
def stop(bench: TheBench, car_id: UUID, key: UUID, form: Annotated[FitForm, Form()]) -> Response:
    _of(bench.at_work.get(key)).stopping.set()
    return to(f"/cars/{car_id}/gearing/fit/{key}")


def _of(work: Work | None) -> Work:
    if work is None:
        raise NotKnown("This fitting is not known any more.", "Begin it again on the page of the gearing.")
    return work


def _fitted(workshop: Workshop, car: str, progress: Progress, should_stop: ShouldStop) -> TwinFitted:
    from snugfast.usecases.twin.fitting import fit_twin
    from snugfast.usecases.twin.how_to_run import HowToRun

    with threads() as executor:
        return fit_twin(workshop, car, how=HowToRun(executor, progress, should_stop))


def _told(workshop: Workshop, found: TwinFitted) -> Answer:
    readings = [
        (
            local_day(line.when, workshop.zone),
            line.what,
            f"{line.before:.{line.digits}f}",
            tell_to(line.after, line.digits),
            "fits" if line.fits else "does not fit, not absorbed",
        )
        for line in found.readings
    ]
    knobs = [
        (one.name, f"{one.factor.value:.2f} ({one.factor.low:.2f} to {one.factor.high:.2f})", one.told)
        for one in found.knobs
    ]
    unused = tuple(
        f"Not used: {line.what} of {local_day(line.when, workshop.zone)}. {line.why}" for line in found.unused
    )
    after: tuple[str, ...] = ()
    if found.next_can is not None:
        can = tell_to(found.next_can)
        after = (f"After another run like the newest the can should read {can}.",)
    tables = (
        ("Readings, and the car model before and after", (("day", "read", "before", "after", ""), *readings)),
        ("What was guessed, as a factor on the tables", (("guess", "factor", ""), *knobs)),
    )
    laps = (line.sentence for line in found.laps)
    return found.sentence, (*after, *laps, *found.strange, *found.alike), tables, unused, ()
