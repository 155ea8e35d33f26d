"""One rung of the ladder in figures: speed, heat, currents, and what ends the driving."""

from __future__ import annotations

import math
from dataclasses import dataclass

from snugfast.core.figures import Figure
from snugfast.physics.powertrain.powertrain import Limit
from snugfast.physics.powertrain.runs import Alarm, Run
from snugfast.physics.study.gearing import Question, Rung, final_drive
from snugfast.usecases.gearing.mount_reach import PairHere, Reach, pair_here
from snugfast.usecases.gearing.said import Asked
from snugfast.usecases.gearing.wear import PairWear
from snugfast.usecases.twin.of_car import Twin

TALL_CAUTION_OVER = 1.25  # rollout per today's, from where a gear counts as tall
NEAR_LIMIT = 0.9

LAUNCH_WORDS = {
    Limit.THROTTLE: "the motor, at full throttle",
    Limit.MOTOR_CURRENT: "the ESC's limit on motor current",
    Limit.GRIP_OR_DRIVER: "grip",
    Limit.BATTERY_CURRENT: "the ESC's limit on pack current",
    Limit.COASTING: "nothing: it coasts",
    Limit.BRAKE_COMMAND: "the brake",
    Limit.BRAKE_FADING: "the brake",
    Limit.BRAKE_GRIP: "grip under braking",
}


@dataclass(frozen=True, slots=True)
class Heats:
    """Temperatures of the four parts, °C."""

    winding_degC: float
    can_degC: float
    controller_degC: float
    pack_degC: float

    @property
    def by_part(self) -> dict[str, float]:
        """Each part's temperature by its name."""
        return {
            "winding": self.winding_degC,
            "can": self.can_degC,
            "controller": self.controller_degC,
            "pack": self.pack_degC,
        }


@dataclass(frozen=True, slots=True)
class HeatBands:
    """Temperatures of the four parts in °C with their bands; None where no band can be said."""

    winding: Figure | None = None
    can: Figure | None = None
    controller: Figure | None = None
    pack: Figure | None = None


@dataclass(frozen=True, slots=True)
class RungBands:
    """What the twin says of one rung, each with its band: km/h, °C, minutes.

    There is none for heat where the winding would burn if driven on, nor for a run that nothing ends.
    """

    top_speed: Figure | None = None
    peak: HeatBands = HeatBands()
    settled: HeatBands = HeatBands()
    run_time: Figure | None = None


BURNS_degC = 180.0
"""Class H, the hottest insulation that windings have: beyond it there is no temperature, the part is gone."""


def within(value: float, band: Figure | None) -> str:
    """A whole number with its band, where there is one: “68 (55–84)”; a part that would be gone “burns”."""
    if band is None or band.low is None or band.high is None:
        return f"{value:.0f}"
    burns = band.unit == "°C" and band.high >= BURNS_degC
    return f"{value:.0f} ({band.low:.0f}–{'burns' if burns else f'{band.high:.0f}'})"


@dataclass(frozen=True, slots=True)
class LadderRung:
    """One final drive on this car. `settled` is None where the winding would burn if driven on.

    `run_min` is the earliest of charge in reserve, cut-off and heat; `ends_by` names it. Where nothing came
    within the minutes that were driven, `carried_on` says that the charge was carried on at the same rate.
    `bands` are empty where the study was stopped before they were worked out. `wear` is that of today's
    pair, else of the first, beside today's; None on other tyres, and where the twin knows too little.
    """

    final_drive: float
    pairs: tuple[PairHere, ...]
    is_today: bool
    is_chosen: bool
    rollout_mm: float
    top_speed_km_h: float
    goal_s: float | None
    peak: Heats
    settled: Heats | None
    top_motor_A: float
    top_pack_A: float
    rms_motor_A: float
    rms_pack_A: float
    lowest_V: float
    run_min: float
    ends_by: str
    carried_on: bool
    launch_limit: str
    currents: str
    is_tall: bool
    bands: RungBands = RungBands()
    wear: PairWear | None = None

    @property
    def mountable(self) -> bool:
        """Whether at least one of its pairs can be mounted, or might be."""
        return any(pair.reach in (Reach.YES, Reach.DOUBTFUL) for pair in self.pairs)


def rung_in_figures(asked: Asked, question: Question, rung: Rung) -> LadderRung:
    """What a door shows of a rung that was driven."""
    run, settled = rung.run, rung.settled
    pairs = tuple(pair_here(asked.twin, pair) for pair in rung.pairs)
    is_today = any(pair.is_today for pair in pairs)
    run_min, ends_by, carried_on = ending(question, run)
    today_rollout_m = (
        math.tau * asked.twin.tyre_m / 2.0 / final_drive(asked.twin.pair, asked.twin.internal_ratio)
    )
    burns = not math.isfinite(settled.can_degC)
    return LadderRung(
        final_drive=rung.final_drive,
        pairs=pairs,
        is_today=is_today and not asked.other_tyres,
        is_chosen=False,
        rollout_mm=rung.rollout_m * 1e3,
        top_speed_km_h=rung.top_speed_m_s * 3.6,
        goal_s=rung.goal_s if math.isfinite(rung.goal_s) else None,
        peak=Heats(run.top_winding_degC, run.top_can_degC, run.top_controller_degC, run.top_pack_degC),
        settled=None
        if burns
        else Heats(settled.winding_degC, settled.can_degC, settled.controller_degC, settled.pack_degC),
        top_motor_A=run.top_motor_A,
        top_pack_A=run.top_pack_A,
        rms_motor_A=run.rms_motor_A,
        rms_pack_A=run.rms_pack_A,
        lowest_V=run.lowest_V,
        run_min=run_min,
        ends_by=ends_by,
        carried_on=carried_on,
        launch_limit=LAUNCH_WORDS[rung.launch_limit],
        currents=_currents(asked.twin, run),
        is_tall=rung.rollout_m > TALL_CAUTION_OVER * today_rollout_m,
    )


def ending(question: Question, run: Run) -> tuple[float, str, bool]:
    """When the driving ends in minutes, by what, and whether that was carried on beyond what was driven."""
    first = run.first_alarm
    if first is not None:
        return first[1] / 60.0, first[0].value, False
    minutes = charge_lasts_min(question, run)
    return minutes, Alarm.RESERVE.value if math.isfinite(minutes) else "nothing", True


def charge_lasts_min(question: Question, run: Run) -> float:
    """Minutes until the charge ends the driving, carried on at its rate where that was not driven."""
    driven_s = min(run.alarms_s[Alarm.RESERVE], run.alarms_s[Alarm.CUTOFF])
    if math.isfinite(driven_s):
        return driven_s / 60.0
    used = question.full_share - run.end.charge_share
    spare = question.full_share - question.limits.reserve_share
    return run.lasted_s / 60.0 * spare / used if used > 0.0 else math.inf


def _currents(twin: Twin, run: Run) -> str:
    """Currents held against the controller and the plug, in words."""
    bridge = twin.car.controller
    said = []
    if run.top_motor_A >= NEAR_LIMIT * bridge.motor_limit_A:
        said.append(f"at the ESC's {bridge.motor_limit_A:.0f} A in the motor")
    if run.top_pack_A >= NEAR_LIMIT * bridge.battery_limit_A:
        said.append(f"at the ESC's {bridge.battery_limit_A:.0f} A from the pack")
    if twin.plug_A is not None and run.rms_pack_A > twin.plug_A:
        said.append(f"above the {twin.plug_A:.0f} A of the plug")
    if said:
        return ", ".join(said)
    room = 100.0 * run.top_pack_A / bridge.battery_limit_A
    return f"at most {room:.0f} % of what the ESC takes from the pack"
