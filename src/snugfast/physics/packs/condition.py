"""What is known of a pack when it is judged: what was seen, what happened to it, what was measured."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from enum import Enum

from snugfast.physics.packs.chemistry import Chemistry
from snugfast.physics.validation import require_not_negative, require_positive


class Sign(Enum):
    """What eye, nose and ear find on a pack; any one of them takes it out of use."""

    SWOLLEN = "puffed"
    PUNCTURED = "punctured or cut"
    DENTED = "dented or crushed"
    LEAKING = "leaking"
    SMELL = "an odd, sweet smell"
    HISSING = "hissing or smoking"
    HEATING_BY_ITSELF = "warm without having been used"
    DAMAGED_PLUG = "damaged lead or plug"
    OTHER = "other damage"


class Wet(Enum):
    """Where water reached."""

    IMMERSED = "the pack was under water"
    UNDER_WRAP = "water stands under the wrap"
    IN_PLUG = "water got into the plug"


class Crash(Enum):
    """What a crash did to the pack."""

    DENTED = "the pack was dented in a crash"
    EJECTED = "the pack was thrown out of the car"
    RUN_OVER = "the pack was run over"


class Past(Enum):
    """What once happened to the cells, whatever they read today."""

    OVER_DISCHARGED = "a cell was over-discharged"
    OVER_CHARGED = "a cell was over-charged"


@dataclass(frozen=True, slots=True)
class Looks:
    """What was found when the pack was looked at, felt and smelled, with nothing found as an empty set."""

    signs: frozenset[Sign] = frozenset()


@dataclass(frozen=True, slots=True)
class Worn:
    """How the pack compares with itself as new; None where it is not known."""

    resistance_ratio: float | None = None
    capacity_share: float | None = None
    age_years: float | None = None
    cycles: float | None = None

    def __post_init__(self) -> None:
        known = {
            "resistance_ratio": self.resistance_ratio,
            "capacity_share": self.capacity_share,
            "age_years": self.age_years,
            "cycles": self.cycles,
        }
        require_not_negative(**{name: value for name, value in known.items() if value is not None})


@dataclass(frozen=True, slots=True)
class Condition:
    """All that is known of a pack now. `looks` is None when nobody has looked: that is never skipped.

    `hottest_K` is the hottest it has been since it was last looked over; wet and crash stand until the way
    back has been walked and recorded. `rest_V` are rest readings of all cells, empty when there are none.
    """

    chemistry: Chemistry
    cells: int
    looks: Looks | None
    temperature_K: float
    hottest_K: float | None = None
    wet: frozenset[Wet] = frozenset()
    crash: frozenset[Crash] = frozenset()
    past: frozenset[Past] = frozenset()
    rest_V: Sequence[float] = ()
    lowest_ever_V: float | None = None
    resistances_ohm: Sequence[float] = ()
    worn: Worn = Worn()

    def __post_init__(self) -> None:
        require_positive(temperature_K=self.temperature_K, cells=self.cells)
        if self.hottest_K is not None:
            require_positive(hottest_K=self.hottest_K)
        if self.lowest_ever_V is not None:
            require_not_negative(lowest_ever_V=self.lowest_ever_V)
