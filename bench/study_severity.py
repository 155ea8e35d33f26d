"""Do promises come true when a driver is harder, or milder, on everything than the tables mean?

Seasons are drawn with a law of their own code (nothing of `upkeep` but its numbers): 80 runs in 20 outings,
the ways a new truck fails, a look at a third of them each evening. In three worlds everything comes as often
as the table says, three times as often, and a third as often. Before each run it is asked how likely a
failure is, by the filter alone and with what all rows teach together.

    .venv/bin/python bench/study_severity.py --seasons 200
"""

from __future__ import annotations

import argparse
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from snugfast.facts.load import load_facts
from snugfast.facts.model import Arrival, Clock
from snugfast.upkeep.beliefs import Beliefs
from snugfast.upkeep.mode_law import ModeLaw, Start
from snugfast.upkeep.severity import Doubt, allowing_for, severity, taught
from snugfast.usecases.shared.applicability import car_modes

Floats = NDArray[np.float64]
A_RUN = {Clock.RUNNING_MIN: 12.0, Clock.HARD_HITS: 1.2, Clock.PACKS: 1.0, Clock.WET_RUNS: 0.1}
RUNS, RUNS_AN_OUTING, DETECTS, LOOKED_AT = 80, 4, 0.8, 1.0 / 3.0


@dataclass(frozen=True, slots=True)
class Rows:
    """The ways one car fails; arrays are (rows,), in runs."""

    modes: tuple[str, ...]
    between: Floats
    spread: Floats
    delay: Floats
    delay_log_sd: Floats
    sudden: Floats


@dataclass(frozen=True, slots=True)
class Told:
    """What was promised and came, (seasons, runs)."""

    promised: Floats
    happened: Floats
    severity: Floats  # mean at the end of each season

    def score(self, runs: slice) -> dict[str, float]:
        """Means over some runs."""
        promised, happened = self.promised[:, runs], self.happened[:, runs]
        base = happened.mean()
        return {
            "promised": float(promised.mean()),
            "happened": float(base),
            "brier": float(((promised - happened) ** 2).mean()),
            "base": float(base * (1.0 - base)),
        }


def truck() -> Rows:
    """The rows of a new 1/10 truck whose clocks run by driving."""
    facts = load_facts()
    modes = [mode for mode, _ in car_modes(facts, facts.starters["truck-1-10-4wd-3s"])]
    modes = [mode for mode in modes if mode.clock in A_RUN and mode.arrival is Arrival.STEADY]
    run = np.array([A_RUN[mode.clock] for mode in modes])
    return Rows(
        tuple(mode.key for mode in modes),
        np.array([mode.between_defects for mode in modes]) / run,
        np.array([mode.spread for mode in modes]),
        np.array([mode.delay for mode in modes]) / run,
        np.array([mode.delay_log_sd for mode in modes]),
        np.array([mode.sudden for mode in modes]),
    )


def world(rows: Rows, times: float, seasons: int, doubt: Doubt | None, seed: int = 15) -> Told:
    """Seasons in a world where everything comes so many times as often as the table says."""
    rng = np.random.default_rng(seed)
    shape = (seasons, len(rows.modes))
    rate = times * rng.gamma(rows.spread, 1.0 / rows.spread, shape) / rows.between
    delay = rows.delay * np.exp(rows.delay_log_sd * rng.standard_normal(shape) - rows.delay_log_sd**2 / 2)
    left = np.full(shape, np.inf)  # runs until a defect fails
    laws = [
        ModeLaw(between, spread, lasts, log_sd, sudden)
        for between, spread, lasts, log_sd, sudden in zip(
            rows.between, rows.spread, rows.delay, rows.delay_log_sd, rows.sudden, strict=True
        )
    ]
    beliefs = Beliefs.begin(laws * seasons, [Start()] * (len(laws) * seasons))
    told = Told(np.zeros((seasons, RUNS)), np.zeros((seasons, RUNS)), np.ones(seasons))
    for run in range(RUNS):
        if doubt is not None and run % RUNS_AN_OUTING == 0:
            times_by_row = _pooled(beliefs, rows, seasons, doubt, told) / beliefs.weights
        now = beliefs
        if doubt is not None:
            weights = beliefs.weights * times_by_row
            now = replace(beliefs, weights=weights / weights.sum(axis=1, keepdims=True))
        chances = now.outlook(exposure=1.0).fail_chance.reshape(shape)
        told.promised[:, run] = 1.0 - (1.0 - chances).prod(axis=1)
        failed, left = _run(rng, rate, delay, rows.sudden, left)
        told.happened[:, run] = failed.any(axis=1)
        went = beliefs.ran(exposure=1.0)
        broke = beliefs.failed_within(exposure=1.0)
        beliefs = _either(failed.ravel(), broke, went)
        if run % RUNS_AN_OUTING == RUNS_AN_OUTING - 1:
            beliefs, left = _evening(rng, beliefs, left)
    return told


def _pooled(beliefs: Beliefs, rows: Rows, seasons: int, doubt: Doubt, told: Told) -> Floats:
    """The weights of all rows at the start of an outing, each season with what its own rows teach."""
    many = len(rows.modes)
    shapes = list(rows.spread)
    logs = taught(beliefs, shapes * seasons)
    parts = []
    for season in range(seasons):
        here = slice(season * many, (season + 1) * many)
        together = severity(zip(rows.modes, logs[here], strict=True), doubt)
        told.severity[season] = together.mean
        mine = beliefs._rows(list(range(here.start, here.stop)))
        parts.append(allowing_for(mine, shapes, rows.modes, logs[here], together).weights)
    return np.concatenate(parts)


def _run(
    rng: np.random.Generator, rate: Floats, delay: Floats, sudden: Floats, left: Floats
) -> tuple[NDArray[np.bool_], Floats]:
    waits = rng.exponential(1.0, rate.shape) / rate
    arrives = np.isinf(left) & (waits < 1.0)
    lasts = np.where(rng.random(rate.shape) < sudden, 0.0, rng.exponential(1.0, rate.shape) * delay)
    left = np.where(arrives, waits + lasts, left) - 1.0
    failed = left <= 0.0
    return failed, np.where(failed, np.inf, left)


def _evening(rng: np.random.Generator, beliefs: Beliefs, left: Floats) -> tuple[Beliefs, Floats]:
    looked = rng.random(left.shape) < LOOKED_AT
    found = looked & np.isfinite(left) & (rng.random(left.shape) < DETECTS)
    clean = beliefs.checked_clean(detection=DETECTS)
    mended = beliefs.found(detection=DETECTS).restored()
    beliefs = _either(looked.ravel() & ~found.ravel(), clean, beliefs)
    return _either(found.ravel(), mended, beliefs), np.where(found, np.inf, left)


def _either(which: NDArray[np.bool_], one: Beliefs, other: Beliefs) -> Beliefs:
    here = which[:, None]
    return replace(
        other,
        weights=np.where(here, one.weights, other.weights),
        presences=np.where(here, one.presences, other.presences),
        clocks=np.where(here, one.clocks, other.clocks),
    )


def main() -> None:
    """Print the figures of all worlds."""
    parser = argparse.ArgumentParser()
    parser.add_argument("--seasons", type=int, default=200)
    parser.add_argument("--severity", type=float, default=0.8)
    parser.add_argument("--error", type=float, default=0.6)
    parser.add_argument("--mean", type=float, default=1.0)
    asked = parser.parse_args()
    rows = truck()
    print(f"{len(rows.modes)} rows, {asked.seasons} seasons")
    for times in (1.0, 3.0, 1.0 / 3.0):
        for doubt in (None, Doubt(asked.severity, asked.error, asked.mean)):
            told = world(rows, times, asked.seasons, doubt)
            for name, runs in (
                ("outings 1-10", slice(0, 40)),
                ("outing 11", slice(40, 48)),
                ("11-20", slice(40, 80)),
            ):
                score = told.score(runs)
                off = score["promised"] / max(score["happened"], 1e-9) - 1.0
                print(
                    f"x{times:.2f} {'alone ' if doubt is None else 'pooled'} {name:12s} "
                    f"promised {score['promised']:.3f} happened {score['happened']:.3f} ({off:+.0%}) "
                    f"Brier {score['brier']:.4f} base {score['base']:.4f}"
                )
            if doubt:
                print(f"      severity {told.severity.mean():.2f} ± {told.severity.std():.2f}")


if __name__ == "__main__":
    main()
