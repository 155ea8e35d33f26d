"""The gearing study of a car: a ladder of final drives, and what each does to speed, heat and run time."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

from snugfast.core.errors import BadInput, NotKnown
from snugfast.core.figures import Figure
from snugfast.physics.gearing import Pair, Question, Rung, final_drive, ladder, top_speed
from snugfast.physics.runs import Progress, Stopped
from snugfast.usecases import twin_tables as tables
from snugfast.usecases.build_read import TwinNumber
from snugfast.usecases.citing import Cited, cited
from snugfast.usecases.gearing_bands import Bands, bands_of
from snugfast.usecases.gearing_curves import Curves, curves_of
from snugfast.usecases.gearing_rungs import LadderRung, rung_in_figures
from snugfast.usecases.gearing_said import Asked, GearingSaid, read_question
from snugfast.usecases.gearing_words import fitted_words, one_tooth_words, pack_words, study_notes
from snugfast.usecases.how_to_run import MOST_RUNGS, HowToRun
from snugfast.usecases.sheet_words import Caution, cautions_of
from snugfast.usecases.twin_of_car import Twin
from snugfast.usecases.workshop import Workshop

CAUTIONS = ("gears-on-stand", "tall-gear", "fast-car-people", "hot-parts", "local-rules")
AT_ONCE = 32  # rungs: two blocks of the kernel
MOST_MINUTES = 40.0  # driven; where temperatures settle is driven by itself, and charge is carried on


@dataclass(frozen=True, slots=True)
class LimitsHere:
    """The limits the study holds heat against, °C, and the charge kept in reserve."""

    winding_degC: float
    can_degC: float
    controller_degC: float
    pack_degC: float
    reserve_share: float


@dataclass(frozen=True, slots=True)
class GearingStudy:
    """The whole study. `stopped` says what was done when it was asked to stop, and is empty otherwise."""

    car: str
    style: str
    style_key: str
    ground: str
    air_degC: float
    pack: str
    tyre_mm: float
    on_other_tyres: bool
    goal_km_h: float
    minutes: float
    rungs: tuple[LadderRung, ...]
    chosen: LadderRung | None
    bands: Bands | None
    run_time: Figure | None
    curves: Curves | None
    limits: LimitsHere
    one_tooth: tuple[str, ...]
    numbers: tuple[TwinNumber, ...]
    notes: tuple[str, ...]
    fitted: str
    cautions: tuple[Caution, ...]
    heat_cautions: tuple[str, ...]
    stopped: str
    sources: tuple[Cited, ...] = ()


def gearing_study(
    workshop: Workshop, said: GearingSaid, *, rung: str = "", how: HowToRun | None = None
) -> GearingStudy:
    """The ladder of a car, today's rung marked, with bands and curves for the rung that was chosen.

    `rung` names a pinion (“17”) or a pair (“17/54”); today's when empty. A study that is stopped gives the
    rungs that were done. Raises BadInput for what cannot be read and builds that lack a size, Stopped when it
    was stopped before any rung was done.
    """
    asked, how = read_question(workshop, said), how or HowToRun()
    pairs = _pairs(asked)
    if len(pairs) > how.most_rungs:
        raise BadInput(
            f"{len(pairs)} pairs are more than this study takes.",
            f"Ask for {how.most_rungs} at most; the command line takes {MOST_RUNGS}.",
        )
    question = asked.question
    minutes = min(question.style.minutes, MOST_MINUTES)
    question = replace(question, style=replace(question.style, minutes=minutes))
    if question.goal_m_s is None:
        question = replace(question, goal_m_s=_round_goal(top_speed(question, question.car)))
    climbed, stopped = _climb(question, asked.twin, pairs, how)
    rungs = tuple(rung_in_figures(asked, question, one) for one in climbed)
    chosen_n = _chosen(asked, rungs, rung)
    bands = curves = None
    if chosen_n is not None:
        rungs = tuple(replace(one, is_chosen=n == chosen_n) for n, one in enumerate(rungs))
        on_rung = replace(question, car=replace(question.car, final_drive=climbed[chosen_n].final_drive))
        try:
            if not stopped:
                bands = bands_of(on_rung, asked.twin, asked.fit, how.executor, how.should_stop)
                curves = curves_of(on_rung, how)
        except Stopped:
            stopped = "Stopped: the ladder was done, bands and curves were not; nothing was kept or changed."
    chosen = None if chosen_n is None else rungs[chosen_n]
    limits = question.limits
    study = GearingStudy(
        car=asked.car.name,
        style=question.style.name,
        style_key=question.style.key,
        ground=str(tables.row("ground", asked.ground)["name"]),
        air_degC=question.place.air.temperature_degC,
        pack=pack_words(asked.twin),
        tyre_mm=asked.tyre_m * 1e3,
        on_other_tyres=asked.other_tyres,
        goal_km_h=(question.goal_m_s or 0.0) * 3.6,
        minutes=question.style.minutes,
        rungs=rungs,
        chosen=chosen,
        bands=bands,
        run_time=None if bands is None else _run_time(question, bands),
        curves=curves,
        limits=LimitsHere(
            limits.winding_degC,
            limits.can_degC,
            limits.controller_degC,
            limits.pack_degC,
            limits.reserve_share,
        ),
        one_tooth=one_tooth_words(asked, climbed),
        numbers=asked.twin.numbers,
        notes=(*asked.twin.notes, *study_notes(asked)),
        fitted=fitted_words(asked),
        cautions=cautions_of(workshop.facts, CAUTIONS),
        heat_cautions=tables.heat_cautions(),
        stopped=stopped,
    )
    return replace(study, sources=cited(workshop.facts, study))


def _pairs(asked: Asked) -> list[Pair]:
    """The pairs asked for, and today's among them so that there is something to compare with."""
    pairs = [Pair(pinion, spur) for pinion in asked.pinions for spur in asked.spurs]
    return list(dict.fromkeys([*pairs, asked.twin.pair]))


def _round_goal(top_m_s: float) -> float:
    """A round speed in km/h that the car of today reaches well before its top, as m/s."""
    top_km_h = top_m_s * 3.6
    step = 5.0 if top_km_h > 20.0 else 1.0
    return max(math.floor(0.85 * top_km_h / step) * step, 1.0) / 3.6


def _climb(question: Question, twin: Twin, pairs: Sequence[Pair], how: HowToRun) -> tuple[list[Rung], str]:
    """The rungs, some at a time; what was done when it was stopped, in words."""
    ratios = sorted({round(final_drive(pair, twin.internal_ratio), 9) for pair in pairs}, reverse=True)
    groups = [set(ratios[n : n + AT_ONCE]) for n in range(0, len(ratios), AT_ONCE)]
    done: list[Rung] = []
    for n, group in enumerate(groups):
        here = [pair for pair in pairs if round(final_drive(pair, twin.internal_ratio), 9) in group]
        try:
            done += ladder(
                question,
                here,
                internal_ratio=twin.internal_ratio,
                executor=how.executor,
                progress=_part(how.progress, n, len(groups)),
                should_stop=how.should_stop,
            )
        except Stopped:
            if not done:
                raise
            return (
                done,
                f"Stopped: {len(done)} of {len(ratios)} rungs were done; nothing was kept or changed.",
            )
    return done, ""


def _part(progress: Progress | None, n: int, of: int) -> Progress | None:
    if progress is None:
        return None
    tell = progress
    return lambda share: tell((n + share) / of)


def _run_time(question: Question, bands: Bands) -> Figure:
    """How long the charge lasts at the rate of this driving; heat may end it before."""
    spare = question.full_share - question.limits.reserve_share
    rate = bands.charge_rate
    assert rate.low is not None and rate.high is not None
    return Figure(spare / rate.value, "min", spare / rate.high, spare / rate.low, rate.origins)


# The chosen rung.


def _chosen(asked: Asked, rungs: Sequence[LadderRung], words: str) -> int | None:
    if not rungs:
        return None
    if words.strip():
        pinion, _, spur = words.replace(" on ", "/").replace(" ", "").partition("/")
        for n, rung in enumerate(rungs):
            for pair in rung.pairs:
                if str(pair.pinion_teeth) == pinion and spur in ("", str(pair.spur_teeth)):
                    return n
        raise NotKnown(
            f"No rung of this ladder has the pair “{words.strip()}”.",
            "Choose one that is listed, or give more --pinions.",
        )
    today = [n for n, rung in enumerate(rungs) if any(pair.is_today for pair in rung.pairs)]
    return today[0] if today else None
