"""Short questions about gearing, each answered in one sentence with its figures.

Bigger tyres, full-speed passes on a tall pinion, a stopped fan, a learner's speed.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

from snugfast.core.errors import BadInput
from snugfast.core.figures import Figure, Origin
from snugfast.physics.powertrain.driving_styles import Does, Phase, Style
from snugfast.physics.powertrain.powertrain import Place
from snugfast.physics.powertrain.runs import drive
from snugfast.physics.study.bigger_tyres import BiggerTyre, bigger_tyre
from snugfast.physics.study.endurance import FanStopped, Passes, fan_stopped, passes_until_hot
from snugfast.physics.study.gearing import Pair, Question, SPRINT_s, final_drive
from snugfast.physics.study.throttle_limit import throttle_limit_for
from snugfast.usecases.gearing.mount_reach import PairHere, pair_here
from snugfast.usecases.gearing.said import Asked, GearingSaid, read_question, read_speed
from snugfast.usecases.gearing.words import fitted_words
from snugfast.usecases.shared.cautions import Caution, cautions_of
from snugfast.usecases.shared.citing import Cited, cited
from snugfast.usecases.shared.workshop import Workshop
from snugfast.usecases.twin import tables
from snugfast.usecases.twin.how_to_run import HowToRun

MODEL = Origin("twin-estimates", "the model of this car")
TYRE_CAUTIONS = ("power-off", "hot-parts", "gears-on-stand")
PASS_CAUTIONS = ("fast-car-people", "tall-gear", "gears-on-stand", "hot-parts", "local-rules")
FAN_CAUTIONS = ("hot-parts", "power-off")
LEARNER_CAUTIONS = ("fast-car-people", "stand-clear", "stand-low-throttle", "radio-order")
PASSES = "speed_passes"
TALLER_BY = 1.6
TUNED = (
    "Driving styles and estimates were chosen so that the car model agrees with common practice here: "
    "it is consistent with practice, not proof of it."
)


@dataclass(frozen=True, slots=True)
class TyreRow:
    """One pinion on the other tyres."""

    pair: PairHere
    rollout_mm: float
    top_speed_km_h: float
    can_degC: float | None

    @property
    def cells(self) -> tuple[str, ...]:
        """Pinion on spur, rollout, top speed, steady motor temperature, as a row of a table."""
        return (
            self.pair.words,
            f"{self.rollout_mm:.1f} mm",
            f"{self.top_speed_km_h:.0f} km/h",
            "burns" if self.can_degC is None else f"{self.can_degC:.0f} °C",
        )


@dataclass(frozen=True, slots=True)
class TyreAnswer:
    """What other tyres ask of the pinion. `same_heat` is None when no pinion brings the temperature back."""

    car: str
    sentence: str
    why: str
    same_rollout: Figure
    same_heat: Figure | None
    coolest_teeth: int
    today_can: Figure
    unchanged_can: Figure | None
    rows: tuple[TyreRow, ...]
    notes: tuple[str, ...]
    cautions: tuple[Caution, ...]
    sources: tuple[Cited, ...] = ()


def ask_bigger_tyre(
    workshop: Workshop, said: GearingSaid, tyre: str, how: HowToRun | None = None
) -> TyreAnswer:
    """The pinions that bring back rollout and temperature on other tyres."""
    how = how or HowToRun()
    asked = read_question(workshop, replace(said, tyre=""))
    other = read_question(workshop, replace(said, tyre=tyre))
    found = bigger_tyre(
        asked.question,
        other.question.car,
        asked.twin.pair,
        internal_ratio=asked.twin.internal_ratio,
        executor=how.executor,
        progress=how.progress,
        should_stop=how.should_stop,
    )
    rows = tuple(
        TyreRow(
            pair_here(asked.twin, Pair(teeth, asked.twin.pair.spur_teeth)),
            rung.rollout_m * 1e3,
            rung.top_speed_m_s * 3.6,
            rung.settled.can_degC if math.isfinite(rung.settled.can_degC) else None,
        )
        for teeth, rung in found.rungs
    )
    unchanged = found.unchanged.settled.can_degC
    answer = TyreAnswer(
        car=asked.car.name,
        sentence=_tyre_sentence(asked, other.tyre_m, found),
        why=found.why_they_differ,
        same_rollout=Figure(found.same_rollout_teeth, "1", origins=(MODEL,)),
        same_heat=None
        if found.same_heat_teeth is None
        else Figure(found.same_heat_teeth, "1", origins=(MODEL,)),
        coolest_teeth=found.coolest_teeth,
        today_can=Figure(found.today.settled.can_degC, "°C", origins=(MODEL,)),
        unchanged_can=Figure(unchanged, "°C", origins=(MODEL,)) if math.isfinite(unchanged) else None,
        rows=rows,
        notes=(TUNED, fitted_words(asked)),
        cautions=cautions_of(workshop.facts, TYRE_CAUTIONS),
    )
    return replace(answer, sources=cited(workshop.facts, answer))


def _tyre_sentence(asked: Asked, tyre_m: float, found: BiggerTyre) -> str:
    today = asked.twin.pair.pinion_teeth
    head = (
        f"On {tyre_m * 1e3:.0f} mm tyres instead of {asked.twin.tyre_m * 1e3:.0f} mm, "
        f"{found.same_rollout_teeth:.1f} teeth on the pinion bring back today's rollout "
        f"(take {round(found.same_rollout_teeth)} for {today})"
    )
    can = found.today.settled.can_degC
    if found.same_heat_teeth is None:
        return (
            f"{head}; no pinion brings the can back to {can:.0f} °C, {found.coolest_teeth} teeth run coolest."
        )
    heat = found.same_heat_teeth
    return f"{head}, and {heat:.1f} bring the can back to {can:.0f} °C (take {math.floor(heat)})."


@dataclass(frozen=True, slots=True)
class PassesRow:
    """Full-speed passes on one pinion. `pause_min` is None when none is needed or an hour is too short."""

    pair: PairHere
    passes: int
    ends_by: str
    top_speed_km_h: float
    pause_min: float | None
    resume_below_degC: float | None
    sentence: str


@dataclass(frozen=True, slots=True)
class PassesAnswer:
    """Passes on today's pinion and on taller ones."""

    car: str
    sentence: str
    rows: tuple[PassesRow, ...]
    notes: tuple[str, ...]
    cautions: tuple[Caution, ...]


def ask_passes(workshop: Workshop, said: GearingSaid, how: HowToRun | None = None) -> PassesAnswer:
    """How many full-speed passes each pinion stands before it must cool, and the pause it needs then."""
    how = how or HowToRun()
    asked = read_question(workshop, replace(said, style=PASSES, ground=said.ground or "tarmac"))
    twin, today = asked.twin, asked.twin.pair
    taller = max(round(TALLER_BY * today.pinion_teeth), today.pinion_teeth + 2)
    wanted = asked.pinions if said.pinions.strip() else (taller,)
    pairs = [Pair(teeth, today.spur_teeth) for teeth in dict.fromkeys((today.pinion_teeth, *wanted))]
    found = passes_until_hot(
        asked.question,
        [replace(asked.question.car, final_drive=final_drive(pair, twin.internal_ratio)) for pair in pairs],
        executor=how.executor,
        progress=how.progress,
        should_stop=how.should_stop,
    )
    rows = [_passes_row(asked, pair, passes) for pair, passes in zip(pairs, found, strict=True)]
    return PassesAnswer(
        car=asked.car.name,
        sentence=rows[-1].sentence,
        rows=tuple(rows),
        notes=(TUNED, fitted_words(asked)),
        cautions=cautions_of(workshop.facts, PASS_CAUTIONS),
    )


def _passes_row(asked: Asked, pair: Pair, found: Passes) -> PassesRow:
    speed = found.top_speed_m_s * 3.6
    head = f"{pair.pinion_teeth} on {pair.spur_teeth} teeth: {speed:.0f} km/h"
    pause_min = found.pause_s / 60.0 if math.isfinite(found.pause_s) and found.ends_by is not None else None
    if found.ends_by is None:
        sentence = (
            f"{head}, {found.passes} passes in {asked.question.style.minutes:.0f} min, and nothing too hot."
        )
    elif pause_min is None:
        sentence = f"{head}, {found.passes} passes, then {found.ends_by.value}: stop for this pack."
    else:
        sentence = (
            f"{head}, {found.passes} passes, then {found.ends_by.value}: let it stand {pause_min:.0f} min, "
            f"until {found.resume_below_degC:.0f} °C."
        )
    return PassesRow(
        pair=pair_here(asked.twin, pair),
        passes=found.passes,
        ends_by="" if found.ends_by is None else found.ends_by.value,
        top_speed_km_h=speed,
        pause_min=pause_min,
        resume_below_degC=None if math.isnan(found.resume_below_degC) else found.resume_below_degC,
        sentence=sentence,
    )


@dataclass(frozen=True, slots=True)
class FanRow:
    """One style with the fan turning and with the fan stopped; None where the limit never comes."""

    style: str
    running_min: float | None
    stopped_min: float | None
    running_top_degC: float
    stopped_top_degC: float


@dataclass(frozen=True, slots=True)
class FanAnswer:
    """A stopped fan, style by style."""

    car: str
    sentence: str
    limit_degC: float
    rows: tuple[FanRow, ...]
    notes: tuple[str, ...]
    cautions: tuple[Caution, ...]


def ask_fan_stopped(workshop: Workshop, said: GearingSaid, how: HowToRun | None = None) -> FanAnswer:
    """Minutes until the controller's limit with its fan stopped, by style.

    Raises BadInput for a car that has no fan.
    """
    how = how or HowToRun()
    asked = read_question(workshop, said)
    if not asked.twin.has_fan:
        raise BadInput(
            f"{asked.car.name} has no fan on its ESC.",
            "If it has one, say so in the traits of its build.",
        )
    keys = (said.style.strip(),) if said.style.strip() else _styles_for(asked)
    ground = said.ground.strip().replace(" ", "_")
    found = fan_stopped(
        [_in_style(asked, tables.style(key), ground) for key in keys],
        executor=how.executor,
        progress=how.progress,
        should_stop=how.should_stop,
    )
    rows = [_fan_row(one) for one in found]
    limit = asked.question.limits.controller_degC
    return FanAnswer(
        car=asked.car.name,
        sentence=_fan_sentence(rows, limit, asked.question.place.air.temperature_degC),
        limit_degC=limit,
        rows=tuple(rows),
        notes=(TUNED, fitted_words(asked)),
        cautions=cautions_of(workshop.facts, FAN_CAUTIONS),
    )


def _in_style(asked: Asked, style: Style, ground: str) -> Question:
    """The question in another style, on the ground that was named or the style's own."""
    place = Place(tables.ground(ground or style.grounds[0]), asked.question.place.air)
    return replace(asked.question, place=place, style=style)


def _fan_row(found: FanStopped) -> FanRow:
    return FanRow(
        found.style.name,
        _minutes(found.running_s),
        _minutes(found.stopped_s),
        found.running_top_degC,
        found.stopped_top_degC,
    )


def _styles_for(asked: Asked) -> tuple[str, ...]:
    if asked.twin.kind.style == "rocks":
        return ("rocks", "trail")
    if asked.twin.kind.style == "tarmac_laps":
        return ("tarmac_laps", PASSES)
    return ("grass", "gravel", "dirt_laps", "tarmac_laps")


def _minutes(seconds: float) -> float | None:
    return seconds / 60.0 if math.isfinite(seconds) else None


def _fan_sentence(rows: list[FanRow], limit_degC: float, air_degC: float) -> str:
    hot = [row for row in rows if row.stopped_min is not None]
    if not hot:
        top = max(row.stopped_top_degC for row in rows)
        return (
            f"With its fan stopped the ESC comes to {top:.0f} °C at {air_degC:.0f} °C in the air, "
            f"below its {limit_degC:.0f} °C: look at the fan all the same, a warmer day is enough."
        )
    worst = min(hot, key=lambda row: row.stopped_min or math.inf)
    return (
        f"With its fan stopped the ESC reaches {limit_degC:.0f} °C after {worst.stopped_min:.0f} min "
        f"of {worst.style}, at {air_degC:.0f} °C in the air."
    )


@dataclass(frozen=True, slots=True)
class LearnerAnswer:
    """The throttle travel that keeps a car below a speed; None when it does not reach that speed at all."""

    car: str
    sentence: str
    wanted_km_h: float
    throttle: Figure | None
    reached_km_h: float
    cautions: tuple[Caution, ...]


def ask_learner(workshop: Workshop, said: GearingSaid, speed: str) -> LearnerAnswer:
    """The throttle limit for a learner, and what the car then reaches on the flat with a full pack."""
    asked = read_question(workshop, said)
    question, wanted_m_s = asked.question, read_speed(speed, "learner")
    throttle = throttle_limit_for(question, wanted_m_s)
    sprint = (Phase(Does.FULL, throttle=1.0 if throttle is None else throttle, at_most_s=SPRINT_s),)
    reached_m_s = drive([question.entry(question.car, sprint)], for_s=SPRINT_s)[0].top_speed_m_s
    if throttle is None:
        sentence = (
            f"{asked.car.name} reaches {reached_m_s * 3.6:.0f} km/h here at full throttle: "
            f"no limit is needed for {wanted_m_s * 3.6:.0f} km/h."
        )
    else:
        sentence = (
            f"Limit the throttle of the transmitter to {throttle * 100:.0f} %: {asked.car.name} then stays "
            f"below {wanted_m_s * 3.6:.0f} km/h on the flat. Try it on the ground, "
            "with a second person watching."
        )
    return LearnerAnswer(
        car=asked.car.name,
        sentence=sentence,
        wanted_km_h=wanted_m_s * 3.6,
        throttle=None if throttle is None else Figure(throttle, "1", origins=(MODEL,)),
        reached_km_h=reached_m_s * 3.6,
        cautions=cautions_of(workshop.facts, LEARNER_CAUTIONS),
    )
