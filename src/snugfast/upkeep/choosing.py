"""Which checks to do in the minutes there are: the exact best set, and why each other check was left out."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from enum import Enum
from math import isfinite

from snugfast.core.errors import ImpossibleInput
from snugfast.upkeep.best_set import Best, Problem, best_set, bits

MILLION = 1_000_000  # money is compared in whole millionths, so that ties are true ties
MOST_NODES = 150  # parts of a search; a sheet of one evening takes up to some tens
MOST_MONEY = 1_000_000.0  # more would not fit the whole numbers


@dataclass(frozen=True, slots=True)
class Access:
    """Work that opens a way in, done once for all checks behind it. `parent` must be open before.

    `harm` is the money that opening it loses on average by what it may spoil.
    """

    key: str
    tenths: int  # tenths of a minute
    parent: str | None = None
    harm: float = 0.0


@dataclass(frozen=True, slots=True)
class Check:
    """One check. `must`: done whatever the sums say. `possible` is False when it cannot be done now.

    `likely` is the time that curing what it finds will take on average. It counts against the minutes there
    are; its price does not count again, since the worth of finding has it in already.
    """

    key: str
    tenths: int  # tenths of a minute, access not counted
    access: tuple[str, ...] = ()
    must: bool = False
    possible: bool = True
    likely: int = 0  # tenths of a minute


@dataclass(frozen=True, slots=True)
class AtStake:
    """What one mode gains from each set of the checks that cover it.

    `worth[mask]` is the money gained when the checks with a set bit in `mask` are done; bit 0 is `checks[0]`,
    and `worth[0]` is 0. Two checks of one mode rarely add up, so every set has its own number
    (`worth.worth_of_sets` gives them).
    """

    key: str
    checks: tuple[str, ...]
    worth: tuple[float, ...]

    def __post_init__(self) -> None:
        if len(set(self.checks)) != len(self.checks):
            raise ImpossibleInput(f"{self.key} names a check twice.", "Name each check once.")
        if len(self.worth) != 1 << len(self.checks):
            raise ImpossibleInput(
                f"{self.key} has {len(self.checks)} checks and {len(self.worth)} worths.",
                "Give one worth for each set of them, the empty set first.",
            )
        if self.worth[0] != 0.0 or not all(abs(worth) <= MOST_MONEY for worth in self.worth):
            raise ImpossibleInput(
                f"{self.key} has a worth that cannot be.",
                f"Give 0 for no check, and amounts up to {MOST_MONEY:g}.",
            )

    @classmethod
    def by_detection(
        cls, key: str, detections: Mapping[str, float], worth: Callable[[float], float]
    ) -> AtStake:
        """Worth as a function of the combined detection 1 − ∏(1 − r) of the checks done."""
        missed = [1.0]
        for detection in detections.values():
            missed += [left * (1.0 - detection) for left in missed]
        return cls(key, tuple(detections), (0.0, *(worth(1.0 - left) for left in missed[1:])))


class Outcome(Enum):
    """How the choice ended."""

    BEST = "the best set for the minutes"
    MUST_DOES_NOT_FIT = "the checks that must be done need more minutes than there are"


class Reason(Enum):
    """Why a check was left out."""

    NOT_WORTH_IT = "not worth the minutes now"
    NOT_ENOUGH_MINUTES = "worth doing, but the minutes ran out"
    NOT_POSSIBLE_NOW = "cannot be done now"


@dataclass(frozen=True, slots=True)
class Kept:
    """A chosen check, and what leaving it alone out of the choice would lose and save."""

    key: str
    gain: float  # money, the price of the minutes taken off
    tenths: int  # access that only this check needs included


@dataclass(frozen=True, slots=True)
class LeftOut:
    """A check that was not chosen, and what adding it alone to the choice would bring and take."""

    key: str
    reason: Reason
    gain: float  # money, the price of the minutes taken off
    tenths: int  # access still to be opened included
    must: bool = False


@dataclass(frozen=True, slots=True)
class Choice:
    """The chosen checks, what they cost and bring; the same in whatever order the checks were given."""

    outcome: Outcome
    kept: tuple[Kept, ...]  # by key
    left_out: tuple[LeftOut, ...]  # by key
    access: tuple[str, ...]  # opened, parents first
    tenths: int  # checks, access and likely cures of what is no must, together
    must_tenths: int  # what the checks that must be done need by themselves
    worth: float  # money, before the price of the minutes
    net: float  # money, after it
    gap: float = 0.0  # money that another set could bring beyond this one at most; 0: this is the best

    @property
    def keys(self) -> tuple[str, ...]:
        """The keys of the chosen checks."""
        return tuple(kept.key for kept in self.kept)


def choose(
    *,
    checks: Sequence[Check],
    access: Sequence[Access],
    at_stake: Sequence[AtStake],
    tenths: int,
    price_per_tenth: float,
    most_nodes: int = MOST_NODES,
) -> Choice:
    """The set of checks worth most in the minutes there are, exactly.

    Several cars of one evening go in together: keys name the car. Checks that must be done are never dropped;
    when they alone do not fit, the outcome says so and they are all that is chosen. Money is compared in
    whole millionths; of sets worth the same the one that takes fewer minutes is chosen, and a tie that is
    left is settled by the keys, always the same way. A check left out for want of minutes is one that would
    still add to the chosen ones, by itself or with others behind the same access. A search that grows beyond
    `most_nodes` is stopped, always at the same point, and `gap` says what the best could bring beyond it.
    Raises ImpossibleInput for keys that do not fit together and for times or money that cannot be.
    """
    _look_over(checks, access, at_stake, tenths, price_per_tenth)
    checks = sorted(checks, key=lambda check: check.key)
    access = _parents_first(access)
    problem = _problem(checks, access, at_stake, tenths, price_per_tenth)
    must_time = problem.time_of(problem.must, problem.access_for(problem.must))
    problem = _within(problem, checks, tenths)
    if problem.fits(problem.must):
        outcome, best = Outcome.BEST, best_set(problem, most_nodes)
    else:
        outcome, best = Outcome.MUST_DOES_NOT_FIT, Best(problem.must, 0)
    chosen = best.chosen
    together = _still_worth_opening(problem, chosen)
    opened = problem.access_for(chosen)
    worth = problem.money_of(chosen)
    time = problem.time_of(chosen, opened)
    return Choice(
        outcome=outcome,
        kept=tuple(_kept(problem, checks[j].key, chosen, j) for j in bits(chosen)),
        left_out=tuple(
            _left_out(problem, check, chosen, j, together)
            for j, check in enumerate(checks)
            if not chosen >> j & 1
        ),
        access=tuple(access[a].key for a in bits(opened)),
        tenths=time,
        must_tenths=must_time,
        worth=worth / MILLION,
        net=(worth - problem.price * time - problem.harm_of(opened)) / MILLION,
        gap=best.gap / MILLION,
    )


def choose_for_each(
    *,
    checks: Sequence[Check],
    access: Sequence[Access],
    at_stake: Sequence[AtStake],
    tenths: Sequence[int],
    price_per_tenth: float,
) -> list[tuple[str, ...]]:
    """A good set of checks for each of several amounts of minutes: the best that a first bound comes upon.

    For a curve over the minutes, where a hair's breadth does not matter. Raises ImpossibleInput as `choose`.
    """
    _look_over(checks, access, at_stake, min(tenths, default=0), price_per_tenth)
    checks = sorted(checks, key=lambda check: check.key)
    problem = _problem(checks, _parents_first(access), at_stake, 0, price_per_tenth)
    sets = []
    for limit in tenths:
        limited = _within(problem, checks, limit)
        chosen = best_set(limited, 1).chosen if limited.fits(limited.must) else limited.must
        sets.append(tuple(checks[j].key for j in bits(chosen)))
    return sets


def _within(problem: Problem, checks: Sequence[Check], tenths: int) -> Problem:
    """The problem with the minutes there are, less what the musts will probably need for cures."""
    must_time = problem.time_of(problem.must, problem.access_for(problem.must))
    if must_time > tenths:
        return replace(problem, limit=tenths)
    kept_back = sum(check.likely for check in checks if check.must and check.possible)
    return replace(problem, limit=max(must_time, tenths - kept_back))


def _kept(problem: Problem, key: str, chosen: int, check: int) -> Kept:
    gain, time = _added(problem, check, chosen & ~(1 << check))
    return Kept(key, gain, time)


def _left_out(problem: Problem, check: Check, chosen: int, place: int, together: int) -> LeftOut:
    gain, time = _added(problem, place, chosen)
    if not check.possible:
        reason = Reason.NOT_POSSIBLE_NOW
    elif gain > 0.0 or together >> place & 1:
        reason = Reason.NOT_ENOUGH_MINUTES
    else:
        reason = Reason.NOT_WORTH_IT
    return LeftOut(check.key, reason, gain, time, check.must)


def _still_worth_opening(problem: Problem, chosen: int) -> int:
    """The checks left out that with others behind the same shut access would pay for opening it; a bit set.

    Each adds what it adds to the chosen ones by itself; a node is worth opening when what lies behind it,
    deeper nodes worth opening included, adds more than opening it takes.
    """
    opened = problem.access_for(chosen)
    value = [
        0 if opened >> a & 1 else -problem.price * time - problem.access_harm[a]
        for a, time in enumerate(problem.access_times)
    ]
    adding = []
    for j, home in enumerate(problem.home):
        if (chosen | problem.barred) >> j & 1:
            continue
        added = problem.money_added_by(j, chosen) - problem.price * problem.times[j]
        if added > 0:
            adding.append(j)
            if home >= 0:
                value[home] += added
    for a in reversed(range(len(value))):
        if problem.parents[a] >= 0 and value[a] > 0:
            value[problem.parents[a]] += value[a]
    return sum(1 << j for j in adding if all(value[a] > 0 or opened >> a & 1 for a in bits(problem.needs[j])))


def _added(problem: Problem, check: int, others: int) -> tuple[float, int]:
    """Net money and time that one check adds to others."""
    opened = problem.access_for(others)
    further = problem.needs[check] & ~opened
    time = problem.time_of(1 << check, further)
    money = problem.money_added_by(check, others) - problem.price * time - problem.harm_of(further)
    return money / MILLION, time


def _problem(
    checks: Sequence[Check],
    access: Sequence[Access],
    at_stake: Sequence[AtStake],
    tenths: int,
    price_per_tenth: float,
) -> Problem:
    place = {check.key: j for j, check in enumerate(checks)}
    chains: dict[str, int] = {}
    for a, node in enumerate(access):
        chains[node.key] = 1 << a | (chains[node.parent] if node.parent is not None else 0)
    door = {node.key: a for a, node in enumerate(access)}
    price = round(price_per_tenth * MILLION)
    likely = [0 if check.must and check.possible else check.likely for check in checks]
    taken = [check.tenths + more for check, more in zip(checks, likely, strict=True)]
    must = _union(1 << j for j, check in enumerate(checks) if check.must and check.possible)
    covers, worth = _merged(at_stake, place)
    for j, more in enumerate(likely):
        if more:  # the price of its cures is in its worth already
            covers.append((j,))
            worth.append((0, price * more))
    return Problem(
        times=tuple(taken),
        needs=tuple(_union(chains[key] for key in check.access) for check in checks),
        access_times=tuple(node.tenths for node in access),
        access_harm=tuple(round(node.harm * MILLION) for node in access),
        parents=tuple(-1 if node.parent is None else door[node.parent] for node in access),
        covers=tuple(covers),
        worth=tuple(worth),
        price=price,
        limit=tenths,
        must=must,
        barred=_union(1 << j for j, check in enumerate(checks) if not check.possible),
    )


def _merged(
    at_stake: Sequence[AtStake], place: Mapping[str, int]
) -> tuple[list[tuple[int, ...]], list[tuple[int, ...]]]:
    """The covers and worths in whole numbers, modes that the same checks cover added up: they are one.

    What fewer modes have to agree on, the bound reaches sooner.
    """
    together: dict[tuple[int, ...], list[int]] = {}
    for mode in at_stake:
        cover = tuple(place[key] for key in mode.checks)
        order = sorted(range(len(cover)), key=cover.__getitem__)
        masks = [0]
        for n in order:
            masks += [mask | 1 << n for mask in masks]
        sums = together.setdefault(tuple(cover[n] for n in order), [0] * len(masks))
        for mask, sorted_mask in enumerate(masks):
            sums[mask] += round(mode.worth[sorted_mask] * MILLION)
    return list(together), [tuple(sums) for sums in together.values()]


def _union(sets: Iterable[int]) -> int:
    whole = 0
    for one in sets:
        whole |= one
    return whole


def _parents_first(access: Sequence[Access]) -> list[Access]:
    """By key, each behind its parent. Raises ImpossibleInput for a way in that leads into itself."""
    waiting = sorted(access, key=lambda node: node.key)
    ready: list[Access] = []
    open_now: set[str | None] = {None}
    while waiting:
        step = [node for node in waiting if node.parent in open_now]
        if not step:
            names = ", ".join(node.key for node in waiting)
            raise ImpossibleInput(
                f"Access {names} has no way in.", "Let each chain of parents end at the top."
            )
        ready += step
        open_now |= {node.key for node in step}
        waiting = [node for node in waiting if node.key not in open_now]
    return ready


def _look_over(
    checks: Sequence[Check],
    access: Sequence[Access],
    at_stake: Sequence[AtStake],
    tenths: int,
    price_per_tenth: float,
) -> None:
    """Raise ImpossibleInput for what cannot be chosen from."""
    for what, keys in (
        ("check", [check.key for check in checks]),
        ("access", [node.key for node in access]),
        ("mode", [mode.key for mode in at_stake]),
    ):
        twice = [key for key, count in Counter(keys).items() if count > 1]
        if twice:
            raise ImpossibleInput(f"The {what} {twice[0]} is there twice.", "Give each its own key.")
    known = {node.key for node in access}
    named = [(check.key, key) for check in checks for key in check.access]
    named += [(node.key, node.parent) for node in access if node.parent is not None]
    for who, key in named:
        if key not in known:
            raise ImpossibleInput(f"{who} needs the access {key}, which nobody described.", "Describe it.")
    there = {check.key for check in checks}
    for mode in at_stake:
        for key in mode.checks:
            if key not in there:
                raise ImpossibleInput(f"{mode.key} is covered by {key}, which is no check.", "Leave it out.")
    if min([tenths, *(check.tenths for check in checks), *(node.tenths for node in access)]) < 0:
        raise ImpossibleInput("A time is below zero.", "Give whole tenths of a minute, zero or more.")
    if not all(0.0 <= node.harm <= MOST_MONEY for node in access):
        raise ImpossibleInput("Opening a way in cannot lose that.", "Give a harm of zero or more.")
    if not (isfinite(price_per_tenth) and 0.0 <= price_per_tenth <= MOST_MONEY / 1000.0):
        raise ImpossibleInput(f"A minute cannot be worth {price_per_tenth * 10:g}.", "Give zero or more.")
