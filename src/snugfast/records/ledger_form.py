"""The ledger as bytes and back, so that it need not be folded again at every question."""

from __future__ import annotations

import json
from collections.abc import Mapping
from datetime import datetime
from typing import Any
from uuid import UUID

from snugfast.records.box import BoxItem, BoxOrder, Stock
from snugfast.records.entries import History, Money, PackHarm, Stands
from snugfast.records.known_defects import Defects, KnownDefect
from snugfast.records.ledger import CarRecord, ChargerRecord, Habits, Ledger, PackRecord
from snugfast.records.pack_marks import PackMarks
from snugfast.records.roster import Roster


def ledger_bytes(ledger: Ledger) -> bytes:
    """The whole ledger as JSON."""
    document = {
        "cars": [_car(car) for car in ledger.cars.values()],
        "packs": [_pack(pack) for pack in ledger.packs.values()],
        "chargers": [_charger(charger) for charger in ledger.chargers.values()],
        "settings": dict(ledger.settings),
        "unreadable": [str(entry) for entry in ledger.unreadable],
        "box": [_item(item) for item in ledger.stock.items.values()],
        "orders": [_order(order) for order in ledger.stock.orders.values()],
        "last": [_time(ledger.last_order[0]), ledger.last_order[1].hex()] if ledger.last_order else None,
    }
    return json.dumps(document, ensure_ascii=False).encode()


def ledger_from(payload: bytes) -> Ledger:
    """The ledger that `ledger_bytes` wrote, equal to it."""
    document = json.loads(payload)
    last = document["last"]
    return Ledger(
        cars={car.id: car for car in map(_read_car, document["cars"])},
        packs={pack.id: pack for pack in map(_read_pack, document["packs"])},
        chargers={charger.id: charger for charger in map(_read_charger, document["chargers"])},
        settings=document["settings"],
        last_order=(datetime.fromisoformat(last[0]), bytes.fromhex(last[1])) if last else None,
        unreadable=tuple(UUID(entry) for entry in document["unreadable"]),
        stock=Stock(
            {item.id: item for item in map(_read_item, document["box"])},
            {order.id: order for order in map(_read_order, document["orders"])},
        ),
    )


def _time(at: datetime | None) -> str | None:
    return at.isoformat() if at else None


def _read_time(text: str | None) -> datetime | None:
    return datetime.fromisoformat(text) if text else None


def _car(car: CarRecord) -> dict[str, Any]:
    habits = car.habits
    return {
        "id": str(car.id),
        "name": car.name,
        "build": car.build,
        "history": car.history.value,
        "starter": car.starter,
        "added_at": _time(car.added_at),
        "left_at": _time(car.left_at),
        "parts": {place: str(part) for place, part in car.parts.items()},
        "aside": {place: [str(part) for part in parts] for place, parts in car.roster.aside.items()},
        "settings": dict(car.settings),
        "packs": [str(pack) for pack in car.packs],
        "last_checked": {check: _time(at) for check, at in car.last_checked.items()},
        "last_looked": {check: _time(at) for check, at in car.last_looked.items()},
        "hits_at_look": dict(car.hits_at_look),
        "last_work": {event: _time(at) for event, at in car.last_work.items()},
        "swapped_with": sorted(str(other) for other in car.swapped_with),
        "came_back_at": _time(car.came_back_at),
        "laid_up_at": _time(car.laid_up_at),
        "woken_at": _time(car.woken_at),
        "treated": {treatment: _time(at) for treatment, at in car.treated.items()},
        "defects": [_defect(one) for one in car.defects.open],
        "times": [[*key, *map(_time, at)] for key, at in car.defects.times.items()],
        "habits": {
            "runs": habits.runs,
            "running_min": habits.running_min,
            "hard_hits": habits.hard_hits,
            "wet_runs": habits.wet_runs,
            "outings": habits.outings,
            "last_day": habits.last_day,
            "first_run_at": _time(habits.first_run_at),
            "last_run_at": _time(habits.last_run_at),
        },
    }


def _read_car(document: Mapping[str, Any]) -> CarRecord:
    habits = document["habits"]
    first, last = _read_time(habits["first_run_at"]), _read_time(habits["last_run_at"])
    return CarRecord(
        id=UUID(document["id"]),
        name=document["name"],
        build=document["build"],
        history=History(document["history"]),
        starter=document["starter"],
        added_at=datetime.fromisoformat(document["added_at"]),
        left_at=_read_time(document["left_at"]),
        roster=Roster(
            {place: UUID(part) for place, part in document["parts"].items()},
            {place: tuple(map(UUID, parts)) for place, parts in document["aside"].items()},
        ),
        settings=document["settings"],
        packs=tuple(UUID(pack) for pack in document["packs"]),
        last_checked={check: datetime.fromisoformat(at) for check, at in document["last_checked"].items()},
        last_looked={check: datetime.fromisoformat(at) for check, at in document["last_looked"].items()},
        hits_at_look=document["hits_at_look"],
        last_work={event: datetime.fromisoformat(at) for event, at in document["last_work"].items()},
        swapped_with=frozenset(UUID(other) for other in document["swapped_with"]),
        came_back_at=_read_time(document["came_back_at"]),
        laid_up_at=_read_time(document["laid_up_at"]),
        woken_at=_read_time(document["woken_at"]),
        treated={treatment: datetime.fromisoformat(at) for treatment, at in document["treated"].items()},
        defects=Defects(
            tuple(map(_read_defect, document["defects"])),
            {(mode, at): tuple(map(datetime.fromisoformat, times)) for mode, at, *times in document["times"]},
        ),
        habits=Habits(**{**habits, "first_run_at": first, "last_run_at": last}),
    )


def _defect(one: KnownDefect) -> list[str | None]:
    since = one.since.isoformat()
    return [one.mode, one.place, one.spot, one.word, one.check, since, str(one.entry)]


def _read_defect(row: list[Any]) -> KnownDefect:
    mode, place, spot, word, check, since, entry = row
    return KnownDefect(mode, place, spot, word, check, datetime.fromisoformat(since), UUID(entry))


def _pack(pack: PackRecord) -> dict[str, Any]:
    return {
        "id": str(pack.id),
        "name": pack.name,
        "chemistry": pack.chemistry,
        "cells": pack.cells,
        "capacity_Ah": pack.capacity_Ah,
        "added_at": _time(pack.added_at),
        "left_at": _time(pack.left_at),
        "details": dict(pack.details),
        "runs": pack.runs,
        "marks": _marks(pack.marks),
    }


def _read_pack(document: Mapping[str, Any]) -> PackRecord:
    return PackRecord(
        id=UUID(document["id"]),
        name=document["name"],
        chemistry=document["chemistry"],
        cells=document["cells"],
        capacity_Ah=document["capacity_Ah"],
        added_at=datetime.fromisoformat(document["added_at"]),
        left_at=_read_time(document["left_at"]),
        details=document["details"],
        runs=document["runs"],
        marks=_read_marks(document["marks"]),
    )


def _marks(marks: PackMarks) -> dict[str, Any]:
    return {
        "harms": {harm.value: _time(since) for harm, since in marks.harms.items()},
        "looked_at": _time(marks.looked_at),
        "used_at": _time(marks.used_at),
        "strained_at": _time(marks.strained_at),
        "hottest_degC": marks.hottest_degC,
        "hottest_at": _time(marks.hottest_at),
        "warmth_degC": marks.warmth_degC,
        "warmth_at": _time(marks.warmth_at),
        "rest_V": list(marks.rest_V),
        "rest_at": _time(marks.rest_at),
        "lowest_V": marks.lowest_V,
        "highest_V": marks.highest_V,
        "lowest_ever_V": marks.lowest_ever_V,
        "in_car": str(marks.in_car) if marks.in_car else None,
        "stands": marks.stands.value if marks.stands else None,
        "shelf_degC": marks.shelf_degC,
    }


def _read_marks(document: Mapping[str, Any]) -> PackMarks:
    times = ("looked_at", "used_at", "strained_at", "hottest_at", "warmth_at", "rest_at")
    return PackMarks(
        **{
            **document,
            **{name: _read_time(document[name]) for name in times},
            "harms": {PackHarm(name): datetime.fromisoformat(at) for name, at in document["harms"].items()},
            "rest_V": tuple(document["rest_V"]),
            "in_car": UUID(document["in_car"]) if document["in_car"] else None,
            "stands": Stands(document["stands"]) if document["stands"] else None,
        }
    )


def _charger(charger: ChargerRecord) -> dict[str, Any]:
    return {
        "id": str(charger.id),
        "name": charger.name,
        "channels": charger.channels,
        "most_A": charger.most_A,
        "most_W": charger.most_W,
        "supply_W": charger.supply_W,
        "balances": charger.balances,
        "stores": charger.stores,
        "left_at": _time(charger.left_at),
    }


def _read_charger(document: Mapping[str, Any]) -> ChargerRecord:
    return ChargerRecord(
        **{**document, "id": UUID(document["id"]), "left_at": _read_time(document["left_at"])}
    )


def _item(item: BoxItem) -> dict[str, Any]:
    return {
        "id": str(item.id),
        "name": item.name,
        "role": item.role,
        "sizes": dict(item.sizes),
        "design": item.design,
        "made_for": item.made_for,
        "place": item.place,
        "minimum": item.minimum,
        "price": [item.price.minor, item.price.currency] if item.price else None,
        "pack_of": item.pack_of,
        "supplier": item.supplier,
        "delivery_days": item.delivery_days,
        "is_kept": item.is_kept,
        "count": item.count,
        "counted_at": _time(item.counted_at),
    }


def _read_item(document: Mapping[str, Any]) -> BoxItem:
    return BoxItem(
        **{
            **document,
            "id": UUID(document["id"]),
            "price": Money(*document["price"]) if document["price"] else None,
            "counted_at": _read_time(document["counted_at"]),
        }
    )


def _order(order: BoxOrder) -> list[Any]:
    return [str(order.id), str(order.item), order.count, order.at.isoformat(), order.is_paid]


def _read_order(row: list[Any]) -> BoxOrder:
    order, item, count, at, paid = row
    return BoxOrder(UUID(order), UUID(item), count, datetime.fromisoformat(at), paid)
