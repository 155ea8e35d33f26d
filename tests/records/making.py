"""Hypothesis strategies and small makers for journal entries, used by the tests beside this file."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import fields, is_dataclass
from datetime import UTC, datetime, timedelta, timezone
from enum import Enum
from types import NoneType
from typing import Annotated, Any, get_args, get_origin, get_type_hints
from uuid import UUID

from hypothesis import strategies as st

from snugfast.core.ids import compose
from snugfast.records.bounds import IsBuild, IsSettings, Within
from snugfast.records.codec import KINDS
from snugfast.records.entries import CarAdded, Entry, Fact, PackAdded, Precision, Ran, Withdrawn

START = datetime(2026, 5, 1, 18, 30, tzinfo=UTC)
ME = UUID(int=7)


def clock() -> datetime:
    """A clock that stands still."""
    return START


def identity(number: int) -> UUID:
    """The version 7 identity with this number; a later number sorts later."""
    return compose(1_777_000_000_000 + number, number.to_bytes(10, "big"))


def entry(number: int, fact: Fact, **envelope: Any) -> Entry:
    """An entry that happened, and was recorded, as many minutes after the start as its number says."""
    at = START + timedelta(minutes=number)
    given = {"id": identity(number), "happened_at": at, "recorded_at": at, "author": ME, **envelope}
    return Entry(fact=fact, **given)


CAR, OTHER_CAR, PACK = (identity(900_000 + n) for n in range(3))


def car_added(number: int, car: UUID = CAR) -> Entry:
    return entry(number, CarAdded(car=car, name="Grey truck", build={"tyres": {"glued": True}, "wheels": 4}))


def pack_added(number: int) -> Entry:
    return entry(number, PackAdded(pack=PACK, name="Blue", chemistry="lipo", cells=3, capacity_Ah=5.0))


def ran(number: int, car: UUID = CAR, minutes: float = 12.0, **envelope: Any) -> Entry:
    return entry(number, Ran(car=car, packs=(PACK,), running_min=minutes), **envelope)


def withdrawn(number: int, target: Entry, **envelope: Any) -> Entry:
    return entry(number, Withdrawn(entry=target.id), **envelope)


texts = st.text(st.characters(exclude_categories=["Cs"], exclude_characters="\x00"), max_size=20)
whole_numbers = st.integers(-(2**53) + 1, 2**53 - 1)
finite = st.floats(allow_nan=False, allow_infinity=False)
moments = st.datetimes(
    datetime(1990, 1, 1),  # noqa: DTZ001  hypothesis wants the ends without an offset
    datetime(2090, 1, 1),  # noqa: DTZ001
    timezones=st.sampled_from([UTC, timezone(timedelta(hours=5, minutes=45)), timezone(-timedelta(hours=8))]),
)
plain = st.recursive(
    st.none() | st.booleans() | whole_numbers | finite | texts,
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(texts, inner, max_size=3),
    max_leaves=8,
)
tables: st.SearchStrategy[Mapping[str, Any]] = st.dictionaries(texts, plain, max_size=4)

SIMPLE: dict[Any, st.SearchStrategy[Any]] = {
    str: texts,
    bool: st.booleans(),
    int: whole_numbers,
    float: finite,
    UUID: st.uuids(),
    datetime: moments,
}


def values_of(annotation: Any) -> st.SearchStrategy[Any]:
    """Values that a field may hold. Nothing is registered with hypothesis for other tests to trip over."""
    if annotation in SIMPLE:
        return SIMPLE[annotation]
    if isinstance(annotation, type) and issubclass(annotation, Enum):
        return st.sampled_from(annotation)
    if isinstance(annotation, type) and is_dataclass(annotation):
        hints = get_type_hints(annotation, include_extras=True)
        return st.builds(
            annotation, **{field.name: values_of(hints[field.name]) for field in fields(annotation)}
        )
    inner = get_args(annotation)
    if get_origin(annotation) is Annotated:
        return _bounded(*inner)
    if get_origin(annotation) is tuple:
        return st.lists(values_of(inner[0]), max_size=3).map(tuple)
    if get_origin(annotation) is Mapping:
        return tables
    return st.one_of([st.none() if one is NoneType else values_of(one) for one in inner])


def _bounded(annotation: Any, bound: object) -> st.SearchStrategy[Any]:
    match bound:
        case Within(low=low, high=high, above=above) if annotation is int:
            return st.integers(int(low) + above, int(high))
        case Within(low=low, high=high, above=above):
            return st.floats(low, high, exclude_min=above)
        case IsBuild() | IsSettings():
            return tables.map(lambda drawn: {f"our {name}": value for name, value in drawn.items()})
        case _:
            return values_of(annotation)


facts: st.SearchStrategy[Any] = st.one_of([values_of(kind) for kind in KINDS.values()])
entries = st.builds(
    Entry,
    id=st.uuids(),
    happened_at=moments,
    recorded_at=moments,
    author=st.uuids(),
    fact=facts,
    precision=st.sampled_from(Precision),
    zone=texts,
    replaces=st.none() | st.uuids(),
    typed=texts,
)
