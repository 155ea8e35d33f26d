"""The gearing study of a car: a ladder of final drives, and what each does to speed, heat and run time."""

from __future__ import annotations

import math
from collections.abc import Sequence
from concurrent.futures import Executor
from dataclasses import dataclass, replace
from typing import TypeVar

from snugfast.core.errors import BadInput, NotKnown
from snugfast.core.figures import Figure
from snugfast.physics.driving_styles import Does, Phase
from snugfast.physics.gearing import Pair, Question, Rung, SPRINT_s, final_drive, ladder, top_speed
from snugfast.physics.powertrain import Limit
from snugfast.physics.runs import Alarm, Progress, Run, ShouldStop, Stopped, drive
from snugfast.usecases import twin_tables as tables
from snugfast.usecases.build_read import TwinNumber, notes_of
from snugfast.usecases.citing import Cited, cited
from snugfast.usecases.gearing_bands import Bands, bands_of
from snugfast.usecases.gearing_said import Asked, GearingSaid, read_question
from snugfast.usecases.mount_reach import PairHere, Reach, pair_here
from snugfast.usecases.sheet_words import Caution, cautions_of
from snugfast.usecases.twin_of_car import Twin
from snugfast.usecases.workshop import Workshop

CAUTIONS = ("gears-on-stand", "tall-gear", "fast-car-people", "hot-parts", "local-rules")
TALL_CAUTION_OVER = 1.25  # rollout per today's, from where a gear counts as tall
AT_ONCE = 32  # rungs: two blocks of the kernel
CURVE_ROWS = 90
TABLE_STEPS = 12
SPRINT_EVERY_s = 0.2
AT_TOP = 0.995  # of the top speed, from where a sprint has nothing more to tell

Moment = TypeVar("Moment")
NEAR_LIMIT = 0.9
MOST_RUNGS = 320
MOST_MINUTES = 40.0  # driven; where temperatures settle is driven by itself, and charge is carried on

LAUNCH_WORDS = {
    Limit.THROTTLE: "the motor, at full throttle",
    Limit.MOTOR_CURRENT: "the controller's limit on motor current",
    Limit.GRIP_OR_DRIVER: "grip",
    Limit.BATTERY_CURRENT: "the controller's limit on pack current",
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


@dataclass(frozen=True, slots=True)
class LadderRung:
    """One final drive on this car. `settled` is None where the winding would burn if driven on.

    `run_min` is the earliest of charge in reserve, cut-off and heat; `ends_by` names it. Where nothing came
    within the minutes that were driven, `carried_on` says that the charge was carried on at the same rate.
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

    @property
    def mountable(self) -> bool:
        """Whether at least one of its pairs can be mounted, or might be."""
        return any(pair.reach in (Reach.YES, Reach.DOUBTFUL) for pair in self.pairs)


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


@dataclass(frozen=True, slots=True)
class HowToRun:
    """What a door hands in for a study: threads, ears for progress and stop, and how long it may get."""

    executor: Executor | None = None
    progress: Progress | None = None
    should_stop: ShouldStop = lambda: False
    most_rungs: int = MOST_RUNGS


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
    rungs = tuple(_rung(asked, question, one) for one in climbed)
    chosen_n = _chosen(asked, rungs, rung)
    bands = curves = None
    if chosen_n is not None:
        rungs = tuple(replace(one, is_chosen=n == chosen_n) for n, one in enumerate(rungs))
        on_rung = replace(question, car=replace(question.car, final_drive=climbed[chosen_n].final_drive))
        try:
            if not stopped:
                bands = bands_of(on_rung, asked.twin, asked.fit, how.executor, how.should_stop)
                curves = _curves(on_rung, how)
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
        pack=_pack_words(asked.twin),
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
        one_tooth=_one_tooth(asked, climbed),
        numbers=asked.twin.numbers,
        notes=(*asked.twin.notes, *_notes(asked)),
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


# A rung in figures.


def _rung(asked: Asked, question: Question, rung: Rung) -> LadderRung:
    run, settled = rung.run, rung.settled
    pairs = tuple(pair_here(asked.twin, pair) for pair in rung.pairs)
    is_today = any(pair.is_today for pair in pairs)
    run_min, ends_by, carried_on = _ending(question, run)
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


def _ending(question: Question, run: Run) -> tuple[float, str, bool]:
    """When the driving ends in minutes, by what, and whether that was carried on beyond what was driven."""
    first = run.first_alarm
    if first is not None:
        return first[1] / 60.0, first[0].value, False
    used = question.full_share - run.end.charge_share
    spare = question.full_share - question.limits.reserve_share
    if used <= 0.0:
        return math.inf, "nothing", True
    return run.lasted_s / 60.0 * spare / used, Alarm.RESERVE.value, True


def _currents(twin: Twin, run: Run) -> str:
    """Currents held against the controller and the plug, in words."""
    bridge = twin.car.controller
    said = []
    if run.top_motor_A >= NEAR_LIMIT * bridge.motor_limit_A:
        said.append(f"at the controller's {bridge.motor_limit_A:.0f} A in the motor")
    if run.top_pack_A >= NEAR_LIMIT * bridge.battery_limit_A:
        said.append(f"at the controller's {bridge.battery_limit_A:.0f} A from the pack")
    if twin.plug_A is not None and run.rms_pack_A > twin.plug_A:
        said.append(f"above the {twin.plug_A:.0f} A of the plug")
    if said:
        return ", ".join(said)
    room = 100.0 * run.top_pack_A / bridge.battery_limit_A
    return f"at most {room:.0f} % of what the controller takes from the pack"


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


def _curves(question: Question, how: HowToRun) -> Curves:
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


def _one_tooth(asked: Asked, climbed: Sequence[Rung]) -> tuple[str, ...]:
    """One tooth up and one down of the pinion, each in one sentence, where the ladder has them."""
    from snugfast.physics.gearing import one_tooth

    by_pair = {pair: rung for rung in climbed for pair in rung.pairs}
    today = asked.twin.pair
    said = []
    for step, word in ((1, "One tooth more"), (-1, "One tooth less")):
        pair = replace(today, pinion_teeth=today.pinion_teeth + step) if today.pinion_teeth + step else today
        if pair in by_pair and today in by_pair:
            said.append(f"{word} ({pair.pinion_teeth}): {_lower(one_tooth(by_pair[today], by_pair[pair]))}")
    return tuple(said)


def _lower(text: str) -> str:
    return text[:1].lower() + text[1:]


def some_of(rows: Sequence[Moment]) -> tuple[Moment, ...]:
    """Some moments of a curve for the table under it: evenly, with the first and the last."""
    step = max(1, math.ceil(len(rows) / TABLE_STEPS))
    some = tuple(rows[::step])
    return some if not rows or some[-1] is rows[-1] else (*some, rows[-1])


# Words.


def _pack_words(twin: Twin) -> str:
    pack = twin.car.pack
    return f"{twin.pack.name}: {pack.series_cells} cells, {pack.capacity_Ah:g} Ah"


def fitted_words(asked: Asked) -> str:
    """Whether the twin was fitted, and whether the fit is old."""
    fit = asked.fit
    if fit is None:
        return (
            "Not fitted: log runs with the temperature of the can (and of the air, and the seconds after the "
            "stop), the charge put back, the top speed, or laps of two set-ups on one track, then fit the "
            "twin to them."
        )
    count = f"{fit.readings} reading" + ("" if fit.readings == 1 else "s")
    old = " Entries about this car came since: fit it again." if fit.newer else ""
    return f"Fitted to {count} of yours.{old}"


def _notes(asked: Asked) -> tuple[str, ...]:
    notes = [notes_of(asked.twin.numbers)]
    if not asked.ambient_said:
        notes.append(
            f"Nobody said how warm the air is: {asked.question.place.air.temperature_degC:g} °C is taken."
        )
    if not asked.twin.has_fan:
        notes.append("This car has no fan on its controller.")
    if asked.twin.slot.low is not None:
        notes.append(
            "How far the motor slides is a guess; measure the slots and add slot_mm to the sizes of the "
            "motor mount."
        )
    return tuple(filter(None, notes))
