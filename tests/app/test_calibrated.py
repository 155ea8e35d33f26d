"""What the sheet promises comes true as often as it says, in seasons whose truth is known.

Authority: a law (a chance of one in ten happens one time in ten), held over whole seasons of the demo: its
people drive, look, miss things, tick without looking and write late, and the truth they are drawn from has
rates and delays that differ from our tables by factors. Beliefs are asked before each run for that very run.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from datetime import UTC, datetime
from math import sqrt
from pathlib import Path
from uuid import UUID

import pytest

from snugfast.app.demo.make import Demo, make_demo
from snugfast.records.entries import Entry, Ran, subjects
from snugfast.records.ledger import WET_ENOUGH, Ledger
from snugfast.records.standing import standing
from snugfast.usecases.beliefs.stakes import AtRisk, at_risk
from snugfast.usecases.beliefs.story import Story
from snugfast.usecases.beliefs.upcoming import Ahead
from snugfast.usecases.shared.ledger import ledger_now
from snugfast.usecases.shared.lookup import family

AUTUMN = datetime(2026, 10, 20, 18, 0, tzinfo=UTC)
FAR_OFF = 50.0  # a truth this many times our table's is a table that is wrong, not a belief


@dataclass
class Promises:
    """Chances that were given, and how many of them came true."""

    chances: list[float] = field(default_factory=list)
    came_true: list[bool] = field(default_factory=list)

    def add(self, chance: float, came_true: bool) -> None:
        """One more."""
        self.chances.append(chance)
        self.came_true.append(came_true)

    @property
    def expected(self) -> float:
        """How many should have come true."""
        return sum(self.chances)

    @property
    def seen(self) -> int:
        """How many did."""
        return sum(self.came_true)

    def among(self, low: float, high: float) -> Promises:
        """Those with a chance between the two."""
        pairs = [(c, t) for c, t in zip(self.chances, self.came_true, strict=True) if low <= c < high]
        return Promises([c for c, _ in pairs], [t for _, t in pairs])

    def assert_kept(self, *, spread: float) -> None:
        """As many as expected, give or take `spread` standard deviations of independent chances."""
        variance = sum(chance * (1.0 - chance) for chance in self.chances)
        assert abs(self.seen - self.expected) <= spread * sqrt(variance), (self.expected, self.seen)


def told(folder: Path, seeds: range) -> tuple[Promises, Promises]:
    """(failures in runs, defects at the end of the season), over all cars of the seasons of these seeds."""
    failures, defects = Promises(), Promises()
    for seed in seeds:
        _tell(make_demo(folder / str(seed), now=AUTUMN, seed=seed), failures, defects)
    return failures, defects


def _tell(demo: Demo, failures: Promises, defects: Promises) -> None:
    workshop = demo.workshop
    with workshop.store.reading() as reads:
        ledger = ledger_now(reads)
        entries = standing(row.entry for row in reads.entries_after(0)).entries
    wrong = {
        (owner, row.mode.key)
        for owner, rows in demo.hidden.rows.items()
        for row in rows
        if row.rate_factor > FAR_OFF
    }
    for members in {family(ledger, car) for car in ledger.cars}:
        story = Story(workshop.facts, workshop.build, members)
        for entry in entries:
            if subjects(entry.fact) & members:
                for risk, failed in _before(story, entry):
                    if (ledger.cars[risk.car].name, risk.mode.key) not in wrong:
                        failures.add(risk.fail_chance, failed)
                story.take(entry)
        for car in sorted(members):
            for risk, defective in _at_the_end(demo, ledger, story, car):
                defects.add(risk.presence, defective)


def _before(story: Story, entry: Entry) -> Iterator[tuple[AtRisk, bool]]:
    """What was at risk in this run, and whether it failed; cars that are not told yet are passed over."""
    ran = entry.fact
    if not isinstance(ran, Ran) or ran.car not in story.cars:
        return
    wet = 1.0 if ran.wet in WET_ENOUGH else 0.0
    ahead = Ahead(1.0, ran.running_min, ran.hard_hits, wet, 0.0, ran.wet, ran.ground)
    broken = {(broke.place, broke.mode) for broke in ran.broke}
    for risk in at_risk(story, ran.car, ran.car, ahead, entry.happened_at):
        assert risk.place is not None
        yield risk, (risk.place.key, risk.mode.key) in broken


def _at_the_end(demo: Demo, ledger: Ledger, story: Story, car: UUID) -> Iterator[tuple[AtRisk, bool]]:
    truth = {
        (row.place.key, row.mode.key): row.defective
        for row in demo.hidden.rows[ledger.cars[car].name]
        if row.place is not None
    }
    ahead = Ahead(1.0, 12.0, 1.0, 0.0, 0.0)
    for risk in at_risk(story, car, car, ahead, AUTUMN):
        assert risk.place is not None
        key = (risk.place.key, risk.mode.key)
        if key in truth:
            yield risk, truth[key]


@pytest.mark.slow
def test_what_a_season_promises_comes_true(tmp_path: Path) -> None:
    """One season, some thirty failures; tables may be wrong in one direction for all cars of a season."""
    failures, defects = told(tmp_path, range(100, 101))
    failures.assert_kept(spread=4.0)
    defects.assert_kept(spread=4.0)


@pytest.mark.soak
def test_what_many_seasons_promise_comes_true_at_every_height(tmp_path: Path) -> None:
    """Twenty seasons, small chances and large ones by themselves."""
    failures, defects = told(tmp_path, range(200, 220))
    assert failures.seen == pytest.approx(failures.expected, rel=0.15)
    for promises in (failures, defects):
        promises.assert_kept(spread=4.0)
        for low, high in ((0.0, 0.003), (0.003, 0.03), (0.03, 1.01)):
            promises.among(low, high).assert_kept(spread=4.0)
