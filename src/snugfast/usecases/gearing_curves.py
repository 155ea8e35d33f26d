"""The chosen rung in time: a sprint from rest, and the driving until it ends."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TypeVar

from snugfast.physics.driving_styles import Does, Phase
from snugfast.physics.gearing import Question, SPRINT_s
from snugfast.physics.runs import Run, drive
from snugfast.usecases.how_to_run import HowToRun

CURVE_ROWS = 90
TABLE_STEPS = 12
SPRINT_EVERY_s = 0.2
AT_TOP = 0.995  # of the top speed, from where a sprint has nothing more to tell

Moment = TypeVar("Moment")


@dataclass(frozen=True, slots=True)
class SprintRow:
    """One moment of the sprint from rest."""

    second: float
    speed_km_h: float
    motor_A: float
    pack_V: float


@dataclass(frozen=True, slots=True)
class DriveRow:
    """One moment of the driving, in minutes."""

    minute: float
    winding_degC: float
    can_degC: float
    controller_degC: float
    pack_degC: float
    charge_left: float
    pack_V: float


@dataclass(frozen=True, slots=True)
class Curves:
    """The chosen rung in time: a sprint from rest, and the driving until it ends."""

    sprint: tuple[SprintRow, ...]
    drive: tuple[DriveRow, ...]


def curves_of(question: Question, how: HowToRun) -> Curves:
    """The curves of the question's own car."""
    sprint = (Phase(Does.FULL, at_most_s=SPRINT_s),)
    sprinted = drive(
        [question.entry(question.car, sprint)],
        for_s=SPRINT_s,
        trace_every_s=SPRINT_EVERY_s,
        should_stop=how.should_stop,
    )[0]
    minutes_s = question.style.minutes * 60.0
    driven = drive(
        [question.entry(question.car, stop_on_heat=True)],
        for_s=minutes_s,
        trace_every_s=minutes_s / CURVE_ROWS,
        should_stop=how.should_stop,
    )[0]
    return Curves(
        sprint=_sprint_rows(sprinted),
        drive=tuple(
            DriveRow(
                n * question.style.minutes / CURVE_ROWS,
                winding_degC=float(row[5]),
                can_degC=float(row[6]),
                controller_degC=float(row[7]),
                pack_degC=float(row[8]),
                charge_left=float(row[1]),
                pack_V=float(row[2]),
            )
            for n, row in enumerate(driven.trace)
        ),
    )


def _sprint_rows(run: Run) -> tuple[SprintRow, ...]:
    """The sprint until the car is at its top speed, and half as long again."""
    at_top = next(
        (n for n, row in enumerate(run.trace) if row[0] >= AT_TOP * run.top_speed_m_s), len(run.trace) - 1
    )
    return tuple(
        SprintRow(n * SPRINT_EVERY_s, float(row[0]) * 3.6, float(row[3]), float(row[2]))
        for n, row in enumerate(run.trace[: round(1.5 * at_top) + 2])
    )


def some_of(rows: Sequence[Moment]) -> tuple[Moment, ...]:
    """Some moments of a curve for the table under it: evenly, with the first and the last."""
    step = max(1, math.ceil(len(rows) / TABLE_STEPS))
    some = tuple(rows[::step])
    return some if not rows or some[-1] is rows[-1] else (*some, rows[-1])
