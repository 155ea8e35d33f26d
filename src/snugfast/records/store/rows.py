"""Entries as rows of the table and back."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any
from uuid import UUID

from sqlalchemy import RowMapping

from snugfast.records.codec import KIND_OF, canonical, entry_to_document, fact_kept
from snugfast.records.entries import Entry, Precision, Unreadable, Withdrawn

_PRECISION = {precision.value: precision for precision in Precision}


@dataclass(frozen=True, slots=True)
class Arrived:
    """An entry and its place in the order of arrival."""

    position: int
    entry: Entry


def row_of(entry: Entry) -> dict[str, Any]:
    """The columns of an entry, without its position. Raises WrongData for what cannot be saved."""
    document = entry_to_document(entry)
    return {
        "id": entry.id,
        "kind": document["kind"],
        "version": document["version"],
        "happened_at": entry.happened_at,
        "recorded_at": entry.recorded_at,
        "precision": document["precision"],
        "zone": entry.zone,
        "author": entry.author,
        "replaces": entry.replaces,
        "withdraws": withdrawal_of(entry),
        "typed": entry.typed,
        "words": searchable(" ".join((entry.typed, *_texts(document["fact"])))),
        "payload": document["fact"],
    }


def arrived(row: RowMapping) -> Arrived:
    """The entry that a row tells, with its position."""
    return Arrived(
        position=row["position"],
        entry=Entry(
            id=row["id"],
            happened_at=row["happened_at"],
            recorded_at=row["recorded_at"],
            author=row["author"],
            fact=fact_kept(row["kind"], row["version"], row["payload"]),
            precision=_PRECISION.get(row["precision"], Precision.ABOUT),
            zone=row["zone"],
            replaces=row["replaces"],
            typed=row["typed"],
        ),
    )


def same_entry(one: Entry, other: Entry) -> bool:
    """Whether two entries say the same. When it was recorded is left out: a second tap arrives later."""
    return _content(one) == _content(other)


def withdrawal_of(entry: Entry) -> UUID | None:
    """What an entry withdraws, if it is a withdrawal."""
    return entry.fact.entry if isinstance(entry.fact, Withdrawn) else None


def kind_of(entry: Entry) -> str:
    """The kind under which an entry is kept."""
    return entry.fact.kind if isinstance(entry.fact, Unreadable) else KIND_OF[type(entry.fact)]


def searchable(text: str) -> str:
    """Text as it is searched: without regard to capitals, in any language, on either database."""
    return text.casefold()


def _content(entry: Entry) -> str:
    document = entry_to_document(entry)
    del document["recorded_at"]
    return canonical(document)


def _texts(value: Any) -> Iterator[str]:
    match value:
        case str():
            if not _is_identity(value):
                yield value
        case Mapping():
            for item in value.values():
                yield from _texts(item)
        case list():
            for item in value:
                yield from _texts(item)


def _is_identity(text: str) -> bool:
    return len(text) == 36 and text.count("-") == 4
