"""Driving styles: what the driver does, so that a change to the car changes the outcome.

A style is a lap of phases, driven until the pack or the minutes are up. A phase says what the driver does and
what he waits for: a distance, a speed, a time, or the point from which he must brake to make the next bend. A
faster set-up reaches the bend sooner and brakes earlier; a weak one never sees the speed it is told to reach.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, replace
from enum import Enum
from typing import Any

from snugfast.core.errors import ImpossibleInput


class Does(Enum):
    """What the driver does in a phase."""

    FULL = "full throttle"
    HOLD = "hold a speed"
    BRAKE = "brake"
    WAIT = "wait"


@dataclass(frozen=True, slots=True)
class Phase:
    """One thing the driver does, until the first of its ends is reached.

    `then_m_s` is the speed of the next bend: full throttle ends where braking has to begin for it.
    `wheel_spin` says how far the driver lets the wheels run ahead where grip ends, 0 to 1; `slide` is the
    drag of tyres that slide sideways, as a share of the weight.
    """

    does: Does
    throttle: float = 1.0
    brake: float = 1.0
    speed_m_s: float = 0.0
    grade: float = 0.0
    at_most_s: float = math.inf
    at_most_m: float = math.inf
    until_faster_than_m_s: float = math.inf
    until_slower_than_m_s: float = -math.inf
    then_m_s: float = math.inf
    wheel_spin: float = 0.0
    slide: float = 0.0

    def __post_init__(self) -> None:
        ends = (self.at_most_s, self.at_most_m, self.until_faster_than_m_s, -self.until_slower_than_m_s)
        if all(math.isinf(end) for end in ends):
            raise ImpossibleInput(
                "A phase of driving without an end never ends.", "Give seconds, metres or a speed."
            )
        if not math.isfinite(self.at_most_s):
            raise ImpossibleInput(
                "A phase of driving has to give up some time, for a car that never gets there.",
                "Add at_most_s.",
            )
        if not all(0.0 <= share <= 1.0 for share in (self.throttle, self.brake, self.wheel_spin, self.slide)):
            raise ImpossibleInput(
                "Throttle, brake, wheel spin and slide are shares from 0 to 1.", "Write 60 % as 0.6."
            )
        if self.does is Does.HOLD and self.speed_m_s < 0.0:
            raise ImpossibleInput("A speed to hold is not negative.", "Give m/s, zero to stand.")


@dataclass(frozen=True, slots=True)
class Style:
    """A way of driving: a lap over and over for some minutes, on one of the kinds of ground it belongs to.

    A style that is `all_out` is the same however hard one drives: passes at full throttle.
    """

    key: str
    name: str
    grounds: tuple[str, ...]
    minutes: float
    lap: tuple[Phase, ...]
    all_out: bool = False


FASTER, SOFTER_THUMB = 0.35, 0.6
MOST_SLIDE = 0.6
"""How bend speeds and, below usual effort, the thumb go with the effort (exponents, elicited)."""


def driven_harder(style: Style, effort: float) -> Style:
    """The same way of driving by somebody who drives harder (above 1) or softer (below 1).

    Harder is: bends taken faster and sliding more, less waiting, wheels spun further; softer also a thumb
    that does not go all the way. Charge used per minute goes about as the effort does.
    """
    if style.all_out or effort == 1.0:
        return style
    return replace(style, lap=tuple(_harder(phase, effort) for phase in style.lap))


def _harder(phase: Phase, effort: float) -> Phase:
    faster = effort**FASTER
    at_wheels = phase.does in (Does.FULL, Does.HOLD)
    return replace(
        phase,
        throttle=phase.throttle * min(effort, 1.0) ** SOFTER_THUMB
        if phase.does is Does.FULL
        else phase.throttle,
        speed_m_s=phase.speed_m_s * faster,
        slide=min(phase.slide * effort, MOST_SLIDE),
        at_most_s=phase.at_most_s if at_wheels or phase.does is Does.BRAKE else phase.at_most_s / effort,
        until_slower_than_m_s=phase.until_slower_than_m_s * faster,
        then_m_s=phase.then_m_s * faster,
        wheel_spin=min(phase.wheel_spin * effort, 1.0),
    )


def style_from(key: str, row: Mapping[str, Any]) -> Style:
    """A style as its table has it: `name`, `grounds`, `minutes`, and a `lap` of phases.

    Raises ImpossibleInput when a phase cannot be driven.
    """
    return Style(
        key=key,
        name=row["name"],
        grounds=tuple(row["grounds"]),
        minutes=float(row["minutes"]),
        all_out=bool(row.get("all_out", False)),
        lap=tuple(_phase_from(one) for one in row["lap"]),
    )


def _phase_from(row: Mapping[str, Any]) -> Phase:
    given = dict(row)
    does = Does(given.pop("does"))
    return Phase(does=does, **{name: float(value) for name, value in given.items()})
