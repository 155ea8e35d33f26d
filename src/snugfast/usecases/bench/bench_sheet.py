"""The bench sheet: what is worth doing now, in order, with why and how.

Fail-safe and look come first and are never weighed. Of the rest the best set for the minutes is chosen
exactly, over all cars of the evening at once, and each result is given as a range over half to double of the
owner's judgement of what minutes are worth.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import replace
from datetime import datetime
from itertools import product
from math import ceil, exp
from uuid import UUID

import numpy as np

from snugfast.core.figures import Figure, Origin
from snugfast.core.vocabulary import in_sentence
from snugfast.facts.model import (
    Access,
    Arrival,
    Build,
    Check,
    Event,
    Facts,
    Round,
    Treatment,
)
from snugfast.facts.texts import filled
from snugfast.records.ledger import CarRecord, Ledger
from snugfast.upkeep import choosing
from snugfast.upkeep.choosing import AtStake, Choice, Kept, Outcome, Reason
from snugfast.upkeep.pace import Pace
from snugfast.upkeep.worth import (
    FIRST_SHARE,
    Cover,
    Future,
    Sets,
    cheapest_checks,
    shares_of_ways,
    worth_of_sets,
)
from snugfast.usecases.beliefs.after_bench import Bench, after_bench
from snugfast.usecases.beliefs.stakes import AtRisk, Values, any_failure, at_risk, costs, role_prices
from snugfast.usecases.beliefs.stories import remember, stories_of
from snugfast.usecases.beliefs.story import Story
from snugfast.usecases.beliefs.upcoming import Ahead, look_ahead
from snugfast.usecases.bench.fix_first import fix_jobs, known_rows, tonight
from snugfast.usecases.bench.musts import musts_of
from snugfast.usecases.bench.pace import at_pace, pace_now
from snugfast.usecases.bench.rounds import numbered_jobs, over_cars, rounds_of, with_common_cautions
from snugfast.usecases.bench.sheet import (
    Asked,
    BenchMinutes,
    CurvePoint,
    Sheet,
    SheetAccess,
    SheetCar,
    SheetCheck,
    SheetLeftOut,
)
from snugfast.usecases.bench.sheet_sums import SheetSums, together
from snugfast.usecases.bench.sheet_words import moved_of, why_of
from snugfast.usecases.bench.tasks import Task, Tasks
from snugfast.usecases.bench.treatments import (
    DueTreatment,
    dirty_since_run,
    due_treatments,
    says_nothing_of_dirt,
)
from snugfast.usecases.bench.wet_readiness import WetReadiness, readiness_of
from snugfast.usecases.packs.blocks import pack_blocks, without_damaged
from snugfast.usecases.packs.plugged_in import plugged_in
from snugfast.usecases.shared.applicability import answer_words, mode_keys, opening
from snugfast.usecases.shared.cautions import cautions_of
from snugfast.usecases.shared.chemistry import taken_as
from snugfast.usecases.shared.ledger import ledger_now
from snugfast.usecases.shared.lookup import car_called
from snugfast.usecases.shared.takes_pack import that_fit
from snugfast.usecases.shared.workshop import Workshop

WORTH = Origin("delay-time-index", "value of one check")
MOST_PACKS = 6  # of one car on one sheet
MOST_REASONS = 3
KNOWN = 0.95  # a defect that was found and left
LEAST_SAID = 0.005  # a chance below this shows as 0 %, and is no alarm
MOST_CLEANING = 0.25  # of the minutes; where it would take more, what must be looked at goes before
CURVE_MIN = (5.0, 10.0, 15.0, 20.0, 30.0, 40.0)
LEAST_CURE_MIN = 1e-3  # of one way to fail, on average; less adds up to nothing
WORTH_ANOTHER_LOOK = 5.0  # tenths that the first choice leaves over, from which it is made once more
LIKELY_ENOUGH, LIKELIER = 0.05, 2.0  # from which belief, and how many times all others', one place is named
FACTORS = (0.5, 1.0, 2.0)  # of the owner's judgement values


def bench_sheet(workshop: Workshop, asked: Asked, *, only: Collection[str] | None = None) -> Sheet:
    """The sheet for some cars or for all of the evening; with `only` the one of just these checks.

    Raises NotKnown for a car that is not here.
    """
    now = workshop.now()
    with workshop.store.reading() as reads:
        position = reads.position()
        ledger = ledger_now(reads)
        cars = _cars(ledger, asked)
        blocked = pack_blocks(workshop.facts, ledger, [car.id for car in cars], now)
        cars = [car for car in cars if car.id not in {block.car for block in blocked}]
        ahead = {car.id: _ahead(workshop, asked, car, now) for car in cars}
        packs = without_damaged(ledger, _packs(workshop, ledger, cars, ahead), now)
        members = [(car.id, member) for car in cars for member in (car.id, *packs[car.id])]
        told = stories_of(workshop, reads, ledger, [member for _, member in members])
        pace = pace_now(workshop.facts, reads)
    remember(workshop, position, told.told)
    stories = told.of
    wet = [due for car in cars for due in _due(workshop, stories[car.id], car, now)]

    def at_stake(*, treated: bool) -> list[AtRisk]:
        return [
            risk
            for car, member in members
            for risk in at_risk(
                stories[member],
                member,
                car,
                _share(ahead[car], car, member, packs[car]),
                now,
                treated=treated,
            )
        ]

    # What is due after wet stands on this sheet, before what is chosen.
    risks = at_stake(treated=True)
    standing = at_stake(treated=False) if wet else risks
    making = _Making(workshop, ledger, asked, now, cars, packs, risks, standing, wet, only, stories, pace)
    inside = plugged_in(workshop, ledger, [car.id for car in cars])
    driver_words = told.driver.words if told.driver and cars else ""
    return replace(
        making.sheet(position, ahead), plugged_in=inside, blocked=blocked, driver_words=driver_words
    )


class _Making:
    """One sheet being made: tasks, stakes, choice, words."""

    def __init__(
        self,
        workshop: Workshop,
        ledger: Ledger,
        asked: Asked,
        now: datetime,
        cars: Sequence[CarRecord],
        packs: Mapping[UUID, tuple[UUID, ...]],
        risks: Sequence[AtRisk],
        standing: Sequence[AtRisk],  # the same while what is due after wet is not done
        treatments: Sequence[DueTreatment],
        only: Collection[str] | None,
        stories: Mapping[UUID, Story],
        pace: Pace,
    ) -> None:
        self.only = only
        self.stories = stories
        self.pace = pace
        self.facts: Facts = at_pace(workshop.facts, pace)
        self.zone = workshop.zone
        self.ledger = ledger
        self.asked = asked
        self.now = now
        self.cars = cars
        self.risks = risks
        self.standing = standing
        self.treatments = treatments
        self.wet_tenths = sum(round(treatment.minutes * 10) for treatment in treatments)
        self.builds: Mapping[UUID, Build] = {car.id: workshop.build(car.build) for car in cars}
        self.prices = {car: role_prices(build) for car, build in self.builds.items()}
        self.modes = {car: mode_keys(self.facts, build) for car, build in self.builds.items()}
        self.packs = packs
        self.pack_modes = {
            pack: frozenset(risk.mode.key for risk in risks if risk.pack == pack)
            for several in packs.values()
            for pack in several
        }
        self.values = Values.of(ledger.settings, workshop.facts)
        tasks = Tasks(self.facts, asked, now, self.zone, packs, self.pack_modes)
        self.tasks = {task.key: task for car in cars for task in tasks.of(car, self.builds[car.id])}
        self.place_of = {car.id: n for n, car in enumerate(cars)}
        self.order_of = {key: n for n, key in enumerate(self.tasks)}
        jobs = [job for car in cars for job in fix_jobs(workshop, ledger, car, self.builds[car.id], now)]
        self.jobs = tonight(numbered_jobs(jobs), (asked.minutes - self.wet_tenths / 10.0) / 2.0)
        self.to_clean = {car.id: self._to_clean(car) for car in cars}
        self.known = {car.id: known_rows(self.facts, car, self.builds[car.id]) for car in cars}
        self.bearing_on = self._bearing_on()
        self.covers = [self._covers(risk) for risk in risks]
        self.sets = Sets.of([tuple(covers.values()) for covers in self.covers if covers])
        self.part_rates = np.array(
            [_rate_of_one_part(risk) for risk, covers in zip(risks, self.covers, strict=True) if covers]
        )
        self.way_shares: dict[tuple[UUID, str], float] = {}
        self.again = self._minutes_again()
        self.way_shares = self._way_shares()
        self.again = self._minutes_again()
        self.harm = {
            (car.id, way.key): self._harm_of(car, way) for car in cars for way in self.facts.access.values()
        }

    def sheet(self, position: int, ahead: Mapping[UUID, Ahead]) -> Sheet:
        musts = musts_of(self.tasks, self.risks, self.covers)
        stakes = {factor: self._stakes(self.values.times(factor)) for factor in FACTORS}
        choice = self._chosen(stakes[1.0], musts)
        after = self._after(choice, ahead)
        bench = self._bench_minutes(choice)
        sums = {factor: SheetSums(stakes[factor], choice.keys) for factor in FACTORS}
        firm = {kept.key for kept in choice.kept if self._firm(kept, sums)}
        worths = [sums[factor].worth / 100.0 for factor in FACTORS]
        unit = self.values.currency
        steps = tuple(self._steps(choice, sums, musts, firm))
        minutes = {key: self._line_minutes(task) for key, task in self.tasks.items()}
        rounds = over_cars(self.facts, rounds_of(self.facts, steps, minutes, first=len(self.jobs) + 1))
        common, rounds = with_common_cautions(rounds)
        return Sheet(
            made_at=self.now,
            asked=self.asked,
            cars=tuple(self._car(car, ahead[car.id], after) for car in self.cars),
            steps=steps,
            fix_first=self.jobs,
            rounds=rounds,
            cautions=common,
            minutes=bench.all,
            bench=bench,
            curve=self._curve(stakes[1.0], musts, choice),
            short_of_best=choice.gap / max(choice.worth + choice.gap, 1e-9),
            saved_now=self._saved_now(after),
            loss_avoided=Figure(worths[1], unit, origins=(WORTH,)).with_band(worths[0], worths[2]),
            cost_of_minutes=self._price_of(bench.looking),
            shortfall=self._shortfall(choice),
            unguarded=tuple(self._unguarded()),
            left_out=tuple(self._left_out(choice)),
            moved=moved_of(self.risks, self.ledger),
            values=self.values,
            position=position,
            treatments=tuple(self.treatments),
            readiness=tuple(self._readiness()),
            pace=self.pace,
        )

    # What bears on what.

    def _covers(self, risk: AtRisk) -> dict[str, Cover]:
        """The tasks that bear on a risk: what they detect of it, and what harm they may do there.

        None where the defect is known to be there: that is a job, and nothing to look for.
        """
        covers: dict[str, Cover] = {}
        if risk.place is not None and (risk.mode.key, risk.place.key) in self.known[risk.car]:
            return covers
        shaken = any(raise_.event is Event.WORK_THERE for raise_ in risk.mode.raises)
        for key, check, detections in self.bearing_on.get((risk.car, risk.pack), ()):
            detects = detections.get(risk.mode.key, 0.0)
            harm = check.harm if shaken and risk.mode.role in check.roles else 0.0
            if detects or harm:
                covers[key] = Cover(detects, check.false_alarm if detects else 0.0, harm)
        return covers

    def _bearing_on(self) -> dict[tuple[UUID, UUID | None], list[tuple[str, Check, dict[str, float]]]]:
        """The tasks of each car, and of each pack in it, with what they detect by mode."""
        bearing: dict[tuple[UUID, UUID | None], list[tuple[str, Check, dict[str, float]]]] = {}
        for key, task in self.tasks.items():
            detections = {cover.mode: cover.detects for cover in task.check.covers}
            for pack in {task.pack, task.beside or task.pack}:
                bearing.setdefault((task.car.id, pack), []).append((key, task.check, detections))
        return bearing

    # What is chosen.

    def _stakes(self, values: Values) -> list[AtStake]:
        """The worth of every set of the tasks that cover each risk, in minor units."""
        watched = [n for n, covers in enumerate(self.covers) if covers]
        if not watched:
            return []
        rows = [self.risks[n] for n in watched]
        ahead, _ = self._future(watched, values)
        sets = worth_of_sets(
            ahead,
            presence=np.array([row.presence for row in rows]),
            exposure=np.array([row.exposure for row in rows]),
            covers=self.sets,
        )
        return [AtStake(f"{n}", tuple(self.covers[n]), worth) for n, worth in zip(watched, sets, strict=True)]

    def _future(self, watched: Sequence[int], values: Values) -> tuple[Future, Sequence[str]]:
        """How the watched risks go on under their best stand-alone checks, and which those are."""
        rows = [self.risks[n] for n in watched]
        restore, failure = costs(rows, self.prices, values)
        ahead, best = cheapest_checks(
            rate=np.array([row.rate for row in rows]),
            sudden_share=np.array([row.sudden_share for row in rows]),
            delay=np.array([row.delay for row in rows]),
            restore_cost=restore,
            failure_cost=failure,
            checks=[self._each_alone(self.covers[n], values) for n in watched],
            part_rate=self.part_rates,
        )
        return ahead, [list(self.covers[n])[which] for n, which in zip(watched, best, strict=True)]

    def _each_alone(self, covers: Mapping[str, Cover], values: Values) -> list[tuple[float, float]]:
        """Detection and cost of each check that one could use for a mode alone, again and again."""
        return [(cover.detection, self.again[key] * values.bench_minute) for key, cover in covers.items()]

    def _minutes_again(self) -> dict[str, float]:
        """Minutes of each check done again and again, with its share of the ways in to it."""
        return {
            key: task.check.minutes
            + sum(
                self.facts.access[way].minutes * self.way_shares.get((task.car.id, way), FIRST_SHARE)
                for way in opening(self.facts, task.check.access)
            )
            for key, task in self.tasks.items()
        }

    def _way_shares(self) -> dict[tuple[UUID, str], float]:
        """What each check pays of each way in, on each car: those that go through it share it."""
        watched = [n for n, covers in enumerate(self.covers) if covers]
        if not watched:
            return {}
        ahead, best = self._future(watched, self.values)
        often = dict.fromkeys(self.tasks, 0.0)
        for n, key, interval in zip(watched, best, ahead.interval.tolist(), strict=True):
            often[key] = max(often[key], min(1.0, self.risks[n].exposure / interval))
        ways = {(car.id, way): n for n, (car, way) in enumerate(product(self.cars, self.facts.access))}
        needs = np.zeros((len(often), len(ways)))
        for row, key in zip(needs, often, strict=True):
            task = self.tasks[key]
            row[[ways[task.car.id, way] for way in opening(self.facts, task.check.access)]] = 1.0
        shares = shares_of_ways(frequency=np.array(list(often.values())), needs=needs)
        return {way: float(shares[n]) for way, n in ways.items()}

    def _firm(self, kept: Kept, sums: Mapping[float, SheetSums]) -> bool:
        """Whether a check is worth its minutes at half and at double of the judgement values too."""
        return all(
            sums[factor].lost_without(kept.key) > kept.tenths * self.values.times(factor).bench_minute / 10.0
            for factor in FACTORS
        )

    def _chosen(self, stakes: Sequence[AtStake], musts: frozenset[str]) -> Choice:
        """The best set for the minutes, with what it will probably find cured in them.

        Cures overlap: what two checks would find is cured once. First each check pays for all that it may
        find; then, with what the first choice shares, once more, and the better of the two that fit is taken.
        """
        have = self._tenths_for_checks(self.asked.minutes)
        first = self._choose(stakes, musts, self._cure_minutes(()), have)
        if self.only is not None or first.outcome is not Outcome.BEST:
            return first
        over = self._needs_tenths(first) - have
        if over > 0.0:  # many small cures, each rounded to nothing, come to more than a tenth of a minute
            less = self._choose(stakes, musts, self._cure_minutes(()), max(0, have - ceil(over) - 1))
            return less if less.outcome is Outcome.BEST else first
        if -over < WORTH_ANOTHER_LOOK:
            return first
        again = self._choose(stakes, musts, self._cure_minutes(first.keys), have)
        return again if self._needs_tenths(again) <= have and again.net > first.net else first

    def _needs_tenths(self, choice: Choice) -> float:
        """Tenths of a minute that the looks of a choice take, with what they will probably find cured."""
        return 10.0 * (self._looking(choice.keys) + self._cures(choice.keys))

    def _tenths_for_checks(self, minutes: float) -> int:
        """What is left of some minutes for looking and its cures: wet work, jobs and cleaning go before."""
        fixing = sum(job.minutes for job in self.jobs if job.tonight)
        cleaning = sum(work.minutes for several in self.to_clean.values() for work in several)
        return max(0, round((minutes - fixing - cleaning) * 10) - self.wet_tenths)

    def _choose(
        self, stakes: Sequence[AtStake], musts: frozenset[str], cures: Mapping[str, float], tenths: int
    ) -> Choice:
        return choosing.choose(
            checks=self._to_choose_from(musts, cures),
            access=self._ways(),
            at_stake=stakes,
            tenths=tenths,
            price_per_tenth=self.values.bench_minute / 10.0,
            most_nodes=choosing.MOST_NODES,
        )

    def _to_choose_from(self, musts: frozenset[str], cures: Mapping[str, float]) -> list[choosing.Check]:
        return [
            choosing.Check(
                key=task.key,
                tenths=round(self._line_minutes(task) * 10),
                access=tuple(f"{task.car.id}/{key}" for key in opening(self.facts, task.check.access)),
                must=task.key in (musts if self.only is None else self.only),
                possible=task.possible if self.only is None else task.key in self.only,
                likely=round(cures.get(task.key, 0.0) * 10) if self.only is None else 0,
            )
            for task in self.tasks.values()
        ]

    def _ways(self) -> list[choosing.Access]:
        return [
            choosing.Access(
                key=f"{car.id}/{access.key}",
                tenths=round(access.minutes * 10),
                parent=f"{car.id}/{access.parent}" if access.parent else None,
                harm=self.harm[car.id, access.key],
            )
            for car in self.cars
            for access in self.facts.access.values()
        ]

    def _harm_of(self, car: CarRecord, access: Access) -> float:
        """What opening a way loses on average, in minor units: faults it plants that fail on the way."""
        if not access.harm:
            return 0.0
        rows = [
            risk
            for risk in self.risks
            if risk.car == car.id and risk.pack is None and shaken_by(risk, access.roles)
        ]
        _, failure = costs(rows, self.prices, self.values)
        fails = [1.0 - exp(-risk.exposure / risk.delay) if risk.delay > 0.0 else 1.0 for risk in rows]
        planted = [access.harm * (1.0 - risk.presence) for risk in rows]
        return float(np.dot(np.multiply(planted, fails), failure)) if rows else 0.0

    def _cure_minutes(self, chosen: Collection[str]) -> dict[str, float]:
        """What curing will take on average because of each check, in minutes, beside those that are chosen.

        A chosen check has its share of what the chosen find together, another what it would find beside them.
        """
        minutes: dict[str, float] = {}
        for risk, covers in zip(self.risks, self.covers, strict=True):
            wanted = risk.presence * risk.mode.cure_min * self.pace.times
            if wanted < LEAST_CURE_MIN:
                continue
            seen = together(covers, chosen)
            summed = sum(cover.detection for key, cover in covers.items() if key in chosen)
            for key, cover in covers.items():
                share = seen / summed if key in chosen and summed else 1.0 - seen
                minutes[key] = minutes.get(key, 0.0) + wanted * cover.detection * share
        return minutes

    def _looking(self, keys: Collection[str]) -> float:
        """Minutes of some checks with their ways in, reading and answering."""
        tasks = [self.tasks[key] for key in keys]
        ways = {(task.car.id, way) for task in tasks for way in opening(self.facts, task.check.access)}
        opened = sum(self.facts.access[way].minutes for _, way in ways)
        return opened + sum(self._line_minutes(task) for task in tasks)

    def _cures(self, keys: Collection[str]) -> float:
        """Minutes that curing what some checks find will take on average, each cure once."""
        return sum(
            risk.presence * risk.mode.cure_min * self.pace.times * together(covers, keys)
            for risk, covers in zip(self.risks, self.covers, strict=True)
        )

    def _bench_minutes(self, choice: Choice) -> BenchMinutes:
        return BenchMinutes(
            looking=self._looking(choice.keys),
            cures=self._cures(choice.keys),
            cleaning=sum(work.minutes for several in self.to_clean.values() for work in several),
            fixing=sum(job.minutes for job in self.jobs if job.tonight),
            wet=self.wet_tenths / 10.0,
        )

    def _to_clean(self, car: CarRecord) -> tuple[Treatment, ...]:
        """What a round begins with on a car that is dirty since its last run; wet work cleans it too."""
        if self.only is not None or any(treatment.car == car.id for treatment in self.treatments):
            return ()
        works = dirty_since_run(self.facts, car)
        share = sum(work.minutes for work in works) * len(self.cars) / max(self.asked.minutes, 1e-9)
        return works if share <= MOST_CLEANING else ()

    def _curve(
        self, stakes: Sequence[AtStake], musts: frozenset[str], choice: Choice
    ) -> tuple[CurvePoint, ...]:
        """What other minutes would save: for the owner to find the knee."""
        if self.only is not None:
            return ()
        sets = choosing.choose_for_each(
            checks=self._to_choose_from(musts, self._cure_minutes(choice.keys)),
            access=self._ways(),
            at_stake=stakes,
            tenths=[self._tenths_for_checks(minutes) for minutes in CURVE_MIN],
            price_per_tenth=self.values.bench_minute / 10.0,
        )
        points = []
        for minutes, keys in zip(CURVE_MIN, sets, strict=True):
            made = choice.keys if minutes == self.asked.minutes else keys
            saves = Figure(SheetSums(stakes, made).worth / 100.0, self.values.currency, origins=(WORTH,))
            points.append(CurvePoint(minutes, saves, len(made)))
        return tuple(points)

    # What it leads to.

    def _after(self, choice: Choice, ahead: Mapping[UUID, Ahead]) -> list[tuple[float, float]]:
        """For each risk the chance of failing after this bench, and what of it nobody could see before."""
        chosen = set(choice.keys)
        fixed = {(job.car, job.mode, job.place) for job in self.jobs if job.tonight and not job.times}
        after: list[tuple[float, float]] = [(0.0, 0.0)] * len(self.risks)
        members: dict[tuple[UUID, UUID | None], list[int]] = {}
        for n, risk in enumerate(self.risks):
            members.setdefault((risk.car, risk.pack), []).append(n)
        for (car, pack), rows in members.items():
            risks = [self.risks[n] for n in rows]
            covers = [[cover for key, cover in self.covers[n].items() if key in chosen] for n in rows]
            opened = self._opened(car, choice) if pack is None else ()
            roles = {role for access in opened for role in access.roles}
            member = pack or car
            share = ahead[car] if pack is None else ahead[car].shared_by(len(self.packs[car]))
            ended = after_bench(
                self.stories[member],
                member,
                share,
                self.now,
                Bench(
                    detects=np.array([1.0 - missed(cover.detection for cover in some) for some in covers]),
                    false_alarm=np.array(
                        [1.0 - missed(cover.false_alarm for cover in some) for some in covers]
                    ),
                    fixed=np.array(
                        [
                            (car, risk.mode.key, risk.place.key if risk.place else "") in fixed
                            for risk in risks
                        ]
                    ),
                    opened=np.array([risk.mode.role in roles for risk in risks]),
                    planted=np.array(
                        [
                            1.0
                            - missed(cover.harm for cover in some)
                            * missed(access.harm for access in opened if shaken_by(risk, access.roles))
                            for risk, some in zip(risks, covers, strict=True)
                        ]
                    ),
                ),
            )
            for n, failing, unseen in zip(rows, ended.fail_chance, ended.unseen, strict=True):
                after[n] = float(failing), float(unseen)
        return after

    def _opened(self, car: UUID, choice: Choice) -> tuple[Access, ...]:
        """The ways in that the chosen checks of a car open."""
        ways = {
            way
            for key in choice.keys
            if self.tasks[key].car.id == car
            for way in opening(self.facts, self.tasks[key].check.access)
        }
        return tuple(self.facts.access[way] for way in sorted(ways))

    def _saved_now(self, after: Sequence[tuple[float, float]]) -> Figure:
        """What is saved before the next bench: failures that do not come, less the cures they would cost."""
        restore, failure = costs(self.risks, self.prices, self.values) if self.risks else ((), ())
        saved = sum(
            (risk.fail_chance - failing) * max(0.0, lost - cure)
            for risk, (failing, _), cure, lost in zip(self.risks, after, restore, failure, strict=True)
        )
        return Figure(saved / 100.0, self.values.currency, origins=(WORTH,))

    # How it is said.

    def _car(self, car: CarRecord, ahead: Ahead, after: Sequence[tuple[float, float]]) -> SheetCar:
        mine = [n for n, risk in enumerate(self.risks) if risk.car == car.id]
        rows = [self.standing[n] for n in mine]
        _, failure = costs(rows, self.prices, self.values)
        loss = float(np.dot([row.fail_chance for row in rows], failure)) if rows else 0.0
        stops = {n: self.risks[n].mode.stops for n in mine}

        def chance(chances: Iterable[float]) -> Figure:
            return Figure(any_failure(chances), "1", origins=(WORTH,))

        looks = [key for key in car.last_looked if not says_nothing_of_dirt(self.facts, key)]
        return SheetCar(
            id=car.id,
            name=car.name,
            ahead=ahead,
            first_look=not looks,
            stop_chance=chance(self.standing[n].stop_chance for n in mine),
            stop_chance_after=chance(share * after[n][0] for n, share in stops.items()),
            stop_chance_unseen=chance(share * min(after[n]) for n, share in stops.items()),
            expected_loss=Figure(loss / 100.0, self.values.currency, origins=(WORTH,)),
        )

    def _steps(
        self, choice: Choice, sums: Mapping[float, SheetSums], musts: frozenset[str], firm: set[str]
    ) -> Iterable[SheetAccess | SheetCheck]:
        opened: set[str] = set()
        begun: set[tuple[UUID, str]] = set()
        for key in self._in_working_order(choice.keys, sums[1.0], musts):
            task = self.tasks[key]
            for home in self._begun_by(task):
                if (task.car.id, home.key) not in begun and self.to_clean[task.car.id]:
                    begun.add((task.car.id, home.key))
                    for treatment in self.to_clean[task.car.id]:
                        if treatment.key in home.begin:
                            yield self._begin(task.car, home.key, treatment)
            for access in opening(self.facts, task.check.access):
                if f"{task.car.id}/{access}" not in opened:
                    opened.add(f"{task.car.id}/{access}")
                    yield self._access(task.car, self.facts.access[access])
            gain = self._gain(sums[factor].lost_without(key) for factor in FACTORS)
            yield self._check(task, gain, key in musts, key in firm)

    def _begun_by(self, task: Task) -> Iterable[Round]:
        """The rounds whose first work is done by the time a check is: its own, and those before it."""
        for home in self.facts.rounds.values():
            yield home
            if home.key == self.facts.round_of(task.check).key:
                return

    def _gain(self, minor: Iterable[float]) -> Figure:
        """What a check adds to the others, at half, at one and at double of the judgement values."""
        half, base, double = (amount / 100.0 for amount in minor)
        return Figure(base, self.values.currency, origins=(WORTH,)).with_band(half, double)

    def _in_working_order(self, keys: Iterable[str], sums: SheetSums, musts: frozenset[str]) -> list[str]:
        """Round by round, way in by way in: what comes first, what waits for a cure, then by worth.

        The same look at several packs stays together.
        """
        rounds = list(self.facts.rounds)
        tasks = [self.tasks[key] for key in keys]
        behind: dict[tuple[UUID, str, str], list[Task]] = {}
        alike: dict[tuple[UUID, str], list[Task]] = {}
        for task in tasks:
            home = self.facts.round_of(task.check).key
            behind.setdefault((task.car.id, home, task.check.access), []).append(task)
            alike.setdefault((task.car.id, task.check.key), []).append(task)

        def per_minute(some: Sequence[Task]) -> float:
            return sum(sums.lost_without(one.key) for one in some) / sum(one.check.minutes for one in some)

        def order(task: Task) -> tuple[float | bool | str, ...]:
            home = self.facts.round_of(task.check)
            group = behind[task.car.id, home.key, task.check.access]
            several = alike[task.car.id, task.check.key]
            return (
                self.place_of[task.car.id],
                rounds.index(home.key),
                len(opening(self.facts, task.check.access)),
                -per_minute(group),
                task.check.access,
                task.check.key not in home.first,
                not any(one.key in musts for one in several),
                not task.check.wait_min,
                -per_minute(several),
                task.check.key,
                self.order_of[task.key],
            )

        return [task.key for task in sorted(tasks, key=order)]

    def _line_minutes(self, task: Task) -> float:
        """What a check takes with reading its line and answering it."""
        return task.check.minutes + self.facts.assumptions["line_min"].value

    def _begin(self, car: CarRecord, home: str, work: Treatment) -> SheetAccess:
        return SheetAccess(
            key=f"{car.id}/{home}/begin",
            car=car.id,
            car_name=car.name,
            name=work.name,
            minutes=work.minutes,
            steps=tuple(filled(step.text, self.builds[car.id]) for step in work.steps),
            cautions=cautions_of(self.facts, work.cautions),
        )

    def _access(self, car: CarRecord, access: Access) -> SheetAccess:
        build = self.builds[car.id]
        return SheetAccess(
            key=f"{car.id}/{access.key}",
            car=car.id,
            car_name=car.name,
            name=access.name,
            minutes=access.minutes,
            steps=tuple(filled(step, build) for step in access.steps),
            cautions=cautions_of(self.facts, access.cautions),
        )

    def _check(self, task: Task, gain: Figure, must: bool, firm: bool) -> SheetCheck:
        build, check = self.builds[task.car.id], self._worded(task)
        seen = [
            (risk, covers[task.key].detection)
            for risk, covers in zip(self.risks, self.covers, strict=True)
            if task.key in covers and covers[task.key].detection
        ]
        _, failure = costs([risk for risk, _ in seen], self.prices, self.values)
        wait = f"{check.wait_min:g} min: {filled(check.wait_for, build)}" if check.wait_min else ""
        return SheetCheck(
            key=task.key,
            car=task.car.id,
            car_name=task.car.name,
            pack=task.pack or task.beside,
            pack_name=self._pack_name(task.pack or task.beside),
            check=check.key,
            name=check.name,
            moment=check.moment,
            minutes=check.minutes,
            gate=task.gate,
            must=must,
            why=why_of(seen, failure, self.values, MOST_REASONS, zone=self.zone),
            gain=gain if seen else None,
            cost=self._price_of(check.minutes),
            firm=firm,
            steps=tuple(filled(step, build) for step in check.steps),
            good=filled(check.good, build),
            bad=filled(check.bad, build),
            how_tight=filled(check.how_tight, build),
            thread_lock=filled(check.thread_lock, build),
            wait=wait,
            harm=filled(check.harm_text, build),
            tools=tuple(filled(tool, build) for tool in check.tools),
            cautions=cautions_of(self.facts, check.cautions),
            answers=answer_words(check, self.pack_modes[task.pack] if task.pack else self.modes[task.car.id]),
            adults_only=check.adults_only
            or any(self.facts.cautions[key].adults_only for key in check.cautions),
            chemistry=self._chemistry(task),
            round=self.facts.round_of(check).key,
            access=opening(self.facts, check.access),
            look_hardest=_likeliest([risk for risk, _ in seen]),
        )

    def _worded(self, task: Task) -> Check:
        """The check in the words for the pack in hand."""
        return task.check.worded_for(self._chemistry(task))

    def _chemistry(self, task: Task) -> str:
        return taken_as(self.ledger.packs[task.pack].chemistry).value if task.pack else ""

    def _price_of(self, minutes: float) -> Figure:
        base = minutes * self.values.bench_minute / 100.0
        return Figure(base, self.values.currency).with_band(base / 2.0, base * 2.0)

    def _shortfall(self, choice: Choice) -> str:
        needed = (choice.must_tenths + self.wet_tenths) / 10.0
        if choice.outcome is Outcome.MUST_DOES_NOT_FIT:
            home = "this car" if len(self.cars) == 1 else "a car"
            return (
                f"Needs {needed:.0f} minutes, you have {self.asked.minutes:g}: do these or leave {home} home."
            )
        if needed > self.asked.minutes:
            return (
                f"What is due after wet needs {needed:g} minutes, you have {self.asked.minutes:g}: "
                "it does not wait, the rest does."
            )
        return ""

    def _readiness(self) -> Iterable[WetReadiness]:
        """Before a wet run: whether the cars are rated for it."""
        for car in self.cars:
            ready = readiness_of(self.facts, car, self.builds[car.id], self.asked.wet)
            if ready is not None:
                yield ready

    def _unguarded(self) -> Iterable[str]:
        """Safety limits passed that a look could help, with no check at hand that could see it now.

        Nothing is said of a chance that shows as 0 %, nor of what was looked at and found OK at this bench.
        """
        for risk, covers in zip(self.risks, self.covers, strict=True):
            tasks = [self.tasks[key] for key, cover in covers.items() if cover.detection]
            if not risk.needs_a_look or risk.presence < LEAST_SAID or any(task.possible for task in tasks):
                continue
            if risk.mark.how == "sound" and any(task.answered for task in tasks):
                continue
            named = self._pack_name(risk.pack) or self.ledger.cars[risk.car].name
            if risk.presence >= KNOWN:
                yield f"{named}: {in_sentence(risk.mode.name)}. Found, not fixed: do not drive before it is."
                continue
            later = next((task.check for task in tasks if not task.moment_is_now), None)
            when = f" “{later.name}” sees it, {later.moment.value}." if later else ""
            yield (
                f"{named}: {in_sentence(risk.mode.name)} may be there "
                f"({risk.presence * 100:.0f} %), and nothing that can be done now shows it.{when}"
            )

    def _left_out(self, choice: Choice) -> Iterable[SheetLeftOut]:
        for out in sorted(choice.left_out, key=lambda out: (-out.gain, out.key)):
            task = self.tasks[out.key]
            yield SheetLeftOut(
                car_name=task.car.name,
                name=self._named(task),
                reason=_why_not(out.reason, task),
                gain=Figure(out.gain / 100.0, self.values.currency, origins=(WORTH,)),
                minutes=out.tenths / 10.0,
            )

    def _pack_name(self, pack: UUID | None) -> str:
        return self.ledger.packs[pack].name if pack else ""

    def _named(self, task: Task) -> str:
        return (
            f"{task.check.name}, pack {self.ledger.packs[task.pack].name}" if task.pack else task.check.name
        )


def missed(chances: Iterable[float]) -> float:
    """The chance that none of some independent things happens."""
    none = 1.0
    for chance in chances:
        none *= 1.0 - chance
    return none


def shaken_by(risk: AtRisk, roles: Collection[str]) -> bool:
    """Whether work that takes these places apart can plant a fault of this kind."""
    return risk.mode.role in roles and any(raised.event is Event.WORK_THERE for raised in risk.mode.raises)


def _rate_of_one_part(risk: AtRisk) -> float:
    """How often one of the like parts of a place has it in the long run, new parts and worn ones, learned.

    A hazard k times as high shortens a mean life by k^(1/β).
    """
    shape = (risk.mode.wear_shape or 1.0) if risk.mode.arrival is Arrival.WEAR_OUT else 1.0
    parts = max(1, len(risk.place.spots)) if risk.place is not None else 1
    return float((risk.multiplier / parts) ** (1.0 / shape) / risk.mode.between_defects)


def _likeliest(risks: Sequence[AtRisk]) -> str:
    """The one place of a check that is likelier than all others together to have what it looks for."""
    by_place: dict[str, float] = {}
    for risk in risks:
        if risk.place is not None:
            by_place[risk.place.name] = by_place.get(risk.place.name, 0.0) + risk.presence
    if len(by_place) < 2:
        return ""
    name, most = max(by_place.items(), key=lambda one: one[1])
    likely = most > LIKELY_ENOUGH and most > LIKELIER * (sum(by_place.values()) - most)
    return in_sentence(name) if likely else ""


def _cars(ledger: Ledger, asked: Asked) -> list[CarRecord]:
    if asked.cars:
        return list({car.id: car for car in (car_called(ledger, name) for name in asked.cars)}.values())
    here = [car for car in ledger.cars.values() if car.left_at is None and car.laid_up_at is None]
    return sorted(here, key=lambda car: car.name.casefold())


def _ahead(workshop: Workshop, asked: Asked, car: CarRecord, now: datetime) -> Ahead:
    return look_ahead(
        workshop.facts,
        car.habits,
        until=asked.until,
        now=now,
        packs=asked.packs,
        wet=asked.wet,
        ground=asked.ground,
        air_degC=asked.air_degC,
    )


def _share(ahead: Ahead, car: UUID, member: UUID, packs: Sequence[UUID]) -> Ahead:
    """What one member goes through: the car all of it, each pack its own share."""
    return ahead if member == car else ahead.shared_by(len(packs))


def _packs(
    workshop: Workshop, ledger: Ledger, cars: Sequence[CarRecord], ahead: Mapping[UUID, Ahead]
) -> dict[UUID, tuple[UUID, ...]]:
    """The packs that will likely go in each car: those used last, as many as lie ahead, each in one car.

    A pack that the car cannot take was logged by mistake and is not asked for.
    """
    taken: set[UUID] = set()
    packs: dict[UUID, tuple[UUID, ...]] = {}
    for car in cars:
        here = [
            pack for pack in reversed(car.packs) if pack not in taken and ledger.packs[pack].left_at is None
        ]
        free = that_fit(workshop.build(car.build), ledger, here)
        packs[car.id] = tuple(free[: min(MOST_PACKS, ceil(ahead[car.id].packs))])
        taken.update(packs[car.id])
    return packs


def _due(workshop: Workshop, story: Story, car: CarRecord, now: datetime) -> tuple[DueTreatment, ...]:
    return due_treatments(workshop.facts, story, car, workshop.build(car.build), now, workshop.zone)


def _why_not(reason: Reason, task: Task) -> str:
    if task.answered:
        return "answered at this bench"
    if reason is Reason.NOT_POSSIBLE_NOW:
        return f"done {task.check.moment.value}, not now"
    return str(reason.value)
