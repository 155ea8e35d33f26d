"""The owner's own pace: how the minutes of the tables turn out at this bench."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from functools import lru_cache
from typing import TYPE_CHECKING, TypeVar

from snugfast.facts.model import Access, Check, Facts, RootJob, Treatment
from snugfast.records.entries import SheetDone
from snugfast.records.standing import standing
from snugfast.upkeep.pace import Pace, pace_of

if TYPE_CHECKING:
    from snugfast.records.store.reads import Reads

Timed = TypeVar("Timed", Check, Access, RootJob, Treatment)
MOST_SHEETS = 60  # the newest; more would change nothing that shows
WORTH_SAYING = 1.05  # times, and as far below one
DIGITS = 2  # of the pace: a new sheet moves the third


def pace_now(facts: Facts, reads: Reads) -> Pace:
    """How quick the owner is, from the sheets that were worked through; the table's own pace before any."""
    rows = reads.search(kinds=("sheet_done",), limit=MOST_SHEETS)
    if not rows:
        return Pace()
    ratios = [
        (entry.happened_at - entry.fact.began_at).total_seconds() / 60.0 / entry.fact.planned_min
        for entry in standing(reads.related([row.entry for row in rows])).entries
        if isinstance(entry.fact, SheetDone) and entry.fact.planned_min
    ]
    pace = pace_of(
        ratios,
        hands_differ=facts.assumptions["pace_hands_differ"].value,
        sheets_differ=facts.assumptions["pace_sheets_differ"].value,
        at_most=facts.assumptions["pace_break"].value,
    )
    return replace(pace, times=round(pace.times, DIGITS))


def pace_words(pace: Pace) -> str:
    """“You are about 1.3 times as quick as the table (4 sheets).”, empty where it does not show."""
    sheets = "1 sheet" if pace.sheets == 1 else f"{pace.sheets} sheets"
    if pace.times <= 1.0 / WORTH_SAYING:
        return f"You are about {1.0 / pace.times:.1f} times as quick as the table ({sheets})."
    if pace.times >= WORTH_SAYING:
        return f"You take about {pace.times:.1f} times the table’s minutes ({sheets})."
    return ""


@lru_cache(8)
def _paced(facts: _Same, times: float) -> Facts:
    rows = facts.rows

    def quick(some: Mapping[str, Timed]) -> dict[str, Timed]:
        return {key: replace(row, minutes=round(row.minutes * times, 2)) for key, row in some.items()}

    cleaning = quick({key: row for key, row in rows.treatments.items() if not row.is_dated})
    line = rows.assumptions["line_min"]
    return replace(
        rows,
        checks=quick(rows.checks),
        access=quick(rows.access),
        roots=quick(rows.roots),
        treatments={**rows.treatments, **cleaning},
        modes={key: replace(mode, cure_min=mode.cure_min * times) for key, mode in rows.modes.items()},
        assumptions={**rows.assumptions, "line_min": replace(line, value=line.value * times)},
    )


class _Same:
    """These very tables, whatever others may be equal to them."""

    def __init__(self, rows: Facts) -> None:
        self.rows = rows

    def __eq__(self, other: object) -> bool:
        return isinstance(other, _Same) and self.rows is other.rows

    def __hash__(self) -> int:
        return id(self.rows)


def at_pace(facts: Facts, pace: Pace) -> Facts:
    """The tables with the minutes of checks, ways in, cleaning and cures as this hand takes them.

    What is due after wet keeps its own: drying takes as long for everybody.
    """
    return facts if pace.times == 1.0 else _paced(_Same(facts), pace.times)
