"""Nylon-insert lock nuts: the drag of the insert, and when a nut is used up.

The insert drags on the thread all the way down. That drag must be added to the torque that seats the nut, and
when it is gone the nut is a plain nut.
"""

from __future__ import annotations

from dataclasses import dataclass

from snugfast.core.errors import ImpossibleInput
from snugfast.physics.validation import require_not_negative


@dataclass(frozen=True, slots=True)
class InsertDrag:
    """One row of the drag table: most when first put on, least when taken off first and the fifth time."""

    first_on_most_Nm: float
    first_off_least_Nm: float
    fifth_off_least_Nm: float


def wrench_torque(*, seating_Nm: float, drag_Nm: float) -> float:
    """What the wrench must show for a nut to be seated with `seating_Nm`: the drag comes on top. N·m."""
    require_not_negative(seating_Nm=seating_Nm, drag_Nm=drag_Nm)
    return seating_Nm + drag_Nm


@dataclass(frozen=True, slots=True)
class NutVerdict:
    """Whether a nut may be used again, and a sentence."""

    reusable: bool
    sentence: str


def judge_lock_nut(*, drag_Nm: float, times_off: int, table: InsertDrag) -> NutVerdict:
    """Whether a nylon-insert nut still locks, from the drag felt while it is turned with nothing clamped.

    Up to its first removal it must show the first figure of the table, after that the fifth; a nut that turns
    by the fingers has none left. Raises ImpossibleInput for a negative count.
    """
    require_not_negative(drag_Nm=drag_Nm)
    if times_off < 0:
        raise ImpossibleInput("A nut cannot have been off fewer than no times.", "Count again, or give 0.")
    least_Nm = table.first_off_least_Nm if times_off <= 1 else table.fifth_off_least_Nm
    if drag_Nm < least_Nm:
        return NutVerdict(False, f"It drags with less than {least_Nm:.2g} N·m: fit a new nut.")
    if times_off > 5:
        return NutVerdict(
            True, "It still drags, but has been off more than five times: keep a new one ready."
        )
    return NutVerdict(True, "It still locks.")
