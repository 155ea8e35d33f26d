"""Cautions as a door shows them, with where they come from."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from snugfast.facts.model import Facts


@dataclass(frozen=True, slots=True)
class Caution:
    """A caution as a door shows it, with where it comes from."""

    text: str
    adults_only: bool
    seen: str
    short: str = ""  # for a line; the text where there is none


def cautions_of(facts: Facts, keys: Sequence[str]) -> tuple[Caution, ...]:
    """The cautions of a step."""
    found = [facts.cautions[key] for key in keys]
    return tuple(
        Caution(
            caution.text,
            caution.adults_only,
            facts.sources[caution.pedigree.source].seen.value,
            caution.short or caution.text,
        )
        for caution in found
    )
