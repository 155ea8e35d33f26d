"""The chosen rung in time: a sprint from rest, and the driving until it ends."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TypeVar

from snugfast.physics.powertrain.runs import Run, Traced
from snugfast.physics.study.gearing import RUN_ROWS, Rung, SPRINT_EVERY_s

TABLE_STEPS = 12
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


def curves_of(rung: Rung, minutes: float) -> Curves:
    """The curves of a rung that was driven for so many minutes, until the first thing that ends it."""
    ends_s = math.inf if rung.ends_by is None else rung.ends_by[1]
    each_min = minutes / RUN_ROWS
    return Curves(
        sprint=_sprint_rows(rung.sprint),
        drive=tuple(
            DriveRow(
                n * each_min,
                winding_degC=float(row[Traced.WINDING_degC]),
                can_degC=float(row[Traced.CAN_degC]),
                controller_degC=float(row[Traced.CONTROLLER_degC]),
                pack_degC=float(row[Traced.PACK_degC]),
                charge_left=float(row[Traced.CHARGE_SHARE]),
                pack_V=float(row[Traced.PACK_V]),
            )
            for n, row in enumerate(rung.run.trace)
            if n * each_min * 60.0 <= ends_s
        ),
    )


def _sprint_rows(run: Run) -> tuple[SprintRow, ...]:
    """The sprint until the car is at its top speed, and half as long again."""
    at_top = next(
        (n for n, row in enumerate(run.trace) if row[Traced.SPEED_m_s] >= AT_TOP * run.top_speed_m_s),
        len(run.trace) - 1,
    )
    return tuple(
        SprintRow(
            n * SPRINT_EVERY_s,
            float(row[Traced.SPEED_m_s]) * 3.6,
            float(row[Traced.MOTOR_A]),
            float(row[Traced.PACK_V]),
        )
        for n, row in enumerate(run.trace[: round(1.5 * at_top) + 2])
    )


def some_of(rows: Sequence[Moment]) -> tuple[Moment, ...]:
    """Some moments of a curve for the table under it: evenly, with the first and the last."""
    step = max(1, math.ceil(len(rows) / TABLE_STEPS))
    some = tuple(rows[::step])
    return some if not rows or some[-1] is rows[-1] else (*some, rows[-1])
