"""Cars, packs and chargers found by name in the ledger."""

from __future__ import annotations

from collections.abc import Iterable
from uuid import UUID

from snugfast.core.errors import NotKnown
from snugfast.core.ways_out import Action, WayOut
from snugfast.facts.model import Build
from snugfast.records.ledger import CarRecord, ChargerRecord, Ledger, PackRecord
from snugfast.usecases.shared.ledger import ledger_now
from snugfast.usecases.shared.workshop import Workshop


def car_called(ledger: Ledger, name: str) -> CarRecord:
    """The car of that name. Raises NotKnown with the names there are."""
    car = ledger.car_named(name)
    if car is None:
        raise NotKnown(f"There is no car called “{name}” here.", _names("cars", ledger.cars.values()))
    return car


def pack_called(ledger: Ledger, name: str) -> PackRecord:
    """The pack of that name. Raises NotKnown with the names there are."""
    pack = ledger.pack_named(name)
    if pack is None:
        raise NotKnown(f"There is no pack called “{name}” here.", _names("packs", ledger.packs.values()))
    return pack


def charger_called(ledger: Ledger, name: str) -> ChargerRecord:
    """The charger of that name. Raises NotKnown with the names there are."""
    charger = ledger.charger_named(name)
    if charger is None:
        names = _names("chargers", ledger.chargers.values())
        raise NotKnown(f"There is no charger called “{name}” here.", names)
    return charger


def car_and_build(workshop: Workshop, name: str) -> tuple[CarRecord, Build]:
    """A car by name, with its build as it stands."""
    with workshop.store.reading() as reads:
        car = car_called(ledger_now(reads), name)
    return car, workshop.build(car.build)


def cars_here(ledger: Ledger) -> list[CarRecord]:
    """The cars that have not left, by name."""
    return sorted(
        (car for car in ledger.cars.values() if car.left_at is None), key=lambda car: car.name.casefold()
    )


def packs_here(ledger: Ledger) -> tuple[PackRecord, ...]:
    """The packs that have not left, by name."""
    here = [pack for pack in ledger.packs.values() if pack.left_at is None]
    return tuple(sorted(here, key=lambda pack: pack.name.casefold()))


def family(ledger: Ledger, member: UUID) -> frozenset[UUID]:
    """A car and all it has swapped parts with, directly or through others; a pack is alone."""
    found = {member}
    ahead = [member]
    while ahead:
        car = ledger.cars.get(ahead.pop())
        further = car.swapped_with - found if car else frozenset()
        found |= further
        ahead += further
    return frozenset(found)


def _names(noun: str, things: Iterable[CarRecord] | Iterable[PackRecord] | Iterable[ChargerRecord]) -> str:
    names = ", ".join(thing.name for thing in things if thing.left_at is None)
    add = {"cars": Action.ADD_CAR, "packs": Action.ADD_PACK, "chargers": Action.ADD_CHARGER}[noun]
    return f"The {noun} here are {names}." if names else WayOut(f"There are no {noun} yet; add one", add)
