"""How sure a twin is of what it says: each guessed number driven a little up and a little down.

Before a fit the guesses are as wide as the tables say, each by itself; after it they are as the readings left
them, together. A band holds nine in ten.
"""

from __future__ import annotations

import math
from concurrent.futures import Executor
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from snugfast.core.figures import Figure, Origin
from snugfast.physics.driving_styles import Does, Phase
from snugfast.physics.gearing import HURRY, Question, SETTLED_OVER_s, SETTLES_AFTER_s, SPRINT_s
from snugfast.physics.knobs import Knob, turned
from snugfast.physics.runs import Run, ShouldStop, drive
from snugfast.usecases.twin_fit_kept import KeptFit
from snugfast.usecases.twin_of_car import Twin
from snugfast.usecases.twin_tables import COVERS_NINE_IN_TEN

NUDGE = 0.05  # of the logarithm
COUNTED_OVER_s = 300.0
MODEL = Origin("twin-estimates", "the twin, with every guess driven up and down")
FITTED = Origin("mine", "the twin, fitted to your readings")


@dataclass(frozen=True, slots=True)
class Bands:
    """What the twin says of one rung, each with its band; `settles` is None where the winding would burn."""

    top_speed: Figure
    can: Figure | None
    winding: Figure | None
    controller: Figure | None
    charge_rate: Figure  # of the pack's capacity, per minute


def bands_of(
    question: Question, twin: Twin, fit: KeptFit | None, executor: Executor | None, should_stop: ShouldStop
) -> Bands:
    """The bands of one rung: the question is turned by the fit already, if there is one."""
    knobs = list(fit.knobs) if fit is not None else [knob for knob in Knob if twin.spreads[knob] > 0.0]
    questions = [question, *_by_knob(question, knobs), *_by_mass_and_pack(question)]
    told = _told(questions, executor, should_stop)
    slopes = (told[1::2] - told[2::2]) / (2.0 * NUDGE)
    covariance = np.zeros((len(knobs) + 2, len(knobs) + 2))
    if fit is not None:
        covariance[: len(knobs), : len(knobs)] = np.array(fit.log_covariance)
    else:
        np.fill_diagonal(covariance, [*(twin.spreads[knob] ** 2 for knob in knobs), 0.0, 0.0])
    covariance[-2, -2], covariance[-1, -1] = twin.mass_spread**2, twin.pack_spread**2
    # All predictions are logarithms, so that a band never goes below zero (or below the air).
    spread = np.sqrt(np.einsum("ki,kl,li->i", slopes, covariance, slopes))
    origin = FITTED if fit is not None else MODEL
    air = question.place.air.temperature_degC

    def figure(n: int, unit: str, above: float = 0.0) -> Figure | None:
        if not math.isfinite(told[0, n]) or not math.isfinite(spread[n]):
            return None
        middle, wide = math.exp(told[0, n]), math.exp(COVERS_NINE_IN_TEN * spread[n])
        return Figure(above + middle, unit, above + middle / wide, above + middle * wide, (origin,))

    speed, rate = figure(0, "m/s"), figure(4, "1/min")
    assert speed is not None and rate is not None
    return Bands(speed, figure(1, "°C", air), figure(2, "°C", air), figure(3, "°C", air), rate)


def _by_knob(question: Question, knobs: list[Knob]) -> list[Question]:
    return [turned(question, {knob: math.exp(sign * NUDGE)}) for knob in knobs for sign in (1.0, -1.0)]


def _by_mass_and_pack(question: Question) -> list[Question]:
    car = question.car
    heavier = [replace(car, mass_kg=car.mass_kg * math.exp(sign * NUDGE)) for sign in (1.0, -1.0)]
    harder = [
        replace(car, pack=replace(car.pack, resistance_ohm=car.pack.resistance_ohm * math.exp(sign * NUDGE)))
        for sign in (1.0, -1.0)
    ]
    return [replace(question, car=one) for one in (*heavier, *harder)]


def _told(
    questions: list[Question], executor: Executor | None, should_stop: ShouldStop
) -> NDArray[np.float64]:
    """Logarithms of top speed, three rises above the air, and the rate of charge; shape (questions, 5)."""
    sprint = (Phase(Does.FULL, at_most_s=SPRINT_s),)

    def driven(entries: list[object], for_s: float) -> list[Run]:
        return drive(entries, for_s=for_s, executor=executor, should_stop=should_stop)  # type: ignore[arg-type]

    sprints = driven([q.entry(q.car, sprint) for q in questions], SPRINT_s)
    counted = driven([q.entry(q.car, stop_on_charge=False) for q in questions], COUNTED_OVER_s)
    settled = driven(
        [
            q.entry(
                q.car,
                endless_pack=True,
                hurry=HURRY,
                start=replace(q.start(), charge_share=0.6),
                stop_on_charge=False,
                mean_from_s=SETTLES_AFTER_s - SETTLED_OVER_s,
            )
            for q in questions
        ],
        SETTLES_AFTER_s,
    )
    rows = [
        (
            sprinted.top_speed_m_s,
            ran.mean_can_degC - q.place.air.temperature_degC,
            ran.mean_winding_degC - q.place.air.temperature_degC,
            ran.mean_controller_degC - q.place.air.temperature_degC,
            (q.full_share - used.end.charge_share) / max(used.lasted_s / 60.0, 1e-9),
        )
        for q, sprinted, used, ran in zip(questions, sprints, counted, settled, strict=True)
    ]
    with np.errstate(invalid="ignore", divide="ignore"):
        logs: NDArray[np.float64] = np.log(np.array(rows))
    return logs
