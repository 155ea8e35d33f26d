"""Whether a pair of gears can be brought together on the motor's slots, and whether such a pinion can be."""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum

from snugfast.physics.gears.gears import reference_centre_distance
from snugfast.physics.study.gearing import Pair
from snugfast.usecases.twin.of_car import Twin
from snugfast.usecases.twin.tables import taken

DEDENDUM = 1.25  # modules from the pitch circle to the tooth root


class Reach(Enum):
    """Whether the mount brings a pair together."""

    YES = "the mount reaches"
    DOUBTFUL = "may not reach"
    NO = "the mount does not reach"
    NO_SUCH_PINION = "no such pinion fits the shaft"


@dataclass(frozen=True, slots=True)
class PairHere:
    """A pair on this car: whether it can be mounted, and how far the motor has to move from where it is."""

    pinion_teeth: int
    spur_teeth: int
    is_today: bool
    reach: Reach
    moves_mm: float

    @property
    def teeth(self) -> str:
        """“15 on 54”."""
        return f"{self.pinion_teeth} on {self.spur_teeth}"

    @property
    def words(self) -> str:
        """“15 on 54”, with a word where it cannot simply be mounted."""
        return self.teeth if self.reach is Reach.YES else f"{self.teeth} ({self.reach.value})"


def pair_here(twin: Twin, pair: Pair) -> PairHere:
    """A pair held against the slots: today's motor is taken to sit in their middle.

    Surely in reach when it moves no further than half the (shortest likely) slot, surely not when it moves
    further than the (longest likely) slot.
    """
    move_m = _apart_m(twin, pair) - _apart_m(twin, twin.pair)
    slot = twin.slot
    surely_m = (slot.low if slot.low is not None else slot.value) / 2.0
    never_m = slot.high if slot.high is not None else slot.value
    reach = Reach.YES if abs(move_m) <= surely_m + 1e-9 else Reach.DOUBTFUL
    if abs(move_m) > never_m + 1e-9:
        reach = Reach.NO
    if _too_thin(twin, pair):
        reach = Reach.NO_SUCH_PINION
    return PairHere(pair.pinion_teeth, pair.spur_teeth, pair == twin.pair, reach, move_m * 1e3)


def _apart_m(twin: Twin, pair: Pair) -> float:
    return reference_centre_distance(
        module_m=twin.module_m, teeth_1=pair.pinion_teeth, teeth_2=pair.spur_teeth
    )


def _too_thin(twin: Twin, pair: Pair) -> bool:
    """Whether the tooth roots would come down to the bore."""
    if twin.pinion_bore_m is None:
        return False
    root_m = twin.module_m * (pair.pinion_teeth - 2.0 * DEDENDUM)
    return root_m < twin.pinion_bore_m + 2.0 * taken("pinion", "wall_mm").value * 1e-3
