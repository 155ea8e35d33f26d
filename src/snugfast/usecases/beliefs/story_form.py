"""A story as bytes and back, equal to the last bit, so that it need not be told again at every question."""

from __future__ import annotations

import io
import json
from collections.abc import Callable, Iterable, Mapping
from datetime import datetime
from typing import Any
from uuid import UUID

import numpy as np

from snugfast.facts.model import Build, Facts
from snugfast.records.entries import History
from snugfast.records.roster import Roster
from snugfast.upkeep.beliefs import BeliefBank
from snugfast.usecases.beliefs.lateness import Open
from snugfast.usecases.beliefs.lots import Lot, Lots
from snugfast.usecases.beliefs.story import SINCE_LOOK, Mark, Row, Story, StoryCar
from snugfast.usecases.beliefs.stress import CarStress
from snugfast.usecases.packs.climb import Climb

FORM = 14  # goes up when what stands here changes, or how a story is told


def story_bytes(story: Story) -> bytes:
    """The story up to where it has been told."""
    header = {
        "rows": [[str(row.carrier), row.mode] for row in story.rows],
        "marks": [_mark(mark) for mark in story.marks],
        "cars": [
            [
                str(car),
                here.document,
                {key: str(part) for key, part in here.parts.items()},
                {key: [str(part) for part in parts] for key, parts in here.roster.aside.items()},
                here.day.isoformat(),
                here.history.value,
                here.odometer,
            ]
            for car, here in story.cars.items()
        ],
        "packs": [[str(pack), day.isoformat()] for pack, day in story.packs.items()],
        "climbs": [
            [str(pack), instrument, climb.first, climb.last, climb.count]
            for (pack, instrument), climb in story.climbs.items()
        ],
        "opened": [[str(car), access, at.isoformat()] for (car, access), at in story.opened.items()],
        "untreated": [
            [
                str(car),
                key,
                left.due.isoformat(),
                [[*lot, own.isoformat() if own else None] for lot, own in sorted(left.own.items())],
            ]
            for (car, key), left in story.wetness.open.items()
        ],
        "apart": [[row, [_lot(lot) for lot in lots]] for row, lots in sorted(story.lots.apart.items())],
        "began": [[str(part), began] for part, began in story.began.items()],
        "stress": [[str(member), stress.as_document()] for member, stress in story.stress.items()],
        "last": [story.last_order[0].isoformat(), story.last_order[1].hex()] if story.last_order else None,
    }
    written = io.BytesIO()
    text = np.frombuffer(json.dumps(header, ensure_ascii=False).encode(), np.uint8)
    counted = {name: getattr(story, name) for name in (*SINCE_LOOK, "waiting", "widened")}
    np.savez(written, header=text, **counted, **story.bank.to_arrays())  # type: ignore[arg-type]
    return written.getvalue()


def story_from(
    payload: bytes, facts: Facts, read: Callable[[Mapping[str, Any]], Build], members: Iterable[UUID]
) -> Story:
    """The story that `story_bytes` wrote, ready to be told further."""
    with np.load(io.BytesIO(payload), allow_pickle=False) as kept:
        arrays = {name: kept[name] for name in kept.files}
    header = json.loads(arrays.pop("header").tobytes())
    story = Story(facts, read, members)
    for name in (*SINCE_LOOK, "waiting", "widened"):
        setattr(story, name, arrays.pop(name))
    story.bank = BeliefBank.from_arrays(arrays)
    apart = {row: tuple(map(_read_lot, lots)) for row, lots in header["apart"]}
    story.lots = Lots(story.bank, apart)
    story.began = {UUID(part): tuple(began) for part, began in header["began"]}
    story.rows = [Row(UUID(carrier), mode) for carrier, mode in header["rows"]]
    story.number = {row: n for n, row in enumerate(story.rows)}
    story.marks = [_read_mark(mark) for mark in header["marks"]]
    for car, document, parts, aside, day, history, odometer in header["cars"]:
        story.cars[UUID(car)] = StoryCar(
            document,
            read(document),
            Roster(
                {place: UUID(part) for place, part in parts.items()},
                {place: tuple(map(UUID, several)) for place, several in aside.items()},
            ),
            datetime.fromisoformat(day),
            History(history),
            tuple(odometer),
        )
    story.stress = {UUID(member): CarStress.from_document(kept, facts) for member, kept in header["stress"]}
    story.packs = {UUID(pack): datetime.fromisoformat(day) for pack, day in header["packs"]}
    story.climbs = {
        (UUID(pack), instrument): Climb(tuple(first), tuple(last), count)
        for pack, instrument, first, last, count in header["climbs"]
    }
    story.opened = {(UUID(car), access): datetime.fromisoformat(at) for car, access, at in header["opened"]}
    story.wetness.open = {
        (UUID(car), key): Open(
            datetime.fromisoformat(due), {(row, lot): _read_time(at) for row, lot, at in own}
        )
        for car, key, due, own in header["untreated"]
    }
    last = header["last"]
    story.last_order = (datetime.fromisoformat(last[0]), bytes.fromhex(last[1])) if last else None
    return story


def _lot(lot: Lot) -> list[str | None]:
    return [lot.spot, *(at.isoformat() if at else None for at in (lot.left_at, lot.weighed_at))]


def _read_lot(kept: list[Any]) -> Lot:
    spot, left_at, weighed_at = kept
    return Lot(spot, _read_time(left_at), _read_time(weighed_at))


def _read_time(kept: str | None) -> datetime | None:
    return datetime.fromisoformat(kept) if kept else None


def _mark(mark: Mark) -> list[Any]:
    at = mark.looked_at.isoformat() if mark.looked_at else None
    return [at, mark.how, mark.before, mark.rate_before, mark.after, mark.rate_after]


def _read_mark(kept: list[Any]) -> Mark:
    at, *rest = kept
    return Mark(datetime.fromisoformat(at) if at else None, *rest)
