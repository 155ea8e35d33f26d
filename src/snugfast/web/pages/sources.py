"""Where numbers come from: the sources with how each was seen, and the row of anything that has one."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Self

from fastapi import APIRouter, Request
from fastapi.responses import Response

from snugfast.facts.model import Facts, Seen, Source
from snugfast.usecases.pedigree import PedigreeRow, row_called
from snugfast.web.bench import TheWorkshop
from snugfast.web.showing import show

pages = APIRouter()

SEEN_WORDS: Mapping[Seen, str] = {
    Seen.PRIMARY: "the text itself was read",
    Seen.SECONDARY: "quoted by another text",
    Seen.MEMORY: "from memory",
    Seen.PRACTICE: "common practice, no source",
    Seen.ELICITED: "an estimate of ours",
}


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
    modes: tuple[tuple[str, str], ...]
    checks: tuple[tuple[str, str], ...]
    assumptions: tuple[tuple[str, str], ...]

    @classmethod
    def of(cls, facts: Facts) -> Self:
        pedigrees = [
            *(mode.pedigree for mode in facts.modes.values()),
            *(check.pedigree for check in facts.checks.values()),
            *(caution.pedigree for caution in facts.cautions.values()),
        ]
        rests = Counter(facts.sources[pedigree.source].seen.value for pedigree in pedigrees)
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
            rests=tuple(rests.most_common()),
            modes=tuple((mode.key, mode.name) for mode in facts.modes.values()),
            checks=tuple((check.key, check.name) for check in facts.checks.values()),
            assumptions=tuple((one.key, one.meaning) for one in facts.assumptions.values()),
        )


@dataclass(frozen=True, slots=True)
class RowPage:
    """One row of the tables, and its source."""

    kind: str
    name: str
    values: tuple[tuple[str, str], ...]
    source: SourceLine
    where: str

    @classmethod
    def of(cls, row: PedigreeRow) -> Self:
        return cls(
            kind=row.kind,
            name=row.values.get("name") or row.values.get("title") or row.key,
            values=tuple(row.values.items()),
            source=SourceLine.of(row.source),
            where=row.where.lstrip(", "),
        )


@pages.get("/sources")
def sources(request: Request, workshop: TheWorkshop) -> Response:
    return show(
        request, "sources.html", SourcesPage.of(workshop.facts), title="Where numbers come from", here="more"
    )


@pages.get("/sources/{key}")
def row(request: Request, workshop: TheWorkshop, key: str) -> Response:
    page = RowPage.of(row_called(workshop.facts, key))
    return show(request, "row.html", page, title=page.name, here="more")
