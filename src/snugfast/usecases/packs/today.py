"""What to do today about the packs, most urgent first, and what counts down."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime, timedelta
from enum import IntEnum
from uuid import UUID

from snugfast.physics.packs.drain import Left
from snugfast.physics.packs.reasons import Level
from snugfast.physics.packs.storing import SOON_S
from snugfast.records.ledger import Ledger
from snugfast.usecases.packs.state import ActByCase, PackSeen, PacksNow, packs_now
from snugfast.usecases.packs.tables import pack_tables
from snugfast.usecases.packs.warm_place import FIND_A_COOL_PLACE, too_warm_a_place
from snugfast.usecases.packs.words import moment_words, span_words
from snugfast.usecases.shared.cautions import Caution, cautions_of
from snugfast.usecases.shared.workshop import Workshop

CHARGING = ("pack-look-first", "pack-attended", "pack-surface")
STORING = ("pack-storage",)
SOON = timedelta(days=7)
SWITCH_OFF = "The switch off is not unplugged: the ESC still draws on it."


class Urgency(IntEnum):
    """How soon; the smaller, the sooner."""

    NOW = 0
    TODAY = 1
    SOON = 2
    LATER = 3

    @property
    def words(self) -> str:
        """How a person says it."""
        return self.name.lower()


@dataclass(frozen=True, slots=True)
class ToDo:
    """One thing to do about one pack. `by` is a moment that counts down, where there is one."""

    urgency: Urgency
    pack: UUID
    pack_name: str
    what: str
    why: str
    by: datetime | None = None
    cautions: tuple[Caution, ...] = ()


@dataclass(frozen=True, slots=True)
class PacksToday:
    """What to do today, and the packs that count down, the next one first."""

    todo: tuple[ToDo, ...]
    countdown: tuple[ToDo, ...]
    at: datetime


def packs_today(workshop: Workshop) -> PacksToday:
    """What the packs ask for today."""
    return today_of(workshop, packs_now(workshop))


def today_of(workshop: Workshop, now: PacksNow) -> PacksToday:
    """What packs that were looked up already ask for."""
    saying = _Saying(workshop, now.at, now.ledger, _has_storage(now.ledger))
    everything = [todo for seen in now.packs for todo in saying.of(seen)]
    everything.sort(key=lambda todo: (todo.urgency, todo.by or now.at, todo.pack_name.casefold()))
    return PacksToday(
        todo=tuple(todo for todo in everything if todo.urgency < Urgency.LATER),
        countdown=tuple(todo for todo in everything if todo.urgency is Urgency.LATER),
        at=now.at,
    )


def _has_storage(ledger: Ledger) -> bool:
    return any(charger.stores and charger.left_at is None for charger in ledger.chargers.values())


@dataclass(frozen=True, slots=True)
class _Saying:
    workshop: Workshop
    now: datetime
    ledger: Ledger
    has_storage: bool

    def of(self, seen: PackSeen) -> Iterator[ToDo]:
        """Everything one pack asks for."""
        if seen.judged.withheld:
            yield self._out_of_use(seen)
            return
        yield from self._low(seen)
        yield from self._too_warm(seen)
        yield from self._standing(seen)
        yield from self._full(seen)
        yield from self._unknown(seen)

    def _todo(
        self,
        urgency: Urgency,
        seen: PackSeen,
        what: str,
        why: str,
        cautions: tuple[str, ...],
        by: datetime | None = None,
    ) -> ToDo:
        told = cautions_of(self.workshop.facts, cautions)
        return ToDo(urgency, seen.record.id, seen.record.name, what, why, by, told)

    def _out_of_use(self, seen: PackSeen) -> ToDo:
        hardest = seen.judged.standing.reasons[0]
        if not seen.judged.damaged:
            return self._todo(
                Urgency.SOON, seen, "Retire it.", f"{hardest.says} {hardest.way_back}", ("pack-disposal",)
            )
        out = f"Take it out of {seen.state.in_car} and keep it away. " if seen.state.in_car else ""
        cautions = tuple(dict.fromkeys(filter(None, (hardest.caution, "pack-quarantine", "pack-fire"))))
        return self._todo(
            Urgency.NOW,
            seen,
            f"{out}Do not charge it, do not drive it.",
            f"{hardest.says} {hardest.way_back}",
            cautions,
        )

    def _low(self, seen: PackSeen) -> Iterator[ToDo]:
        hardest = next(iter(seen.judged.standing.reasons), None)
        if hardest is not None and hardest.level is Level.REST:
            yield self._todo(Urgency.TODAY, seen, hardest.way_back, hardest.says, CHARGING)

    def _too_warm(self, seen: PackSeen) -> Iterator[ToDo]:
        if too_warm := too_warm_a_place(seen.record.marks.shelf_degC):
            yield self._todo(Urgency.NOW, seen, FIND_A_COOL_PLACE, too_warm, STORING)

    def _standing(self, seen: PackSeen) -> Iterator[ToDo]:
        state = seen.state
        case = state.case
        if state.stands == Left.SWITCHED_ON.value:
            left = f" It may be too low within {span_words(case.act.low or 0.0)}." if case else ""
            yield self._todo(
                Urgency.NOW,
                seen,
                f"Switch {state.in_car or 'the car'} off and unplug it.",
                f"Left switched on, a pack is ruined in hours.{left}",
                STORING,
                case.by if case else None,
            )
            return
        if state.stands == Left.PLUGGED_SWITCH_OFF.value:
            yield self._todo(
                Urgency.TODAY, seen, f"Unplug it from {state.in_car or 'the car'}.", SWITCH_OFF, STORING
            )
        elif state.in_car and not state.stands and state.wear.runs:
            yield self._todo(
                Urgency.SOON,
                seen,
                f"Unplug it from {state.in_car}, if it still is, and say so.",
                SWITCH_OFF,
                STORING,
            )
        if case is not None:
            yield self._act_by(seen, case)

    def _act_by(self, seen: PackSeen, case: ActByCase) -> ToDo:
        cell = pack_tables().limits.cell
        act, danger = f"{cell.act_by_V:.2f} V", f"{cell.danger_V:.2f} V"
        assumed = "" if case.said else " (taken as unplugged)"
        if case.by is not None and case.by <= self.now:
            return self._todo(
                Urgency.TODAY,
                seen,
                f"Look it over, read its cells; above {danger} bring it to storage charge today, attended.",
                f"Its lowest cell may be down to {act} already{assumed}. Low voltage is worst.",
                (*CHARGING, "pack-measure"),
            )
        by, danger_by = (moment_words(at, self.workshop.zone, self.now) for at in (case.by, case.danger_by))
        says = (
            f"{case.left.value}{assumed}: the lowest cell may reach {act} by {by}, "
            f"and {danger}, below which it has no reserve, by {danger_by}."
        )
        soon = case.by is not None and case.by - self.now < SOON
        return self._todo(
            Urgency.SOON if soon else Urgency.LATER,
            seen,
            f"Store or recharge by {by}: read it, and charge it if it is low.",
            says[:1].upper() + says[1:],
            CHARGING,
            case.by,
        )

    def _full(self, seen: PackSeen) -> Iterator[ToDo]:
        since = seen.state.full_since
        if since is None or (self.now - since).total_seconds() <= SOON_S:
            return
        stood = span_words((self.now - since).total_seconds())
        if self.has_storage:
            what = "Drive it, or run the charger’s storage function."
            why = f"It has been full for {stood}. Fuller cells age faster and burn harder."
        else:
            what = "Drive it soon."
            why = (
                f"It has been full for {stood}. Published figures say that fuller cells age faster and burn "
                "harder; common practice says that without a storage function full is better than low."
            )
        yield self._todo(Urgency.SOON, seen, what, why, (*CHARGING, *STORING))

    def _unknown(self, seen: PackSeen) -> Iterator[ToDo]:
        if seen.state.charge is None and not seen.state.note:
            yield self._todo(
                Urgency.SOON,
                seen,
                "Read its cells after an hour at rest, or log its next charge.",
                "Nothing says how full it is, so nothing counts down.",
                ("pack-measure",),
            )
