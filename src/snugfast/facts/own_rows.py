"""What an owner adds: rows of their own, marked “mine”, and their own minutes for rows of ours."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import replace
from pathlib import Path
from typing import Any, TypeVar

from snugfast.core.findings import Finding
from snugfast.facts.model import Access, Check, Pedigree
from snugfast.facts.reading import Row, as_number, nearest, number_way_out, shown

MINE = "mine"
"""The source of whatever an owner writes without naming one."""

MINUTES = "minutes"

Timed = TypeVar("Timed", Check, Access)


def own_source(row: Row, values: Mapping[str, Any], ours: Collection[str]) -> str:
    """The source of an owner's row: “mine”, or one the owner has described. Ours it cannot be."""
    source = values.get("source", MINE)
    if source != MINE and source in ours:
        row.fault(f"the source “{source}” is ours, and this row is yours", "leave “source” out")
    return str(source)


def strangers(folder: Path, kinds: Collection[str]) -> list[Finding]:
    """A Finding for each file and folder among an owner's tables that would never be read."""
    findings = []
    for path in sorted(folder.iterdir()):
        kind = path.stem if path.suffix == ".toml" else path.name
        is_table = path.suffix == ".toml" or (path.is_dir() and any(path.glob("*.toml")))
        if is_table and kind not in kinds:
            findings.append(
                Finding(path.name, "no table has this name, and it would not be read", nearest(kind, kinds))
            )
    return findings


def with_own_minutes(rows: Mapping[str, Timed], minutes: Mapping[str, float]) -> dict[str, Timed]:
    """The rows, those with minutes of the owner's own changed and saying so."""
    return {
        key: replace(row, minutes=minutes[key], pedigree=_minutes_are_mine(row.pedigree))
        if key in minutes
        else row
        for key, row in rows.items()
    }


def _minutes_are_mine(pedigree: Pedigree) -> Pedigree:
    return replace(pedigree, where="; ".join(part for part in (pedigree.where, "minutes: mine") if part))


def read_minutes(
    document: Mapping[str, Any], file: str, known: Collection[str], findings: list[Finding]
) -> dict[str, float]:
    """Minutes by check or access work, from an owner's table of them."""
    minutes = {}
    for key, value in document.items():
        where = f"{file}, {key}"
        number = as_number(value)
        if key not in known:
            findings.append(Finding(where, f"no check or access work is called “{key}”", nearest(key, known)))
        elif number is None:
            findings.append(
                Finding(where, f"minutes should be a number, not {shown(value)}", number_way_out(value))
            )
        elif number <= 0:
            findings.append(Finding(where, f"minutes are {number:g} and must be above 0"))
        else:
            minutes[key] = number
    return minutes
