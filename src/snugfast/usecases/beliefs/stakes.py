"""What is at stake on a car now: each way it can fail, how likely that is, and what it costs."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from typing import Any
from uuid import UUID

import numpy as np
from numpy.typing import NDArray

from snugfast.facts.model import Build, Facts, Mode, Place
from snugfast.usecases.beliefs.story import Mark, Story
from snugfast.usecases.beliefs.upcoming import Ahead

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Values:
    """The owner's judgement: what bench minutes and lost running minutes are worth, in minor units."""

    bench_minute: float
    running_minute: float
    currency: str

    @classmethod
    def of(cls, settings: Mapping[str, Any], facts: Facts) -> Values:
        """As the owner said, or our estimate until then."""
        return cls(
            float(settings.get("bench_minute", facts.assumptions["bench_minute_minor"].value)),
            float(settings.get("running_minute", facts.assumptions["running_minute_minor"].value)),
            str(settings.get("currency", "CRD")),
        )

    def times(self, factor: float) -> Values:
        """Both minutes worth this many times as much."""
        return replace(
            self, bench_minute=self.bench_minute * factor, running_minute=self.running_minute * factor
        )


@dataclass(frozen=True, slots=True)
class AtRisk:
    """One way a car or a pack can fail before the next bench chance."""

    car: UUID
    pack: UUID | None
    mode: Mode
    place: Place | None
    mark: Mark
    since_look: float
    presence: float  # P(defect now)
    fail_chance: float  # P(fails before the next bench chance)
    sudden_chance: float
    avoidable_chance: float  # of fail_chance, what putting a present defect right now would spare
    rate: float  # defects per clock unit over the exposure ahead, learned
    multiplier: float  # how often this car has it, as a multiple of the table
    delay: float  # clock units from defect to failure, learned
    sudden_share: float
    exposure: float  # clock units ahead
    failures: float = 0.0  # parts that fail before the next bench chance, on average
    failures_spread: float = 0.0  # variance of that average, by what is not known of this car
    by_driver: float = 1.0  # of the multiplier, what all rows together say of the driver
    by_late: float = 0.0  # of since_look, what late treatments added
    by_stress: float = 0.0  # of since_look, what heat and load added
    read_degC: float | None = None  # the hottest since the last look
    warmer_K: float | None = None  # the most since then, over a usual run as it came, by the twin
    load: float | None = None  # the most since then, as a multiple of that of the car as it came
    ahead_warmer_K: float | None = None  # the same for the next run
    ahead_times: float = 1.0  # how many times over it counts

    @property
    def stop_chance(self) -> float:
        """P(fails before the next bench chance, and the car cannot be driven on until it is mended)."""
        return self.fail_chance * self.mode.stops

    @property
    def breaks_safety_limit(self) -> bool:
        """Whether its safety limit is passed, whatever money says."""
        limit = self.mode.safety
        return limit is not None and (self.presence > limit.belief or self.fail_chance > limit.failing)

    @property
    def needs_a_look(self) -> bool:
        """Whether its safety limit is passed and looking can help.

        Looking helps where a defect is believed beyond the limit now, or where putting it right takes away
        at least half of what is beyond the limit of failing. What sudden failures, and defects that arise and
        fail on the way, put beyond it stays there after the best of checks.
        """
        limit = self.mode.safety
        if limit is None or not self.breaks_safety_limit:
            return False
        return (
            self.presence > limit.belief or self.avoidable_chance >= (self.fail_chance - limit.failing) / 2.0
        )

    def fail_chance_after(self, detection: float) -> float:
        """P(fails before the next bench) when looked at with this detection and put right when found."""
        gone = -np.expm1(-self.exposure / self.delay) if self.delay > 0.0 else 1.0
        # The mean delay is not the whole belief about it, so with a nearly certain defect the share that is
        # left for a sound part may come out as no chance at all.
        if_good = (self.fail_chance - self.presence * gone) / max(1e-12, 1.0 - self.presence)
        spared = gone - min(max(if_good, 0.0), gone)
        return float(max(0.0, self.fail_chance - self.presence * detection * spared))


def at_risk(
    story: Story, member: UUID, car: UUID, ahead: Ahead, now: datetime, *, treated: bool = False
) -> list[AtRisk]:
    """Every row of a car (or of a pack that goes in it) with its outlook now, if nothing is done before.

    `treated` says that the treatments that are due will be done first.
    """
    scope = story.scope(member)
    if not len(scope.rows):
        return []
    stress = story.stress_ahead(member, scope.modes, ahead.driving)
    exposure = ahead.exposure(scope.modes) * stress.factor
    beliefs, days = story.as_of(member, now)
    each = exposure[beliefs.row]
    if not treated:
        planted, late = story.late_ahead(member, now, ahead.days)
        each = each * late
        if (planted > 0.0).any():
            beliefs = beliefs.disturbed(chance=planted)
    outlook = beliefs.outlook(exposure=np.maximum(each, 1e-9))
    multiplier = beliefs.rate_multiplier
    by_driver = multiplier / story.bank[scope.rows].rate_multiplier
    return [
        AtRisk(
            car=car,
            pack=None if member == car else member,
            mode=mode,
            place=place,
            mark=story.marks[row],
            since_look=float(story.since_look[row] + days[n]),
            by_driver=float(by_driver[n]),
            by_late=float(story.by_late[row]),
            by_stress=float(story.by_stress[row]),
            read_degC=_or_none(story.hottest[row]),
            warmer_K=_or_none(story.warmer[row]),
            load=_or_none(story.loaded[row]),
            ahead_warmer_K=_or_none(stress.warmer_K[n]),
            ahead_times=float(stress.factor[n]),
            presence=float(outlook.presence[n]),
            fail_chance=float(outlook.fail_chance[n]),
            sudden_chance=float(outlook.sudden_chance[n]),
            avoidable_chance=float(outlook.avoidable_chance[n]),
            rate=float(outlook.rate[n]),
            multiplier=float(multiplier[n]),
            delay=float(outlook.delay[n]),
            sudden_share=float(outlook.sudden_share[n]),
            exposure=float(exposure[n]),
            failures=float(outlook.failures[n]),
            failures_spread=float(outlook.failures_spread[n]),
        )
        for n, (row, mode, place) in enumerate(zip(scope.rows, scope.modes, scope.places, strict=True))
    ]


def _or_none(number: float) -> float | None:
    return None if np.isnan(number) else float(number)


def role_prices(build: Build) -> dict[str, float]:
    """The mean price of a part of each role, in minor units."""
    prices: dict[str, list[int]] = {}
    for place in build.places:
        prices.setdefault(place.role, []).append(place.price_minor)
    return {role: sum(listed) / len(listed) for role, listed in prices.items()}


def costs(
    rows: Sequence[AtRisk], prices: Mapping[UUID, Mapping[str, float]], values: Values
) -> tuple[Floats, Floats]:
    """What putting right in time costs and what failing costs, in minor units: parts, minutes, running."""
    both = [costs_of_mode(row.mode, prices[row.car], values) for row in rows]
    return np.array([restore for restore, _ in both]), np.array([failure for _, failure in both])


def costs_of_mode(mode: Mode, prices: Mapping[str, float], values: Values) -> tuple[float, float]:
    """(what curing it in time costs, what its failure costs), by the price of a part of each role."""
    restore = _parts(mode.cure_parts, prices) + mode.cure_min * values.bench_minute
    failure = (
        _parts(mode.failure_parts, prices)
        + mode.failure_min * values.bench_minute
        + mode.lost_running_min * values.running_minute
    )
    return restore, failure


def _parts(used: Mapping[str, float], prices: Mapping[str, float]) -> float:
    """Price of the parts used up; a role this build does not have costs nothing."""
    return sum(count * prices.get(role, 0.0) for role, count in used.items())


def any_failure(chances: Iterable[float]) -> float:
    """Chance that at least one of independent failures happens."""
    none = 1.0
    for chance in chances:
        none *= 1.0 - chance
    return 1.0 - none
