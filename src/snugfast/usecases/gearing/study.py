"""The gearing study of a car: a ladder of final drives, and what each does to speed, heat and run time."""

from __future__ import annotations

import math
import pickle
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from hashlib import sha256
from itertools import repeat

from snugfast.core.errors import BadInput, NotKnown
from snugfast.core.ways_out import Action, WayOut
from snugfast.physics.powertrain.runs import Driving, Progress, Run, Stopped
from snugfast.physics.study.gearing import Climb, Pair, Question, Rung, by_ratio, top_speed
from snugfast.physics.study.tried_ranges import beyond_tried
from snugfast.usecases.gearing.bands import BandsAlong, anchors
from snugfast.usecases.gearing.curves import Curves, curves_of
from snugfast.usecases.gearing.rungs import LadderRung, RungBands, rung_in_figures
from snugfast.usecases.gearing.said import Asked, GearingSaid, read_question
from snugfast.usecases.gearing.wear import PairWear, wear_of_pairs
from snugfast.usecases.gearing.words import (
    fitted_words,
    full_throttle_words,
    one_tooth_words,
    pack_words,
    study_notes,
)
from snugfast.usecases.shared.cautions import Caution, cautions_of
from snugfast.usecases.shared.citing import Cited, cited
from snugfast.usecases.shared.workshop import Workshop
from snugfast.usecases.twin import tables
from snugfast.usecases.twin.build_read import TwinNumber
from snugfast.usecases.twin.how_to_run import MOST_RUNGS, HowToRun

MOST_LADDERS = 8
_ladders: dict[bytes, tuple[list[Rung], list[RungBands] | None, str]] = {}  # climbed last; never changed
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

    @property
    def in_reach(self) -> tuple[LadderRung, ...]:
        """What the motor mount reaches, or may, and today's, from the shortest gearing to the tallest."""
        return tuple(rung for rung in self.rungs if rung.mountable or rung.is_today)

    @property
    def out_of_reach(self) -> tuple[LadderRung, ...]:
        """What the mount does not reach; it comes last."""
        return tuple(rung for rung in self.rungs if not (rung.mountable or rung.is_today))

    @property
    def driving(self) -> str:
        """The way of driving, and the ground where its name does not say it."""
        return self.style if self.ground in self.style else f"{self.style}, on {self.ground}"


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
    of_ratio = by_ratio(pairs, asked.twin.internal_ratio)
    chosen_ratio = _chosen(of_ratio, rung, asked.twin.pair)
    climbed, bands, stopped = _climbed(asked, question, of_ratio, chosen_ratio, how)
    wear = () if stopped else _wear(workshop, asked, climbed)
    rungs = tuple(
        replace(
            rung_in_figures(asked, question, one),
            is_chosen=one.final_drive == chosen_ratio,
            bands=band,
            wear=worn,
        )
        for one, band, worn in zip(climbed, bands or repeat(RungBands()), wear or repeat(None), strict=False)
    )
    chosen_n = next((n for n, one in enumerate(rungs) if one.is_chosen), None)
    chosen = None if chosen_n is None else rungs[chosen_n]
    curves = None if chosen_n is None else curves_of(climbed[chosen_n], minutes)
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
        notes=(
            *full_throttle_words(None if chosen_n is None else climbed[chosen_n]),
            *(() if chosen_n is None else beyond_tried(question, climbed[chosen_n].drives)),
            *asked.twin.notes,
            *study_notes(asked),
        ),
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


def _climbed(
    asked: Asked, question: Question, of_ratio: Mapping[float, tuple[Pair, ...]], chosen: float, how: HowToRun
) -> tuple[list[Rung], list[RungBands] | None, str]:
    """The ladder as it was climbed before, where all that it rests on is the same to the last digit.

    Most entries change nothing of it: a run, a check, a charge.
    """
    learned = None if asked.fit is None else asked.fit.learned.on(question.style.key)
    rests_on = (question, tuple(of_ratio.items()), chosen, tuple(asked.twin.spreads.items()), learned)
    mark = sha256(pickle.dumps(rests_on)).digest()
    if mark in _ladders:
        return _ladders[mark]
    ladder = _climb(asked, question, of_ratio, chosen, how)
    if not ladder[2]:  # not stopped
        _ladders[mark] = ladder
        while len(_ladders) > MOST_LADDERS:
            _ladders.pop(next(iter(_ladders)), None)
    return ladder


def _climb(
    asked: Asked, question: Question, of_ratio: Mapping[float, tuple[Pair, ...]], chosen: float, how: HowToRun
) -> tuple[list[Rung], list[RungBands] | None, str]:
    """The rungs, some at a time, their bands, and in words what was done when it was stopped.

    Bands begin as soon as it is known where the rungs settle, while the long drives still run.
    """
    ratios = list(of_ratio)
    groups = [ratios[n : n + AT_ONCE] for n in range(0, len(ratios), AT_ONCE)]
    done: list[Rung] = []
    settling: list[Run] = []
    bands = None
    try:
        for n, group in enumerate(groups):
            with Driving(
                executor=how.executor,
                progress=_part(how.progress, n, len(groups)),
                should_stop=how.should_stop,
            ) as driving:
                climb = Climb(question, [replace(question.car, final_drive=one) for one in group], driving)
                settling += climb.settling()
                if n + 1 < len(groups):
                    done += climb.rungs()
                    continue
                along = BandsAlong(asked, question, anchors(ratios, settling, chosen, question), driving)
                done += climb.rungs()
                bands = along.of(done)
    except Stopped:
        if not done:
            raise
    done = [replace(rung, pairs=of_ratio[rung.final_drive]) for rung in done]
    return done, bands, _stopped(len(done), len(ratios), bands is not None)


def _wear(workshop: Workshop, asked: Asked, climbed: Sequence[Rung]) -> tuple[PairWear, ...]:
    """What each rung ages, by its first pair; nothing on other tyres, which are not in the car."""
    if asked.other_tyres:
        return ()
    air_degC = asked.question.place.air.temperature_degC
    today = asked.twin.pair
    pairs = [today if today in rung.pairs else rung.pairs[0] for rung in climbed]
    return wear_of_pairs(workshop, asked.car, pairs, ground=asked.ground, air_degC=air_degC)


def _stopped(rungs: int, of: int, with_bands: bool) -> str:
    if with_bands:
        return ""
    if rungs == of:
        return "Stopped: every pair was done, the bands were not; nothing was saved or changed."
    return f"Stopped: {rungs} of {of} final drives were done; nothing was saved or changed."


def _part(progress: Progress | None, n: int, of: int) -> Progress | None:
    if progress is None:
        return None
    tell = progress
    return lambda share: tell((n + share) / of)


def _chosen(of_ratio: Mapping[float, tuple[Pair, ...]], words: str, today: Pair) -> float:
    """The final drive of the rung that was named, or of today's."""
    pinion, _, spur = words.replace(" on ", "/").replace(" ", "").partition("/")
    for ratio, pairs in of_ratio.items():
        for pair in pairs:
            named = str(pair.pinion_teeth) == pinion and spur in ("", str(pair.spur_teeth))
            if named or (not words.strip() and pair == today):
                return ratio
    raise NotKnown(
        f"No pair of this table is “{words.strip()}”.",
        WayOut("Choose one that is listed, or give more pinions.", Action.GIVE_PINIONS),
    )
