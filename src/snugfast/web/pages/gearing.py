"""The gearing of a car: the ladder, one rung in time, the short questions, and fitting the twin."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import TYPE_CHECKING, Annotated, Self
from urllib.parse import urlencode
from uuid import UUID

from fastapi import APIRouter, Form, Query, Request
from fastapi.responses import Response
from markupsafe import Markup
from pydantic import BaseModel

from snugfast.app.kernel_cache import threads
from snugfast.core.errors import NotKnown, SnugfastError
from snugfast.core.figures import Figure
from snugfast.usecases.sheet_words import Caution
from snugfast.usecases.workshop import Workshop
from snugfast.web.bench import TheWorkshop
from snugfast.web.figure_lines import RestsOn, rests_on
from snugfast.web.line_chart import Level, Line, line_chart
from snugfast.web.numbers import day, plain
from snugfast.web.one_car import one_car
from snugfast.web.showing import show
from snugfast.web.troubles import Troubles

if TYPE_CHECKING:
    from snugfast.usecases.gearing_questions import FanAnswer, LearnerAnswer, PassesAnswer, TyreAnswer
    from snugfast.usecases.gearing_said import GearingSaid
    from snugfast.usecases.gearing_study import Curves, GearingStudy, Heats, HowToRun, LadderRung
    from snugfast.usecases.twin_fitting import TwinFitted

pages = APIRouter()

Table = tuple[tuple[str, ...], ...]
MOST_ON_A_PAGE = 64  # rungs, so that a page comes at once


class GearingForm(BaseModel):
    """What is asked about gearing, as it is typed."""

    style: str = ""
    ground: str = ""
    pinions: str = ""
    spurs: str = ""
    tyre: str = ""
    ambient: str = ""
    pack: str = ""
    to: str = ""
    internal: str = ""
    rung: str = ""

    def said(self, car: str) -> GearingSaid:
        from snugfast.usecases.gearing_said import GearingSaid

        return GearingSaid(car, **self.model_dump(exclude={"rung"}))


@dataclass(frozen=True, slots=True)
class RungCard:
    """One rung of the ladder as it is shown."""

    drive: str
    pairs: tuple[str, ...]
    today: bool
    chosen: bool
    tall: bool
    figures: tuple[tuple[str, str], ...]
    ends: str
    link: str
    bar: int  # of 100: the can's settled temperature against its limit
    bar_words: str

    @classmethod
    def of(cls, rung: LadderRung, study: GearingStudy, link: str) -> Self:
        limit = study.limits.can_degC
        settled = None if rung.settled is None else rung.settled.can_degC
        air = study.air_degC
        share = 1.0 if settled is None else (settled - air) / (1.5 * (limit - air))
        return cls(
            drive=f"{rung.final_drive:.2f}",
            pairs=tuple(pair.words for pair in rung.pairs),
            today=rung.is_today,
            chosen=rung.is_chosen,
            tall=rung.is_tall,
            figures=(
                ("top speed", f"{rung.top_speed_km_h:.0f} km/h"),
                (
                    f"to {study.goal_km_h:.0f} km/h",
                    "never" if rung.goal_s is None else f"{rung.goal_s:.1f} s",
                ),
                ("rollout", f"{rung.rollout_mm:.1f} mm"),
                ("can at most", f"{rung.peak.can_degC:.0f} °C"),
                ("controller", f"{rung.peak.controller_degC:.0f} °C"),
                ("motor", f"{rung.top_motor_A:.0f} A ({rung.rms_motor_A:.0f})"),
                ("pack", f"{rung.top_pack_A:.0f} A ({rung.rms_pack_A:.0f})"),
                ("limited by", rung.launch_limit),
            ),
            ends=_ends(rung),
            link=link,
            bar=round(100 * min(max(share, 0.0), 1.0)),
            bar_words="the winding would burn" if settled is None else f"can settles at {settled:.0f} °C",
        )


def _seconds(goal_s: float | None) -> str:
    return "never" if goal_s is None else f"{goal_s:.1f} s"


def _ends(rung: LadderRung) -> str:
    about = "about " if rung.carried_on else ""
    return f"{about}{rung.run_min:.0f} min, then {rung.ends_by}" if rung.run_min < 1e6 else "no end"


@dataclass(frozen=True, slots=True)
class ChosenCard:
    """The rung that was chosen: bands, and its curves with the tables under them."""

    pairs: str
    today: bool
    lines: tuple[tuple[str, str], ...]
    currents: str
    tall: bool
    sprint: Markup
    sprint_table: Table
    heat: Markup
    heat_table: Table
    limits: str

    @classmethod
    def of(cls, study: GearingStudy) -> Self | None:
        rung, bands, curves = study.chosen, study.bands, study.curves
        if rung is None or bands is None or curves is None:
            return None
        lines = [("top speed", _band(bands.top_speed, 3.6, "km/h"))]
        lines += [("can once settled", _band(bands.can, 1.0, "°C"))] if bands.can else []
        lines += [("charge lasts", _band(study.run_time, 1.0, "min"))] if study.run_time else []
        lines.append(("peak", _heats(rung.peak)))
        lines.append(("settles", "the winding would burn" if rung.settled is None else _heats(rung.settled)))
        limits = study.limits
        return cls(
            pairs=", ".join(pair.words for pair in rung.pairs),
            today=rung.is_today,
            lines=tuple(lines),
            currents=f"Off the line it is limited by {rung.launch_limit}; currents {rung.currents}.",
            tall=rung.is_tall,
            sprint=_sprint_chart(curves),
            sprint_table=_sprint_table(curves),
            heat=_heat_chart(curves, study),
            heat_table=_heat_table(curves),
            limits=(
                f"Limits: winding {limits.winding_degC:.0f}, can {limits.can_degC:.0f}, controller "
                f"{limits.controller_degC:.0f}, pack {limits.pack_degC:.0f} °C."
            ),
        )


def _heats(heats: Heats) -> str:
    return (
        f"winding {heats.winding_degC:.0f}, can {heats.can_degC:.0f}, "
        f"controller {heats.controller_degC:.0f}, pack {heats.pack_degC:.0f} °C"
    )


def _band(figure: Figure, factor: float, unit: str, digits: int = 0) -> str:
    value = f"{figure.value * factor:.{digits}f} {unit}"
    if figure.low is None or figure.high is None:
        return value
    return f"{value} ({figure.low * factor:.{digits}f} to {figure.high * factor:.{digits}f})"


def _sprint_chart(curves: Curves) -> Markup:
    return line_chart(
        title="Speed in a sprint from rest",
        along="seconds",
        up="km/h",
        lines=[Line("speed", [(row.second, row.speed_km_h) for row in curves.sprint])],
    )


def _heat_chart(curves: Curves, study: GearingStudy) -> Markup:
    rows = curves.drive
    return line_chart(
        title="Temperatures while driving",
        along="minutes",
        up="°C",
        lines=[
            Line("winding", [(row.minute, row.winding_degC) for row in rows]),
            Line("can", [(row.minute, row.can_degC) for row in rows]),
            Line("controller", [(row.minute, row.controller_degC) for row in rows]),
            Line("pack", [(row.minute, row.pack_degC) for row in rows]),
        ],
        levels=[Level("can limit", study.limits.can_degC)],
    )


def _sprint_table(curves: Curves) -> Table:
    from snugfast.usecases.gearing_study import some_of

    head = ("s", "km/h", "motor A", "pack V")
    rows = (
        (f"{row.second:.1f}", f"{row.speed_km_h:.0f}", f"{row.motor_A:.0f}", f"{row.pack_V:.1f}")
        for row in some_of(curves.sprint)
    )
    return (head, *rows)


def _heat_table(curves: Curves) -> Table:
    from snugfast.usecases.gearing_study import some_of

    head = ("min", "winding", "can", "controller", "pack", "charge")
    rows = (
        (
            f"{row.minute:.1f}",
            f"{row.winding_degC:.0f}",
            f"{row.can_degC:.0f}",
            f"{row.controller_degC:.0f}",
            f"{row.pack_degC:.0f}",
            f"{row.charge_left * 100:.0f} %",
        )
        for row in some_of(curves.drive)
    )
    return (head, *rows)


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
    chosen: ChosenCard | None
    one_tooth: tuple[str, ...]
    carried_on: str
    told: tuple[tuple[str, str, str], ...]
    notes: tuple[str, ...]
    cautions: tuple[Caution, ...]
    heat_cautions: tuple[str, ...]
    sources: tuple[RestsOn, ...]
    troubles: Troubles | None


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


@pages.get("/cars/{car_id}/gearing")
def ladder(
    request: Request, workshop: TheWorkshop, car_id: UUID, form: Annotated[GearingForm, Query()]
) -> Response:
    car, _ = one_car(workshop, car_id)
    study, troubles = _study(workshop, form, car.name)
    page = _ladder_page(workshop, car_id, car.name, form, study, troubles)
    status = 200 if troubles is None else 422
    return show(request, "gearing.html", page, title=f"Gearing of {car.name}", here="home", status=status)


def _study(workshop: Workshop, form: GearingForm, car: str) -> tuple[GearingStudy | None, Troubles | None]:
    with threads() as executor:
        from snugfast.usecases.gearing_study import HowToRun, gearing_study

        try:
            said = form.said(car)
            how = HowToRun(executor, most_rungs=MOST_ON_A_PAGE)
            return gearing_study(workshop, said, rung=form.rung, how=how), None
        except SnugfastError as refused:
            return None, Troubles.of(refused)


def _ladder_page(
    workshop: Workshop,
    car_id: UUID,
    car_name: str,
    form: GearingForm,
    study: GearingStudy | None,
    troubles: Troubles | None,
) -> GearingPage:
    from snugfast.usecases import twin_tables as tables
    from snugfast.usecases.citing import tell_figure
    from snugfast.usecases.what_stands import ledger_now

    with workshop.store.reading() as reads:
        packs = tuple(pack.name for pack in ledger_now(reads).packs.values() if not pack.left_at)
    shown = () if study is None else study.rungs
    return GearingPage(
        car_id=car_id,
        car_name=car_name,
        form=form,
        styles=tables.styles(),
        grounds=tables.grounds(),
        packs=packs,
        head="" if study is None else _head(study),
        fitted="" if study is None else study.fitted,
        rungs=tuple(RungCard.of(rung, study, _link(car_id, form, rung)) for rung in shown if study),
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
        f"{study.style.capitalize()}, on {study.ground}, air {study.air_degC:.0f} °C; {study.pack}; "
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


# Short questions.


@pages.get("/cars/{car_id}/gearing/tyres")
def tyres(
    request: Request, workshop: TheWorkshop, car_id: UUID, form: Annotated[GearingForm, Query()]
) -> Response:
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
    return _short(request, workshop, car_id, "For a learner", lambda how, car: _learner(workshop, form, car))


class FitForm(BaseModel):
    """Nothing is typed to fit the twin; a form is a form all the same."""


@pages.post("/cars/{car_id}/gearing/fit")
def fit(request: Request, workshop: TheWorkshop, car_id: UUID, form: Annotated[FitForm, Form()]) -> Response:
    return _short(request, workshop, car_id, "The fitted twin", lambda how, car: _fitted(workshop, car, how))


_Answer = tuple[str, tuple[str, ...], tuple[tuple[str, Table], ...], tuple[str, ...], tuple[Caution, ...]]


def _short(
    request: Request,
    workshop: Workshop,
    car_id: UUID,
    title: str,
    ask: Callable[[HowToRun, str], _Answer],
) -> Response:
    car, _ = one_car(workshop, car_id)
    troubles, status = None, 200
    answer: _Answer = ("", (), (), (), ())
    with threads() as executor:
        from snugfast.usecases.gearing_study import HowToRun

        try:
            answer = ask(HowToRun(executor), car.name)
        except SnugfastError as refused:
            troubles, status = Troubles.of(refused), 422
    page = AnswerPage(car_id, car.name, title, *answer, troubles)
    return show(
        request, "gearing_answer.html", page, title=f"{title}: {car.name}", here="home", status=status
    )


def _tyres(workshop: Workshop, form: GearingForm, car: str, how: HowToRun) -> _Answer:
    from snugfast.usecases.gearing_questions import ask_bigger_tyre

    if not form.tyre.strip():
        raise NotKnown("How large the other tyres are was not said.", "Give their outside, as 135 mm.")
    answer: TyreAnswer = ask_bigger_tyre(workshop, form.said(car), form.tyre, how)
    rows = [
        (
            row.pair.words,
            f"{row.rollout_mm:.1f} mm",
            f"{row.top_speed_km_h:.0f} km/h",
            "burns" if row.can_degC is None else f"{row.can_degC:.0f} °C",
        )
        for row in answer.rows
    ]
    table = (("pinion on spur", "rollout", "top speed", "can settles"), *rows)
    return answer.sentence, (answer.why,), (("Pinions on these tyres", table),), answer.notes, answer.cautions


def _passes(workshop: Workshop, form: GearingForm, car: str, how: HowToRun) -> _Answer:
    from snugfast.usecases.gearing_questions import ask_passes

    answer: PassesAnswer = ask_passes(workshop, form.said(car), how)
    sentences = tuple(row.sentence for row in answer.rows[:-1])
    return answer.sentence, sentences, (), answer.notes, answer.cautions


def _fan(workshop: Workshop, form: GearingForm, car: str, how: HowToRun) -> _Answer:
    from snugfast.usecases.gearing_questions import ask_fan_stopped

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


def _learner(workshop: Workshop, form: GearingForm, car: str) -> _Answer:
    from snugfast.usecases.gearing_questions import ask_learner

    if not form.to.strip():
        raise NotKnown("How fast a learner may go was not said.", "Give a speed, as 15 km/h.")
    answer: LearnerAnswer = ask_learner(workshop, form.said(car), form.to)
    return answer.sentence, (), (), (), answer.cautions


def _fitted(workshop: Workshop, car: str, how: HowToRun) -> _Answer:
    from snugfast.usecases.twin_fitting import fit_twin

    found: TwinFitted = fit_twin(workshop, car, how=how)
    readings = [
        (
            day(line.when, workshop.zone),
            line.what,
            f"{line.before:.{line.digits}f}",
            _band(line.after, 1.0, line.unit, line.digits),
            "fits" if line.fits else "does not fit, not absorbed",
        )
        for line in found.readings
    ]
    knobs = [
        (one.name, f"{one.factor.value:.2f} ({one.factor.low:.2f} to {one.factor.high:.2f})", one.told)
        for one in found.knobs
    ]
    unused = tuple(
        f"Not used: {line.what} of {day(line.when, workshop.zone)}. {line.why}" for line in found.unused
    )
    after: tuple[str, ...] = ()
    if found.next_can is not None:
        can = _band(found.next_can, 1.0, "°C")
        after = (f"After another run like the newest the can should read {can}.",)
    tables = (
        ("Readings, and the twin before and after", (("day", "read", "before", "after", ""), *readings)),
        ("What was guessed, as a factor on the tables", (("guess", "factor", ""), *knobs)),
    )
    laps = (line.sentence for line in found.laps)
    return found.sentence, (*after, *laps, *found.alike), tables, unused, ()
