"""Whether a drive went beyond what its formulas were tried for: its extremes against their spans, once a run.

The marks of the formulas say the spans; this only knows which extreme of a run each of them saw.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass

from snugfast.core.marks import Formula
from snugfast.core.units import ZERO_CELSIUS_K
from snugfast.physics.packs.cells import resistance_factor
from snugfast.physics.powertrain.heat import conductance
from snugfast.physics.powertrain.motor import warm_constant, warm_resistance
from snugfast.physics.powertrain.road import air_force
from snugfast.physics.powertrain.runs import Run
from snugfast.physics.study.gearing import Question

Seen = Callable[[Question, Run], tuple[float, float]]


@dataclass(frozen=True, slots=True)
class Watched:
    """One argument of one formula: in words, its lowest and highest in a run, and how it is shown."""

    formula: Formula[..., float]
    argument: str
    what: str
    of: str
    seen: Seen
    shown: Callable[[float], str]


def _degC(value: float) -> str:
    return f"{value:.0f} °C"


def _from_kelvin(value: float) -> str:
    return _degC(value - ZERO_CELSIUS_K)


def _km_h(value: float) -> str:
    return f"{value * 3.6:.0f} km/h"


def _air(question: Question) -> float:
    return question.place.air.temperature_degC


WATCHED = (
    Watched(
        resistance_factor,
        "temperature_K",
        "the pack",
        "how a pack's resistance goes with its warmth",
        lambda q, run: (_air(q) + ZERO_CELSIUS_K, max(run.top_pack_degC, _air(q)) + ZERO_CELSIUS_K),
        _from_kelvin,
    ),
    Watched(
        warm_resistance,
        "winding_degC",
        "the winding",
        "how copper resists when warm",
        lambda q, run: (_air(q), run.top_winding_degC),
        _degC,
    ),
    Watched(
        warm_constant,
        "magnet_degC",
        "the magnets",
        "how magnets weaken when warm",
        lambda q, run: (_air(q), 0.5 * (run.top_winding_degC + run.top_can_degC)),
        _degC,
    ),
    Watched(
        air_force,
        "speed_m_s",
        "the car",
        "what the air holds back",
        lambda q, run: (0.0, run.top_speed_m_s),
        _km_h,
    ),
    Watched(
        conductance,
        "air_m_s",
        "the air at the motor",
        "how moving air cools",
        lambda q, run: (0.0, q.car.motor_heat.cooling.ram_share * run.top_speed_m_s),
        _km_h,
    ),
)


def beyond_tried(question: Question, runs: Iterable[Run]) -> tuple[str, ...]:
    """One sentence for each formula that the runs took outside the span it was tried in."""
    return tuple(_beyond(question, tuple(runs)))


def _beyond(question: Question, runs: Sequence[Run]) -> Iterator[str]:
    for one in WATCHED:
        span = one.formula.mark.spans[one.argument]
        ends = [one.seen(question, run) for run in runs]
        low, high = min(low for low, _ in ends), max(high for _, high in ends)
        if not span.holds(high):
            tried = f"{one.of} was tried to {one.shown(span.high)}"
            yield f"In these sums {one.what} gets to {one.shown(high)}; {tried}."
        elif not span.holds(low):
            tried = f"{one.of} was tried from {one.shown(span.low)}"
            yield f"In these sums {one.what} starts at {one.shown(low)}; {tried}."
