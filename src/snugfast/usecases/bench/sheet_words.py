"""The reasons on a sheet, in words and figures: why a check now, what moved since, what to beware of."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta

import numpy as np
from numpy.typing import NDArray

from snugfast.core.figures import Figure, Origin
from snugfast.core.vocabulary import in_sentence
from snugfast.core.zones import local_day
from snugfast.facts.model import Clock
from snugfast.records.ledger import Ledger
from snugfast.usecases.beliefs.stakes import AtRisk, Values
from snugfast.usecases.shared.citing import warmer_words

BELIEF = Origin("delay-time-index", "belief after exposure and checks")
BENCH_DAY = timedelta(hours=12)
MOST_MOVED = 8
LEAST_MOVED = 0.003
LEAST_RATE_CHANGE = 0.02
WORTH_SAYING = 1.2  # times over, and as far below one

UNIT_WORDS = {
    Clock.RUNNING_MIN: ("running minute", "running minutes"),
    Clock.HARD_HITS: ("hard hit", "hard hits"),
    Clock.PACKS: ("pack", "packs"),
    Clock.WET_RUNS: ("wet run", "wet runs"),
    Clock.DAYS: ("day", "days"),
}


@dataclass(frozen=True, slots=True)
class WhyMode:
    """One reason for a check: a way to fail that it would see."""

    mode: str
    name: str
    what_happens: str
    belief: Figure
    fail_chance: Figure
    failure_cost: Figure
    detects: float
    since: str
    every: str
    source: str
    beyond_limit: bool


@dataclass(frozen=True, slots=True)
class Moved:
    """How the last bench day moved a belief."""

    car_name: str
    name: str
    how: str
    before: float
    after: float
    rate_words: str

    @property
    def sentence(self) -> str:
        """One line: what, how it was answered, from where to where."""
        learned = f"; {self.rate_words}" if self.rate_words else ""
        moved = f"{self.before * 100:.1f} % → {self.after * 100:.1f} %"
        return f"{self.car_name}: {in_sentence(self.name)}: {self.how}, {moved}{learned}"


def why_of(
    seen: Sequence[tuple[AtRisk, float]],
    failure: NDArray[np.float64],
    values: Values,
    most: int,
    *,
    zone: str,
) -> tuple[WhyMode, ...]:
    """The weightiest reasons for a check: those where it would save most, safety limits first."""
    reasons = [
        (risk.breaks_safety_limit, risk.fail_chance * cost * detects, risk, detects, cost)
        for (risk, detects), cost in zip(seen, failure, strict=True)
        if cost > 0.0 or risk.breaks_safety_limit  # what is kept out of money is no reason of money
    ]
    reasons.sort(key=lambda reason: (reason[0], reason[1]), reverse=True)
    often = Counter(risk.mode.key for risk, _ in seen)
    return tuple(
        _why(risk, detects, cost, values, zone, at_place=often[risk.mode.key] > 1)
        for _, _, risk, detects, cost in reasons[:most]
    )


def _why(risk: AtRisk, detects: float, cost: float, values: Values, zone: str, *, at_place: bool) -> WhyMode:
    """One reason; the place is said where the same can happen at more than one."""
    where = f" ({in_sentence(risk.place.name)})" if at_place and risk.place else ""
    return WhyMode(
        mode=risk.mode.key,
        name=f"{risk.mode.name}{where}",
        what_happens=risk.mode.what_happens,
        belief=Figure(risk.presence, "1", origins=(BELIEF,)),
        fail_chance=Figure(risk.fail_chance, "1", origins=(BELIEF,)),
        failure_cost=Figure(cost / 100.0, values.currency),
        detects=detects,
        since=_since(risk, zone),
        every=_every(risk),
        source=risk.mode.pedigree.source,
        beyond_limit=risk.breaks_safety_limit,
    )


def _since(risk: AtRisk, zone: str) -> str:
    """How much since the last look, and the day of that look where the workshop is."""
    amount = count_words(risk.since_look, risk.mode.clock)
    if risk.mark.looked_at is None:
        return f"never looked at here, {amount}{_why_faster(risk)}"
    day = local_day(risk.mark.looked_at, zone)
    if risk.mark.how == "ticked":  # which the clock did not stop for
        return f"{amount} since anybody looked, ticked off on {day}{_why_faster(risk)}"
    return f"{amount} since {risk.mark.how} on {day}{_why_faster(risk)}"


def _why_faster(risk: AtRisk) -> str:
    """What made the clock run faster or slower since the last look, or will in the next run."""
    plain = risk.since_look - risk.by_stress - risk.by_late
    late = 1.0 + risk.by_late / plain if plain > 0.0 else 1.0
    times = risk.since_look / (plain + risk.by_late) if plain > 0.0 else 1.0
    words = f"; not treated after wet, so it counts {late:.1f} times" if late >= WORTH_SAYING else ""
    if risk.read_degC is not None:
        return f"{words}; read up to {risk.read_degC:.0f} °C, so it counts {times:.1f} times"
    if _is_worth_saying(times) and risk.warmer_K is not None:
        return f"{words}; {warmer_words(risk.warmer_K)} than it came, so it counts {times:.1f} times"
    if _is_worth_saying(times) and risk.load is not None:
        return f"{words}; with {risk.load:.1f} times the load it came with, so it counts {times:.1f} times"
    if _is_worth_saying(risk.ahead_times) and risk.ahead_warmer_K is not None:
        warmer = warmer_words(risk.ahead_warmer_K)
        return f"{words}; the next run: {warmer} than it came, so it will count {risk.ahead_times:.1f} times"
    return words


def _is_worth_saying(times: float) -> bool:
    return not 1.0 / WORTH_SAYING < times < WORTH_SAYING


def _every(risk: AtRisk) -> str:
    return f"about once in {_between(risk, risk.multiplier)}"


def _between(risk: AtRisk, multiplier: float) -> str:
    return count_words(risk.mode.between_defects / max(multiplier, 1e-9), risk.mode.clock)


def percent_words(chance: float) -> str:
    """A chance as a person says it."""
    return "under 1 %" if chance < 0.01 else f"{chance * 100:.0f} %"


def count_words(amount: float, clock: Clock) -> str:
    """An amount of exposure in words: “240 running minutes”."""
    one, many = UNIT_WORDS[clock]
    rounded = f"{amount:.0f}" if amount >= 9.5 else f"{amount:.1f}".rstrip("0").rstrip(".")
    return f"{rounded} {one if rounded == '1' else many}"


def moved_of(risks: Sequence[AtRisk], ledger: Ledger) -> tuple[Moved, ...]:
    """How the last bench day of each car moved its beliefs, the largest moves first."""
    last: dict[object, datetime] = {}
    for risk in risks:
        if risk.mark.looked_at is not None:
            last[risk.car] = max(last.get(risk.car, risk.mark.looked_at), risk.mark.looked_at)
    moved = [
        Moved(
            car_name=ledger.cars[risk.car].name,
            name=_named(risk, ledger),
            how=risk.mark.how,
            before=risk.mark.before,
            after=risk.mark.after,
            rate_words=_rate_words(risk),
        )
        for risk in risks
        if risk.mark.looked_at is not None and last[risk.car] - risk.mark.looked_at < BENCH_DAY
    ]
    moved = [line for line in moved if abs(line.after - line.before) >= LEAST_MOVED or line.rate_words]
    moved.sort(key=lambda line: abs(line.after - line.before), reverse=True)
    return tuple(moved[:MOST_MOVED])


def _named(risk: AtRisk, ledger: Ledger) -> str:
    return f"{risk.mode.name}, pack {ledger.packs[risk.pack].name}" if risk.pack else risk.mode.name


def _rate_words(risk: AtRisk) -> str:
    before, after = risk.mark.rate_before, risk.mark.rate_after
    if before <= 0.0 or abs(after / before - 1.0) < LEAST_RATE_CHANGE:
        return ""
    now, was = _between(risk, after * risk.by_driver), _between(risk, before * risk.by_driver)
    return f"learned: about once in {now}, was {was}"
