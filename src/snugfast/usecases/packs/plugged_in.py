"""The pack that stands plugged in a car: what a mechanic pulls before anything else.

An electronic switch is no isolator, so a pack left in a car is drained while it stands, and hands go near a
drivetrain that can still run.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator
from dataclasses import dataclass
from datetime import datetime
from uuid import UUID

from snugfast.records.entries import Stands
from snugfast.records.ledger import Ledger, PackRecord
from snugfast.usecases.packs.state import pack_now
from snugfast.usecases.packs.words import moment_words
from snugfast.usecases.shared.cautions import Caution, cautions_of
from snugfast.usecases.shared.workshop import Workshop

PULLED_FIRST = ("power-off", "pack-storage")


@dataclass(frozen=True, slots=True)
class PluggedIn:
    """A pack in a car. `sure` says that it was said to stand plugged in, not only driven there last.

    `act_by` is when its lowest cell may pass the line to act by, None where nothing tells.
    """

    car: UUID
    car_name: str
    pack: UUID
    pack_name: str
    sure: bool
    switched_on: bool
    act_by: datetime | None
    sentence: str
    cautions: tuple[Caution, ...]


def plugged_in(workshop: Workshop, ledger: Ledger, cars: Collection[UUID]) -> tuple[PluggedIn, ...]:
    """The packs in these cars as far as anybody said, those that stand plugged in first."""
    found = [_told(workshop, ledger, pack) for pack in _inside(ledger, cars)]
    return tuple(sorted(found, key=lambda one: (not one.switched_on, not one.sure, one.pack_name.casefold())))


def _inside(ledger: Ledger, cars: Collection[UUID]) -> Iterator[PackRecord]:
    for pack in ledger.packs.values():
        if pack.left_at is None and pack.marks.in_car in cars:
            yield pack


def _told(workshop: Workshop, ledger: Ledger, pack: PackRecord) -> PluggedIn:
    assert pack.marks.in_car is not None
    car, stands = ledger.cars[pack.marks.in_car], pack.marks.stands
    sure = stands in (Stands.PLUGGED_SWITCH_OFF, Stands.SWITCHED_ON)
    act_by = None
    if sure:
        case = pack_now(workshop, pack.id).state.case
        act_by = case.by if case else None
    return PluggedIn(
        car=car.id,
        car_name=car.name,
        pack=pack.id,
        pack_name=pack.name,
        sure=sure,
        switched_on=stands is Stands.SWITCHED_ON,
        act_by=act_by,
        sentence=_sentence(pack.name, car.name, stands, _by(workshop, act_by)),
        cautions=cautions_of(workshop.facts, PULLED_FIRST),
    )


def _sentence(pack: str, car: str, stands: Stands | None, by: str) -> str:
    if stands is Stands.SWITCHED_ON:
        return f"Switch {car} off and unplug {pack}: left on, it is ruined in hours{by}."
    if stands is Stands.PLUGGED_SWITCH_OFF:
        return f"Unplug {pack}: it stands in {car} with the switch off, and the ESC still draws on it{by}."
    return f"Unplug {pack} if it is still in {car}, and log that it is out."


def _by(workshop: Workshop, act_by: datetime | None) -> str:
    if act_by is None:
        return ""
    now = workshop.now()
    if act_by <= now:
        return ". Its lowest cell may be too low already, so read its cells"
    return f". Store or recharge by {moment_words(act_by, workshop.zone, now)}"
