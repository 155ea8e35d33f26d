"""What a pair of gears costs in wear: how many times as fast heat and load age this car, and in money.

The same stress that moves the beliefs, asked of pairs that nobody has fitted yet. Money is what failures
would cost if nobody looked; looking makes it less.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from math import isnan

import numpy as np
from numpy.typing import NDArray

from snugfast.core.figures import Figure, Origin
from snugfast.facts.model import Build, Clock, Facts, Overload, Stress
from snugfast.physics.study.gearing import Pair
from snugfast.records.ledger import CarRecord
from snugfast.usecases.beliefs.stakes import AtRisk, Values, at_risk, costs, role_prices
from snugfast.usecases.beliefs.stories import remember, stories_of
from snugfast.usecases.beliefs.stress import CarStress, Driving, RunStress
from snugfast.usecases.beliefs.upcoming import Until, look_ahead
from snugfast.usecases.shared.citing import warmer_words
from snugfast.usecases.shared.ledger import ledger_now
from snugfast.usecases.shared.workshop import Workshop
from snugfast.usecases.twin.says import says_on

Floats = NDArray[np.float64]

MINUTES_AN_HOUR = 60.0
WORTH_SAYING = 1.1  # times over, and as far below one
BY_RATIO = Origin("ten-kelvin-rule", "with the twin's ratio of rises; decision 0011")


@dataclass(frozen=True, slots=True)
class PartWear:
    """One part on one pair beside the pair of today: how much warmer, and how many times as fast it ages."""

    name: str
    warmer: Figure | None
    times: float


@dataclass(frozen=True, slots=True)
class PairWear:
    """What a pair of gears does to the clocks. `dearer` is what failures cost more than today, an hour."""

    pair: Pair
    parts: tuple[PartWear, ...]
    dearer: Figure


def wear_words(wear: PairWear) -> str:
    """What ages how many times as fast as today, and the money, in one sentence; empty for today's pair."""
    told = [part for part in wear.parts if not 1.0 / WORTH_SAYING < part.times < WORTH_SAYING]
    if not told:
        return ""
    aged = ", ".join(
        f"{part.name} {part.times:.1f} times"
        + (f" ({warmer_words(part.warmer.value)})" if part.warmer else "")
        for part in told
    )
    money = f"{abs(wear.dearer.value):.2f} {wear.dearer.unit} an hour {_more_or_less(wear.dearer.value)}"
    return f"Ages as fast as today: {aged}. Failures would cost {money} if nobody looked."


def dearer_words(wear: PairWear) -> str:
    """Money an hour beside today's pair: “+0.32 CRD”, “+0.00 CRD”."""
    return f"{round(wear.dearer.value, 2) + 0.0:+.2f} {wear.dearer.unit}"  # adding nothing turns -0.00 round


def _more_or_less(value: float) -> str:
    return "more" if value >= 0.0 else "less"


def wear_of_pairs(
    workshop: Workshop, car: CarRecord, pairs: Sequence[Pair], *, ground: str, air_degC: float
) -> tuple[PairWear, ...]:
    """The wear of each pair on this ground and in this air, beside the pair that is in the car.

    `ground` is a key of the table of ground; wet grass wears as grass does.
    Empty where the twin of the car as it came is not known. Raises BadInput for pairs that cannot be.
    """
    with workshop.store.reading() as reads:
        position = reads.position()
        ledger = ledger_now(reads)
        stories = stories_of(workshop, reads, ledger, [car.id])
    remember(workshop, position, stories.told)
    story = stories.of[car.id]
    own = story.stress[car.id]
    if own.came is None or own.now is None:
        return ()
    now, build = workshop.now(), workshop.build(car.build)
    ahead = look_ahead(workshop.facts, car.habits, until=Until.RUN, now=now, air_degC=air_degC)
    here = Driving(ground.removeprefix("wet_"), ahead.running_min, ahead.air_degC)
    builds = [build, *(_with_pair(build, pair) for pair in pairs)]
    today, *others = (
        CarStress(workshop.facts, own.came, says, own.levels)
        for says in says_on(builds, here.ground, here.minutes)
    )
    risks = at_risk(story, car.id, car.id, ahead, now)
    values = Values.of(ledger.settings, workshop.facts)
    _, failure = costs(risks, {car.id: role_prices(build)}, values)
    wear = _Wear(workshop.facts, here, risks, failure, values.currency, today)
    return tuple(wear.of(pair, stress) for pair, stress in zip(pairs, others, strict=True))


def _with_pair(build: Build, pair: Pair) -> Build:
    teeth = {"pinion": float(pair.pinion_teeth), "spur": float(pair.spur_teeth)}
    places = tuple(
        replace(place, sizes={**place.sizes, "teeth_count": teeth[place.role]})
        if place.role in teeth
        else place
        for place in build.places
    )
    return replace(build, places=places)


class _Wear:
    """Weighs pairs for one car on one day, each beside the pair of today."""

    def __init__(
        self,
        facts: Facts,
        driving: Driving,
        risks: Sequence[AtRisk],
        failure: Floats,
        currency: str,
        today: CarStress,
    ) -> None:
        """`failure` is what each of the risks would cost when it fails, in minor units."""
        self.facts = facts
        self.driving = driving
        self.risks = risks
        self.failure = failure
        self.currency = currency
        self.modes = tuple(risk.mode for risk in risks)
        self.today = today.of_run(self.modes, driving)

    def of(self, pair: Pair, stress: CarStress) -> PairWear:
        """One pair beside today's."""
        there = stress.of_run(self.modes, self.driving)
        dearer = sum(
            self._an_hour(risk) * cost * (there.factor[n] - self.today.factor[n])
            for n, (risk, cost) in enumerate(zip(self.risks, self.failure, strict=True))
        )
        money = Figure(float(dearer) / 100.0, self.currency, origins=(BY_RATIO,))
        return PairWear(pair, tuple(self._parts(there)), money)

    def _an_hour(self, risk: AtRisk) -> float:
        """Defects that an hour of driving brings at the table's own pace, as this car has them."""
        clock = risk.mode.clock
        units = {Clock.RUNNING_MIN: MINUTES_AN_HOUR, Clock.PACKS: MINUTES_AN_HOUR / self.driving.minutes}
        ground = risk.mode.ground_factor.get(self.driving.ground, 1.0)
        return units.get(clock, 0.0) * ground * risk.multiplier / risk.mode.between_defects

    def _parts(self, there: RunStress) -> list[PartWear]:
        """A line for each rule that bears on this car: its hottest, or most loaded, way to fail."""
        lines = []
        rules: tuple[Stress | Overload, ...] = (*self.facts.stress.values(), *self.facts.overload.values())
        for rule in rules:
            here = [n for n, mode in enumerate(self.modes) if mode.key in rule.modes and rule.twin]
            if here:
                n = max(here, key=lambda one: float(there.factor[one]))
                warmer_K = float(there.warmer_K[n] - self.today.warmer_K[n])
                warmer = None if isnan(warmer_K) else Figure(warmer_K, "K", origins=(BY_RATIO,))
                lines.append(PartWear(rule.name, warmer, float(there.factor[n] / self.today.factor[n])))
        return lines
