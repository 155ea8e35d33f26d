"""The rounds of a bench sheet: lines by where hands and car are, numbered through."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from itertools import chain

from snugfast.facts.model import Facts
from snugfast.usecases.bench.fix_first import FixJob
from snugfast.usecases.bench.sheet import Line, Round, SheetAccess, SheetCheck, stands_of
from snugfast.usecases.shared.cautions import Caution

TOGETHER = ("warm", "rest", "feel", "power", "field")  # of all cars in one go; what is opened goes car by car
MARKS = (2.5, 6.0)  # times its minutes a line is worth, from which it has two and three marks


def rounds_of(
    facts: Facts, steps: Sequence[SheetAccess | SheetCheck], minutes: Mapping[str, float], first: int = 1
) -> tuple[Round, ...]:
    """The steps of a sheet, in working order, as rounds; lines are numbered from `first`.

    `minutes` is what each check takes with reading and answering.
    """
    made: list[Round] = []
    opening: list[SheetAccess] = []
    lines: list[list[SheetCheck]] = []
    number = first

    def close() -> None:
        nonlocal number
        if lines:
            numbered = [_line(number + n, checks, minutes) for n, checks in enumerate(lines)]
            number += len(numbered)
            made.append(_round(facts, tuple(opening), numbered))
        opening.clear()
        lines.clear()

    waiting: list[SheetAccess] = []
    for step in steps:
        if isinstance(step, SheetAccess):
            waiting.append(step)
            continue
        if lines and (step.car, step.round) != (lines[0][0].car, lines[0][0].round):
            close()
        opening += waiting
        waiting.clear()
        if step.pack and lines and lines[-1][0].check == step.check:
            lines[-1].append(step)
        else:
            lines.append([step])
    close()
    return tuple(made)


def over_cars(facts: Facts, rounds: Sequence[Round]) -> tuple[Round, ...]:
    """The rounds of several cars as they are walked, their lines numbered through.

    What needs nothing opened is done on all cars in one go, and so is the powered round at the end; between
    them one car after another. The same look at several cars has numbers in a row.
    """
    order = list(facts.rounds)
    middle = [key for key in order if key not in TOGETHER]
    cars = list(dict.fromkeys(one.car for one in rounds))

    def place(one: Round) -> tuple[int, int]:
        at = order.index(one.key)
        return (at, 0) if one.key in TOGETHER else (order.index(middle[0]), cars.index(one.car))

    walked = sorted(rounds, key=place)
    number = min((line.number for one in rounds for line in one.lines), default=1)
    numbers: dict[int, int] = {}
    for stand in stands_of(walked):
        alike: dict[str, list[int]] = {}
        for one in stand:
            for line in one.lines:
                alike.setdefault(line.check.check, []).append(line.number)
        for old in chain.from_iterable(alike.values()):
            numbers[old] = number
            number += 1
    return tuple(
        replace(one, lines=tuple(replace(line, number=numbers[line.number]) for line in one.lines))
        for one in walked
    )


def with_common_cautions(rounds: Sequence[Round]) -> tuple[tuple[Caution, ...], tuple[Round, ...]]:
    """The cautions that hold for most rounds, said once for the whole job, and the rounds without them."""
    seen: dict[Caution, int] = {}
    for one in rounds:
        for caution in one.cautions:
            seen[caution] = seen.get(caution, 0) + 1
    common = tuple(caution for caution, times in seen.items() if times > 2 and 2 * times >= len(rounds))
    kept = tuple(
        replace(one, cautions=tuple(caution for caution in one.cautions if caution not in common))
        for one in rounds
    )
    return common, kept


def numbered_jobs(jobs: Iterable[FixJob]) -> tuple[FixJob, ...]:
    """The jobs of a sheet with their numbers: they come before all lines."""
    return tuple(replace(job, number=number) for number, job in enumerate(jobs, 1))


def _round(facts: Facts, opening: tuple[SheetAccess, ...], lines: Sequence[Line]) -> Round:
    check = lines[0].check
    row = facts.rounds[check.round]
    held = [caution for access in opening for caution in access.cautions]
    held += [caution for line in lines for one in line.checks for caution in one.cautions]
    return Round(
        key=check.round,
        name=row.name,
        hands=row.hands,
        car=check.car,
        car_name=check.car_name,
        minutes=sum(line.minutes for line in lines) + sum(access.minutes for access in opening),
        cautions=tuple(dict.fromkeys(held)),
        opening=opening,
        lines=tuple(lines),
    )


def _line(number: int, checks: Sequence[SheetCheck], minutes: Mapping[str, float]) -> Line:
    first = checks[0]
    return Line(
        number=number,
        title=first.name,
        place=first.look_hardest,
        packs=tuple(check.pack_name for check in checks if check.pack),
        tool=first.tools[0] if first.tools else "",
        worth=_worth(checks),
        must=any(check.must for check in checks),
        minutes=sum(minutes[check.key] for check in checks),
        wait=first.wait,
        adults_only=any(check.adults_only for check in checks),
        checks=tuple(checks),
    )


def _worth(checks: Sequence[SheetCheck]) -> int:
    gained = sum(check.gain.value for check in checks if check.gain)
    cost = sum(check.cost.value for check in checks)
    if gained <= 0.0:
        return 0
    times = gained / cost if cost > 0.0 else MARKS[-1]
    return 1 + sum(times >= mark for mark in MARKS)
