"""What a pair of gears costs in wear: how many times as fast heat and load age this car, and in money.

The same stress that moves the beliefs, asked of pairs that nobody has fitted yet. Money is what failures
would cost if nobody looked; looking makes it less.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from snugfast.core.figures import Figure, Origin
from snugfast.facts.model import Build, Clock, Facts, Overload, Stress
from snugfast.physics.gearing import Pair
from snugfast.records.ledger import CarRecord
from snugfast.usecases.stakes import AtRisk, Values, at_risk, costs, role_prices
from snugfast.usecases.story import Story
from snugfast.usecases.stress import CarStress, Driving, RunStress
from snugfast.usecases.twin_says import says_on
from snugfast.usecases.upcoming import Ahead, Until, look_ahead
from snugfast.usecases.what_stands import beliefs_about, ledger_now, remember
from snugfast.usecases.workshop import Workshop

MINUTES_AN_HOUR = 60.0
BY_RATIO = Origin("ten-kelvin-rule", "with the twin's ratio of rises; decision 0011")


@dataclass(frozen=True, slots=True)
class PartWear:
    """One part on one pair: how warm, and how many times as fast it ages as with the pair of today."""

    name: str
    temperature: Figure | None
    times: float


@dataclass(frozen=True, slots=True)
class PairWear:
    """What a pair of gears does to the clocks. `dearer` is what failures cost more than today, an hour."""

    pair: Pair
    parts: tuple[PartWear, ...]
    dearer: Figure


def wear_of_pairs(
    workshop: Workshop, car: CarRecord, pairs: Sequence[Pair], *, ground: str, air_degC: float
) -> tuple[PairWear, ...]:
    """The wear of each pair on this ground and in this air, beside the pair that is in the car.

    Empty where the twin of the car as it came is not known. Raises BadInput for pairs that cannot be.
    """
    with workshop.store.reading() as reads:
        position = reads.position()
        ledger = ledger_now(reads)
        story = beliefs_about(workshop, reads, ledger, car.id)
    remember(workshop, position, [story])
    own = story.stress[car.id]
    if own.came is None or own.now is None:
        return ()
    build = workshop.build(car.build)
    ahead = look_ahead(workshop.facts, car.habits, until=Until.RUN, now=workshop.now(), air_degC=air_degC)
    wear = _Wear(workshop, story, car, build, ahead, ground)
    builds = [_with_pair(build, pair) for pair in pairs]
    return tuple(
        wear.of(pair, CarStress(workshop.facts, own.came, says, own.levels))
        for pair, says in zip(pairs, says_on(builds, ground), strict=True)
    )


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
    """Weighs pairs for one car on one day."""

    def __init__(
        self, workshop: Workshop, story: Story, car: CarRecord, build: Build, ahead: Ahead, ground: str
    ) -> None:
        self.facts: Facts = workshop.facts
        self.driving = Driving(ground, ahead.running_min, ahead.air_degC)
        self.risks = at_risk(story, car.id, car.id, ahead, workshop.now())
        self.modes = tuple(risk.mode for risk in self.risks)
        with workshop.store.reading() as reads:
            settings: Mapping[str, object] = ledger_now(reads).settings
        self.values = Values.of(settings, self.facts)
        _, self.failure = costs(self.risks, {car.id: role_prices(build)}, self.values)
        self.today = story.stress[car.id].of_run(self.modes, self.driving)

    def of(self, pair: Pair, stress: CarStress) -> PairWear:
        """One pair beside today's."""
        there = stress.of_run(self.modes, self.driving)
        dearer = sum(
            self._an_hour(risk) * cost * (there.factor[n] - self.today.factor[n])
            for n, (risk, cost) in enumerate(zip(self.risks, self.failure, strict=True))
        )
        money = Figure(float(dearer) / 100.0, self.values.currency, origins=(BY_RATIO,))
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
                degC = float(there.reckoned_degC[n])
                warm = Figure(degC, "°C", origins=(BY_RATIO,)) if degC == degC else None
                lines.append(PartWear(rule.name, warm, float(there.factor[n] / self.today.factor[n])))
        return lines
