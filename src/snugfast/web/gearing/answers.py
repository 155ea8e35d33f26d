"""The short questions about gearing, each answered on a page of its own."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import TYPE_CHECKING, Annotated
from uuid import UUID

from fastapi import APIRouter, Query, Request
from fastapi.responses import Response

from snugfast.app.kernel_cache import threads
from snugfast.core.errors import SnugfastError
from snugfast.usecases.shared.cautions import Caution
from snugfast.usecases.shared.workshop import Workshop
from snugfast.web.bench import TheWorkshop
from snugfast.web.cars.one_car import one_car
from snugfast.web.gearing.cards import Table
from snugfast.web.gearing.form import GearingForm
from snugfast.web.showing import show
from snugfast.web.troubles import Troubles

if TYPE_CHECKING:
    from snugfast.usecases.gearing.questions import FanAnswer, LearnerAnswer, PassesAnswer, TyreAnswer
    from snugfast.usecases.twin.how_to_run import HowToRun

pages = APIRouter()


@dataclass(frozen=True, slots=True)
class AnswerPage:
    """A short answer: one sentence, the table under it, and what to beware of."""

    car_id: UUID
    car_name: str
    title: str
    sentence: str
    more: tuple[str, ...]
    tables: tuple[tuple[str, Table], ...]
    notes: tuple[str, ...]
    cautions: tuple[Caution, ...]
    troubles: Troubles | None
    asks: Asks | None = None


@dataclass(frozen=True, slots=True)
class Asks:
    """The number a question lacks: where its form goes, and how it is asked for."""

    question: str
    name: str
    label: str
    hint: str


TYRES = Asks("tyres", "tyre", "How large are the other tyres?", "outside, 135 mm")
LEARNER = Asks("learner", "to", "How fast may the learner go?", "15 km/h")


@pages.get("/cars/{car_id}/gearing/tyres")
def tyres(
    request: Request, workshop: TheWorkshop, car_id: UUID, form: Annotated[GearingForm, Query()]
) -> Response:
    if not form.tyre.strip():
        return _asked_back(request, workshop, car_id, "Other tyres", TYRES)
    return _short(request, workshop, car_id, "Other tyres", lambda how, car: _tyres(workshop, form, car, how))


@pages.get("/cars/{car_id}/gearing/passes")
def passes(
    request: Request, workshop: TheWorkshop, car_id: UUID, form: Annotated[GearingForm, Query()]
) -> Response:
    return _short(
        request, workshop, car_id, "Full-speed passes", lambda how, car: _passes(workshop, form, car, how)
    )


@pages.get("/cars/{car_id}/gearing/fan")
def fan(
    request: Request, workshop: TheWorkshop, car_id: UUID, form: Annotated[GearingForm, Query()]
) -> Response:
    return _short(request, workshop, car_id, "Fan stopped", lambda how, car: _fan(workshop, form, car, how))


@pages.get("/cars/{car_id}/gearing/learner")
def learner(
    request: Request, workshop: TheWorkshop, car_id: UUID, form: Annotated[GearingForm, Query()]
) -> Response:
    if not form.to.strip():
        return _asked_back(request, workshop, car_id, "For a learner", LEARNER)
    return _short(request, workshop, car_id, "For a learner", lambda how, car: _learner(workshop, form, car))


Answer = tuple[str, tuple[str, ...], tuple[tuple[str, Table], ...], tuple[str, ...], tuple[Caution, ...]]
NO_ANSWER: Answer = ("", (), (), (), ())


def _asked_back(request: Request, workshop: Workshop, car_id: UUID, title: str, asks: Asks) -> Response:
    """The question with a field for what it lacks."""
    car, _ = one_car(workshop, car_id)
    return show_answer(request, AnswerPage(car_id, car.name, title, *NO_ANSWER, None, asks), 200)


def _short(
    request: Request,
    workshop: Workshop,
    car_id: UUID,
    title: str,
    ask: Callable[[HowToRun, str], Answer],
) -> Response:
    car, _ = one_car(workshop, car_id)
    troubles, status = None, 200
    answer = NO_ANSWER
    with threads() as executor:
        from snugfast.usecases.twin.how_to_run import HowToRun

        try:
            answer = ask(HowToRun(executor), car.name)
        except SnugfastError as refused:
            troubles, status = Troubles.of(refused), 422
    return show_answer(request, AnswerPage(car_id, car.name, title, *answer, troubles), status)


def show_answer(request: Request, page: AnswerPage, status: int) -> Response:
    """An answer on its page."""
    title = f"{page.title}: {page.car_name}"
    return show(request, "gearing/answer.html", page, title=title, here="home", status=status)


def _tyres(workshop: Workshop, form: GearingForm, car: str, how: HowToRun) -> Answer:
    from snugfast.usecases.gearing.questions import ask_bigger_tyre

    answer: TyreAnswer = ask_bigger_tyre(workshop, form.said(car), form.tyre, how)
    rows = [row.cells for row in answer.rows]
    table = (("pinion on spur", "rollout", "top speed", "motor steady"), *rows)
    return answer.sentence, (answer.why,), (("Pinions on these tyres", table),), answer.notes, answer.cautions


def _passes(workshop: Workshop, form: GearingForm, car: str, how: HowToRun) -> Answer:
    from snugfast.usecases.gearing.questions import ask_passes

    answer: PassesAnswer = ask_passes(workshop, form.said(car), how)
    sentences = tuple(row.sentence for row in answer.rows[:-1])
    return answer.sentence, sentences, (), answer.notes, answer.cautions


def _fan(workshop: Workshop, form: GearingForm, car: str, how: HowToRun) -> Answer:
    from snugfast.usecases.gearing.questions import ask_fan_stopped

    answer: FanAnswer = ask_fan_stopped(workshop, form.said(car), how)
    rows = [
        (row.style, _never(row.running_min), _never(row.stopped_min), f"{row.stopped_top_degC:.0f} °C")
        for row in answer.rows
    ]
    table = (("driving", "fan turning", "fan stopped", "highest, stopped"), *rows)
    title = f"Minutes to {answer.limit_degC:.0f} °C"
    return answer.sentence, (), ((title, table),), answer.notes, answer.cautions


def _never(minutes: float | None) -> str:
    return "never" if minutes is None else f"{minutes:.0f} min"


def _learner(workshop: Workshop, form: GearingForm, car: str) -> Answer:
    from snugfast.usecases.gearing.questions import ask_learner

    answer: LearnerAnswer = ask_learner(workshop, form.said(car), form.to)
    return answer.sentence, (), (), (), answer.cautions
