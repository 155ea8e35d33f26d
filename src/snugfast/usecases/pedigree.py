"""Any row of the tables with where it comes from."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, fields, is_dataclass
from enum import Enum
from typing import Any

from snugfast.core.errors import NotKnown
from snugfast.facts.model import Facts, Pedigree, Seen, Source
from snugfast.usecases.shared.typed_words import nearest_way_out

SEEN_WORDS: Mapping[Seen, str] = {
    Seen.PRIMARY: "the text itself was read",
    Seen.SECONDARY: "quoted by another text",
    Seen.MEMORY: "from memory",
    Seen.PRACTICE: "common practice, no source",
    Seen.ELICITED: "an estimate of ours",
}
UNSAID: tuple[Any, ...] = (None, "", (), {})


@dataclass(frozen=True, slots=True)
class PedigreeRow:
    """One row: what it says, its source, and the place in it."""

    kind: str
    key: str
    values: Mapping[str, str]
    source: Source
    where: str


def row_called(facts: Facts, key: str) -> PedigreeRow:
    """The row of that key in whichever table has it. Raises NotKnown with the nearest keys."""
    tables: dict[str, Mapping[str, Any]] = {
        "mode": facts.modes,
        "check": facts.checks,
        "access": facts.access,
        "treatment": facts.treatments,
        "wet rule": facts.wet_rules,
        "first-check list": facts.one_off_sheets,
        "caution": facts.cautions,
        "symptom": facts.hunt_symptoms,
        "cause": facts.hunt_causes,
        "test": facts.hunt_tests,
        "assumption": facts.assumptions,
        "starter build": facts.starters,
        "source": facts.sources,
    }
    wanted = key.strip()
    for kind, table in tables.items():
        if wanted in table:
            return _row(facts, kind, wanted, table[wanted])
    known = [known for table in tables.values() for known in table]
    raise NotKnown(
        f"No table has a row “{key}”.", nearest_way_out(key, known) or "See the tables on the pages."
    )


def _row(facts: Facts, kind: str, key: str, row: Any) -> PedigreeRow:
    if isinstance(row, Source):
        return PedigreeRow(kind, key, _values(row), row, "")
    pedigree: Pedigree = row.pedigree
    where = f", {pedigree.where}" if pedigree.where else ""
    return PedigreeRow(kind, key, _values(row), facts.sources[pedigree.source], where)


def _values(row: Any) -> dict[str, str]:
    skip = ("key", "pedigree", "places")
    shown = {field.name: getattr(row, field.name) for field in fields(row) if field.name not in skip}
    return {name.replace("_", " "): _words(value) for name, value in shown.items() if value not in UNSAID}


def _words(value: Any) -> str:
    """A value of a row as a person would write it."""
    if isinstance(value, Enum):
        return str(value.value)
    if is_dataclass(value):
        parts = [(field.name, getattr(value, field.name)) for field in fields(value)]
        return ", ".join(
            f"{name.replace('_', ' ')} {_words(part)}" for name, part in parts if part not in UNSAID
        )
    if isinstance(value, Mapping):
        return ", ".join(f"{key} {_words(part)}" for key, part in value.items())
    if isinstance(value, tuple):
        return "; ".join(_words(part) for part in value)
    return f"{value:g}" if isinstance(value, float) else str(value)
