"""Guided jobs: steps in order, each with its cautions, tools and minutes, as the tables tell them."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cache
from pathlib import Path
from typing import Any

from snugfast import facts
from snugfast.core.errors import NotKnown
from snugfast.facts.load import read_document
from snugfast.facts.model import Build, Facts
from snugfast.facts.texts import filled
from snugfast.usecases.shared.cautions import Caution, cautions_of


@dataclass(frozen=True, slots=True)
class GuideStep:
    """One thing to do: what, what good looks like, and what to beware of there."""

    do: str
    good: str
    cautions: tuple[Caution, ...]


@dataclass(frozen=True, slots=True)
class Guide:
    """A job as it is done. `minutes` is 0 where it is no job but a list of advice."""

    key: str
    name: str
    minutes: float
    adults_only: bool
    tools: tuple[str, ...]
    parts: tuple[str, ...]
    steps: tuple[GuideStep, ...]
    cautions: tuple[Caution, ...]  # for the whole job
    source: str
    roles: tuple[str, ...] = ()  # the places it works on
    traits: Mapping[str, str] = field(default_factory=dict)
    modes: tuple[str, ...] = ()  # ways to fail that it is due by
    checks: tuple[str, ...] = ()  # what it is logged as
    uses: Mapping[str, float] = field(default_factory=dict)  # parts by role, for each place


@cache
def _document(folder: str) -> Mapping[str, Any]:
    return read_document(Path(facts.__path__[0]) / folder / "guides.toml")


def guide(
    tables: Facts,
    folder: str,
    key: str,
    *,
    sizes: Mapping[str, str] | None = None,
    build: Build | None = None,
) -> Guide:
    """One guide of a folder of tables. Words in braces are filled from `sizes`, or by the sizes of a build.

    Raises NotKnown for none such.
    """
    rows = _document(folder)
    if key not in rows:
        raise NotKnown(f"There is no guide “{key}”.", f"There are {', '.join(rows)}.")
    row = rows[key]

    def told(text: str) -> str:
        return filled(text, build) if build is not None else text.format_map(sizes or {})

    steps = tuple(
        GuideStep(told(step["do"]), told(step.get("good", "")), cautions_of(tables, step.get("cautions", ())))
        for step in row["step"]
    )
    whole = cautions_of(tables, row.get("cautions", ()))
    every = (*whole, *(caution for step in steps for caution in step.cautions))
    return Guide(
        key=key,
        name=row["name"],
        minutes=float(row.get("minutes", 0.0)),
        adults_only=bool(row.get("adults_only", False)) or any(one.adults_only for one in every),
        tools=tuple(told(one) for one in row.get("tools", ())),
        parts=tuple(told(one) for one in row.get("parts", ())),
        steps=steps,
        cautions=whole,
        source=row["source"],
        roles=tuple(row.get("roles", ())),
        traits=dict(row.get("traits", {})),
        modes=tuple(row.get("modes", ())),
        checks=tuple(row.get("checks", ())),
        uses=dict(row.get("uses", {})),
    )


def guides_of(folder: str) -> tuple[str, ...]:
    """The keys of all guides of a folder of tables, in the order of the file."""
    return tuple(_document(folder))
