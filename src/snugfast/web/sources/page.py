"""Where numbers come from: the sources with how each was seen, and the row of anything that has one."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Self

from fastapi import APIRouter, Request
from fastapi.responses import Response

from snugfast.facts.model import Check, Facts, Mode, Source
from snugfast.usecases.bench.sheet_words import count_words
from snugfast.usecases.pedigree import SEEN_WORDS, PedigreeRow, row_called
from snugfast.web.bench import TheWorkshop
from snugfast.web.numbers import count, minutes, percent, plain
from snugfast.web.showing import show

pages = APIRouter()

Pairs = tuple[tuple[str, str], ...]


@dataclass(frozen=True, slots=True)
class SourceLine:
    """One source."""

    key: str
    title: str
    by: str
    seen: str
    note: str

    @classmethod
    def of(cls, source: Source) -> Self:
        by = ", ".join(str(part) for part in (source.authors, source.publisher, source.year) if part)
        through = f"; through {source.through}" if source.through else ""
        return cls(source.key, source.title, by, f"{SEEN_WORDS[source.seen]}{through}", source.note)


@dataclass(frozen=True, slots=True)
class SourceGroup:
    """Sources that were seen the same way."""

    word: str
    meaning: str
    lines: tuple[SourceLine, ...]


@dataclass(frozen=True, slots=True)
class SourcesPage:
    """All sources, and how many rows of the tables rest on each way of seeing."""

    groups: tuple[SourceGroup, ...]
    rests: tuple[tuple[str, int], ...]
    tables: tuple[tuple[str, Pairs], ...]

    @classmethod
    def of(cls, facts: Facts) -> Self:
        pedigrees = [
            *(mode.pedigree for mode in facts.modes.values()),
            *(check.pedigree for check in facts.checks.values()),
            *(caution.pedigree for caution in facts.cautions.values()),
            *(treatment.pedigree for treatment in facts.treatments.values()),
            *(rule.pedigree for rule in facts.wet_rules.values()),
            *(sheet.pedigree for sheet in facts.one_off_sheets.values()),
        ]
        rests = Counter(facts.sources[pedigree.source].seen for pedigree in pedigrees)
        groups = [
            SourceGroup(
                seen.value,
                meaning,
                tuple(SourceLine.of(source) for source in facts.sources.values() if source.seen is seen),
            )
            for seen, meaning in SEEN_WORDS.items()
        ]
        return cls(
            groups=tuple(group for group in groups if group.lines),
            rests=tuple((SEEN_WORDS[seen], number) for seen, number in rests.most_common()),
            tables=(
                ("Ways to fail", tuple((mode.key, mode.name) for mode in facts.modes.values())),
                ("Checks", tuple((check.key, check.name) for check in facts.checks.values())),
                ("After wet", tuple((one.key, one.name) for one in facts.treatments.values())),
                ("Before wet", tuple((wet, wet) for wet in facts.wet_rules)),
                ("One-off sheets", tuple((one.key, one.name) for one in facts.one_off_sheets.values())),
                ("Assumptions", tuple((one.key, one.meaning) for one in facts.assumptions.values())),
            ),
        )


@dataclass(frozen=True, slots=True)
class RowPage:
    """One row of the tables in words, and its source."""

    kind: str
    name: str
    values: Pairs
    links: Pairs  # rows that belong to it
    source: SourceLine
    where: str

    @classmethod
    def of(cls, row: PedigreeRow, facts: Facts) -> Self:
        values, links = _said(row, facts)
        return cls(
            kind={"mode": "a way to fail"}.get(row.kind, row.kind),
            name=row.values.get("name") or row.values.get("title") or row.values.get("meaning") or row.key,
            values=values,
            links=links,
            source=SourceLine.of(row.source),
            where=row.where.lstrip(", "),
        )


@pages.get("/sources")
def sources(request: Request, workshop: TheWorkshop) -> Response:
    page = SourcesPage.of(workshop.facts)
    return show(request, "sources/sources.html", page, title="Where numbers come from", here="more")


@pages.get("/sources/{key}")
def row(request: Request, workshop: TheWorkshop, key: str) -> Response:
    page = RowPage.of(row_called(workshop.facts, key), workshop.facts)
    return show(request, "sources/row.html", page, title=page.name, here="more")


def _said(row: PedigreeRow, facts: Facts) -> tuple[Pairs, Pairs]:
    if row.kind == "mode":
        mode = facts.modes[row.key]
        seen_by = [check for check in facts.checks.values() if any(c.mode == mode.key for c in check.covers)]
        return tuple(_mode(mode, facts)), tuple((check.key, check.name) for check in seen_by)
    if row.kind == "check":
        check = facts.checks[row.key]
        links = tuple((cover.mode, facts.modes[cover.mode].name) for cover in check.covers)
        return tuple(_check(check, facts)), links
    return tuple((name, value) for name, value in row.values.items() if name != "name"), ()


def _mode(mode: Mode, facts: Facts) -> Iterator[tuple[str, str]]:
    """The prior numbers of a way to fail, in words."""
    yield "what happens", mode.what_happens
    yield "at", facts.roles[mode.role].name
    yield "a defect comes", f"once in {count_words(mode.between_defects, mode.clock)}, {mode.arrival.value}"
    if mode.wear_shape is not None:
        yield "wear shape", plain(mode.wear_shape)
    yield "cars differ", f"by about {percent(mode.spread**-0.5)} of that"
    yield "and fails after", f"{count_words(mode.delay, mode.clock)} more"
    yield "sudden", f"{percent(mode.sudden)} of failures show nothing before"
    yield "cure", f"{mode.cure} {minutes(mode.cure_min)}"
    yield "failing costs", f"{mode.failure} {minutes(mode.failure_min)} at the bench"
    yield "and loses", f"{minutes(mode.lost_running_min)} of running"
    for name, used in (("cure uses", mode.cure_parts), ("failing uses", mode.failure_parts)):
        if used:
            yield name, ", ".join(f"{plain(share)} {facts.roles[role].name}" for role, share in used.items())
    for raised in mode.raises:
        yield (
            f"after {raised.event.value}",
            f"{plain(raised.factor)} times as often, dying away over {count_words(raised.decay, mode.clock)}",
        )
    for name, factors in (("wet", mode.wet_factor), ("ground", mode.ground_factor)):
        if factors:
            yield name, ", ".join(f"{word} × {plain(factor)}" for word, factor in factors.items())
    if mode.safety is not None:
        limit = mode.safety
        yield (
            "safety limit",
            f"{percent(limit.belief)} that it is there, {percent(limit.failing)} that it fails",
        )
    if mode.no_check_because:
        yield "no check", mode.no_check_because


def _check(check: Check, facts: Facts) -> Iterator[tuple[str, str]]:
    """What a check takes, sees and may do, in words."""
    yield "takes", minutes(check.minutes)
    yield "when", check.moment.value
    if check.gates:
        yield "always", ", ".join(gate.value for gate in check.gates)
    if check.access:
        yield "behind", facts.access[check.access].name
    sees = (f"{facts.modes[one.mode].name} ({percent(one.detects)})" for one in check.covers)
    yield "sees", "; ".join(sees)
    yield "false alarm", percent(check.false_alarm)
    if check.harm:
        yield "may do harm", f"{percent(check.harm)}: {check.harm_text}"
    yield "answers", ", ".join(dict.fromkeys(answer.word for answer in check.answers))
    yield "steps", count(len(check.steps), "step")
