"""Three numbers of a printed sheet, reckoned again from the tables with formulas written out here.

Authority: worked and against. Nothing of `upkeep` is used: the closed forms of one component with one mode
(defects steadily at rate λ, a share of them failing at once, delay exponential with rate α) are written out
below, the belief about rate and delay is a plain sum over a table of multipliers, and the best interval
between checks is found by trying a fine row of them.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import pytest

from snugfast.usecases.beliefs.upcoming import Until
from snugfast.usecases.bench.bench_sheet import bench_sheet
from snugfast.usecases.bench.sheet import Asked
from snugfast.usecases.journal.bench_answers import FoundSaid, draft_found
from snugfast.usecases.journal.keeping import keep
from snugfast.usecases.journal.run_log import RunSaid, draft_runs
from tests.usecases.bench import as_the_tables_mean, facts, with_truck, workshop_in_memory

MODE, CHECK = "strap_worn", "strap_pull"  # one mode, one check, no access, nothing that raises its rate
PACKS_BEFORE, PACKS_SINCE, PACKS_AHEAD = 15, 30, 4
BENCH_MINUTE, RUNNING_MINUTE = 15.0, 40.0  # hundredths of the currency, the shipped estimates
RATES = [math.exp(math.log(1 / 60) + n * (math.log(12) - math.log(1 / 60)) / 12) for n in range(13)]
DELAYS = [math.exp(-1 + n / 2) for n in range(5)]


@dataclass
class Guess:
    """One guess at the car: its rate of defects and its mean delay, how likely it is, P(defect now)."""

    rate: float
    delay: float
    weight: float
    present: float = 0.0


def normal(weights: list[float]) -> list[float]:
    """Weights that add up to one."""
    return [weight / sum(weights) for weight in weights]


def with_mean_one(base: list[float], values: list[float], tilts: list[float]) -> list[float]:
    """The base weights, tilted by e^(t·tilt) until the values have mean one (by halving)."""
    low, high = -60.0, 60.0
    for _ in range(200):
        middle = (low + high) / 2
        weights = normal([b * math.exp(middle * t) for b, t in zip(base, tilts, strict=True)])
        mean = sum(weight * value for weight, value in zip(weights, values, strict=True))
        low, high = (middle, high) if mean < 1.0 else (low, middle)
    return weights


def guesses() -> list[Guess]:
    """Before the first pack: gamma over rates, lognormal over delays, each with mean one."""
    mode = facts().modes[MODE]
    by_rate = with_mean_one([k**mode.spread for k in RATES], RATES, RATES)
    logs = [math.log(d) for d in DELAYS]
    bell = [math.exp(-0.5 * (log / mode.delay_log_sd) ** 2) for log in logs]
    by_delay = with_mean_one(bell, DELAYS, logs)
    return [
        Guess(k / mode.between_defects, d * mode.delay, p * q)
        for k, p in zip(RATES, by_rate, strict=True)
        for d, q in zip(DELAYS, by_delay, strict=True)
    ]


def alive(guess: Guess, packs: float) -> tuple[float, float]:
    """G and D: P(alive and good), P(alive and defective) after so many packs."""
    seen, alpha = guess.rate * (1.0 - facts().modes[MODE].sudden), 1.0 / guess.delay
    still_good, not_failed = math.exp(-guess.rate * packs), math.exp(-alpha * packs)
    good = (1.0 - guess.present) * still_good
    arisen = (1.0 - guess.present) * seen / (alpha - guess.rate) * (still_good - not_failed)
    return good, guess.present * not_failed + arisen


def drive(belief: list[Guess], packs: float) -> None:
    """So many packs, and no failure."""
    for guess in belief:
        good, defective = alive(guess, packs)
        guess.weight *= good + defective
        guess.present = defective / (good + defective)


def look_and_find_nothing(belief: list[Guess], detection: float) -> None:
    """A clean check."""
    for guess in belief:
        missed = guess.present * (1.0 - detection)
        guess.weight *= missed + 1.0 - guess.present
        guess.present = missed / (missed + 1.0 - guess.present)


def mean(belief: list[Guess], what: list[float]) -> float:
    """The mean over all guesses."""
    weights = normal([guess.weight for guess in belief])
    return sum(weight * value for weight, value in zip(weights, what, strict=True))


def gain(present: float, rate: float, delay: float, detection: float, dearer: float, check: float) -> float:
    """b = Δ·r·x·(1 − e^(−αw)) + h(x⁺(x)) − h(x⁺((1−r)x)), h the relative value under the best interval."""
    alpha, full = 1.0 / delay, rate * delay

    def waiting(interval: float) -> float:
        """B(T): defects present just before a check, for each unit of rate."""
        left = math.exp(-alpha * interval)
        return (1.0 - left) * delay / (1.0 - (1.0 - detection) * left)

    def excess(interval: float) -> float:
        return (check + dearer * rate * (interval - detection * waiting(interval))) / interval

    best = min((n * 0.01 for n in range(1, 200_000)), key=excess)
    least = excess(best)
    assert least < rate * dearer, "checking now and then is better than never"
    due_at = rate * waiting(best)

    def h(defects: float) -> float:
        if defects > due_at:
            return check + h((1.0 - detection) * defects)
        return dearer * defects + (rate * dearer - least) * delay * math.log(1.0 - defects / full)

    def later(defects: float) -> float:
        left = math.exp(-alpha * PACKS_AHEAD)
        return defects * left + full * (1.0 - left)

    failing = 1.0 - math.exp(-alpha * PACKS_AHEAD)
    return dearer * detection * present * failing + h(later(present)) - h(later((1.0 - detection) * present))


@pytest.mark.slow
def test_belief_chance_and_gain_on_the_sheet_are_those_reckoned_by_hand() -> None:
    with workshop_in_memory(as_the_tables_mean(facts())) as (workshop, clock):
        with_truck(workshop)
        run = RunSaid("Bramble", ("Bramble pack",), minutes="12")
        keep(workshop, draft_runs(workshop, (run,) * PACKS_BEFORE).entries)
        keep(workshop, draft_found(workshop, FoundSaid("Bramble", CHECK)).entries)
        clock.on(hours=13)
        keep(workshop, draft_runs(workshop, (run,) * PACKS_SINCE).entries)
        asked = Asked(("Bramble",), minutes=120.0, until=Until.RUN, packs=float(PACKS_AHEAD))
        shown = next(check for check in bench_sheet(workshop, asked).checks if check.check == CHECK)
        mode = workshop.facts.modes[MODE]
        check = workshop.facts.checks[CHECK]
        places = workshop.facts.starters["truck-1-10-4wd-3s"].places
        prices = {place.role: place.price_minor for place in places if place.role in ("strap", "pack")}

    (cover,) = check.covers
    belief = guesses()
    drive(belief, PACKS_BEFORE)
    look_and_find_nothing(belief, cover.detects)
    drive(belief, PACKS_SINCE)
    present = mean(belief, [guess.present for guess in belief])
    assert shown.why[0].belief.value == pytest.approx(present, rel=1e-9)

    failing = mean(belief, [1.0 - sum(alive(guess, PACKS_AHEAD)) for guess in belief])
    assert shown.why[0].fail_chance.value == pytest.approx(failing, rel=1e-9)

    restoring = sum(n * prices[role] for role, n in mode.cure_parts.items()) + mode.cure_min * BENCH_MINUTE
    failure = (
        sum(n * prices[role] for role, n in mode.failure_parts.items())
        + mode.failure_min * BENCH_MINUTE
        + mode.lost_running_min * RUNNING_MINUTE
    )
    assert shown.why[0].failure_cost.value == pytest.approx(failure / 100.0)
    arising = mean(belief, [guess.rate for guess in belief])
    seen, sudden = arising * (1.0 - mode.sudden), arising * mode.sudden
    alpha = 1.0 / mean(belief, [guess.delay for guess in belief])
    # A strap that is worn wears no further: what is left of its life is lost with it.
    lasting = 1.0 / (alpha + seen)
    dearer = (alpha - sudden) * lasting * failure - restoring
    by_hand = gain(present, seen, lasting, cover.detects, dearer, check.minutes * BENCH_MINUTE)
    assert shown.gain is not None
    assert shown.gain.value == pytest.approx(by_hand / 100.0, rel=1e-4)  # the interval is tried in hundredths
