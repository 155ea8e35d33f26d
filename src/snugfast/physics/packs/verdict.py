"""What may be done with a pack: use, gently, rest, retire, do not charge, and why, and the way back.

Two kinds of answer keep numbers away from a pack that must not be used. `Cleared` is what every sum about
charging or driving asks for. `Withheld` holds words only; there is no number in it to act on, and no sum
takes it. A verdict is the hardest of its reasons, so a worse pack never gets a milder one.
"""

from __future__ import annotations

from dataclasses import dataclass

from snugfast.core.errors import RefusedAction
from snugfast.physics.packs import reasons as pack_reasons
from snugfast.physics.packs.chemistry import NoTable
from snugfast.physics.packs.condition import Condition
from snugfast.physics.packs.limits import CellLimits, WarmthLimits, WearLimits
from snugfast.physics.packs.reasons import Level, Reason


@dataclass(frozen=True, slots=True)
class Cleared:
    """The pack may be charged, and driven unless the level is REST. Every sum about a pack asks for this."""

    level: Level
    reasons: tuple[Reason, ...]

    @property
    def may_drive(self) -> bool:
        """Whether it may go into a car now."""
        return self.level < Level.REST


@dataclass(frozen=True, slots=True)
class Withheld:
    """The pack may not be charged or driven. Words only."""

    level: Level
    reasons: tuple[Reason, ...]


Verdict = Cleared | Withheld


def judge(
    condition: Condition, *, warmth: WarmthLimits, wear: WearLimits, cell: CellLimits | None
) -> Verdict:
    """What may be done with this pack.

    Looks, water, crash, warmth and wear are judged for every chemistry; volts only where `cell` holds the
    limits of its own. Returns Cleared or Withheld with all reasons, hardest first. Raises NoTable when volts
    are given without limits to judge them by, BadInput when readings do not fit the pack.
    """
    if cell is None and (condition.rest_V or condition.lowest_ever_V is not None):
        raise NoTable(condition.chemistry)
    if cell is not None:
        cell.require(condition.chemistry)
    reasons = [
        *pack_reasons.from_looks(condition.looks),
        *pack_reasons.from_water(condition.wet),
        *pack_reasons.from_crash(condition.crash),
        *pack_reasons.from_warmth(condition, warmth),
        *pack_reasons.from_past(condition.past),
        *pack_reasons.from_wear(condition.worn, wear),
        *pack_reasons.from_resistances(condition.resistances_ohm, wear),
        *(pack_reasons.from_volts(condition, cell) if cell is not None else ()),
    ]
    reasons.sort(key=lambda reason: (-reason.level, not reason.bars_charge))
    level = max((reason.level for reason in reasons), default=Level.USE)
    barred = any(reason.bars_charge for reason in reasons)
    if level >= Level.RETIRE:
        return Withheld(level, tuple(reason for reason in reasons if not reason.advises_charge))
    if barred:
        return Withheld(level, tuple(reasons))
    return Cleared(level, tuple(reasons))


def require_cleared(verdict: Verdict, *, to_drive: bool = False) -> Cleared:
    """The verdict, when it lets the pack be charged and, if asked, driven.

    Raises RefusedAction with the hardest reason and its way back.
    """
    if isinstance(verdict, Withheld) or (to_drive and not verdict.may_drive):
        hardest = verdict.reasons[0]
        raise RefusedAction(hardest.says, hardest.way_back)
    return verdict
