"""What a fault hunt knows: symptoms, causes, tests, and words for how strongly one shows the other."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from enum import Enum
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from snugfast.facts.model import Pedigree

STRENGTHS = ("almost_always", "usually", "sometimes", "rarely")
"""The words for how strongly a cause shows itself, strongest first; their numbers stand in a table."""

Links = Mapping[str, str]
"""From the key of a cause to the word for how strongly it shows."""


class WhereSafe(Enum):
    """Where a test can be done without hurting anybody. Nothing powered is held by hand."""

    PACK_OUT = "pack out"
    ON_STAND = "on the stand"
    CLEAR_GROUND = "clear ground"

    @property
    def is_powered(self) -> bool:
        """Whether something can turn or drive off."""
        return self is not WhereSafe.PACK_OUT


class Afterwards(Enum):
    """What to do once the cause is known."""

    DRIVE_ON = "drive on"
    GENTLY_HOME = "gently home"
    CARRY_HOME = "carry home"


@dataclass(frozen=True, slots=True)
class Strength:
    """A word for P(it shows | this cause alone is there), and the number it stands for."""

    key: str
    name: str
    chance: float
    pedigree: Pedigree


@dataclass(frozen=True, slots=True)
class Symptom:
    """What the owner sees. `first` are tests that come before any other, whatever they save.

    `stops` ends everything: battery out, no powered test in this hunt. `pack_first` allows powered tests only
    once the battery was looked at and found whole.
    """

    key: str
    name: str
    links: Links
    pedigree: Pedigree
    also: tuple[str, ...] = ()
    first: tuple[str, ...] = ()
    stops: bool = False
    pack_first: bool = False
    cautions: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Cause:
    """What may be wrong. It is as likely as its modes are believed to be now, and `chance` beside them.

    A build has it when it has one of `roles` (any, where none is named) and the traits. `checks` tell how it
    is put right; the first that the build has counts. `temporary` gets home, and is not a cure.
    """

    key: str
    name: str
    mend: str
    mend_min: float
    after: Afterwards
    pedigree: Pedigree
    modes: tuple[str, ...] = ()
    chance: float = 0.0
    roles: tuple[str, ...] = ()
    traits: Mapping[str, str] = field(default_factory=dict)
    checks: tuple[str, ...] = ()
    parts: tuple[str, ...] = ()
    temporary: str = ""
    cautions: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class PossibleAnswer:
    """One thing a test may show, what it means, which causes show it. `stops`: no powered test after it."""

    word: str
    means: str
    links: Links
    stops: bool = False


@dataclass(frozen=True, slots=True)
class FaultTest:
    """One thing to try. `good` is the answer when nothing is wrong; one without `tools` needs none.

    `until_good` is asked until that is the answer; `warm` means little on a car that has gone cold.
    """

    key: str
    name: str
    where: WhereSafe
    seconds: float
    steps: tuple[str, ...]
    good: str
    answers: tuple[PossibleAnswer, ...]
    pedigree: Pedigree
    access: str = ""
    roles: tuple[str, ...] = ()
    traits: Mapping[str, str] = field(default_factory=dict)
    tools: tuple[str, ...] = ()
    cautions: tuple[str, ...] = ()
    until_good: bool = False
    warm: bool = False
