"""A kind of entry that gains a field or an answer word gains a version, so that older programs say “update”.

Authority: `kinds.json`, which holds what each version of each kind could say; lines are added, never changed.
Version 1 was written down from the first program's own schemas.
"""

from __future__ import annotations

import json
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from snugfast.core.errors import WrongData
from snugfast.records.codec import (
    KINDS,
    VERSIONS,
    NewerVersion,
    UnknownKind,
    fact_kept,
    from_document,
    schemas,
)
from snugfast.records.entries import Unreadable

KEPT = Path(__file__).with_name("kinds.json")


def said_by(schema: Any, way: str = "") -> Iterator[str]:
    """Every field and every choice a schema allows, by its way in."""
    if not isinstance(schema, dict):
        return
    for choice in schema.get("enum", ()):
        yield f"{way} = {choice}"
    for name, inner in schema.get("properties", {}).items():
        yield f"{way}.{name}"
        yield from said_by(inner, f"{way}.{name}")
    for inner in (*schema.get("anyOf", ()), schema.get("items")):
        yield from said_by(inner, way)


def now() -> dict[str, list[str]]:
    return {f"{kind} {VERSIONS[kind]}": sorted(said_by(schema)) for kind, schema in schemas().items()}


@pytest.mark.parametrize("kind", KINDS)
def test_a_kind_says_no_more_than_its_version_allows(kind: str) -> None:
    kept = json.loads(KEPT.read_text("utf-8"))
    key = f"{kind} {VERSIONS[kind]}"
    assert key in kept, f"add “{key}” to {KEPT.name}: a new version of a kind is written down once"
    new = set(now()[key]) - set(kept[key])
    assert not new, (
        f"{kind} gained {sorted(new)}: raise VERSIONS[{kind!r}], and add the version to {KEPT.name}"
    )
    gone = set(kept[key]) - set(now()[key])
    assert not gone, f"{kind} lost {sorted(gone)}: what was once kept has to stay readable"


def test_what_an_older_version_left_out_is_still_read() -> None:
    """Downwards: every version from the first to the newest is read by this program."""
    for kind, version in VERSIONS.items():
        for older in range(1, version + 1):
            try:
                from_document(kind, older, {})
            except (UnknownKind, NewerVersion):
                pytest.fail(f"{kind} {older} is no longer known")
            except WrongData:
                pass  # an empty document misses its fields; that is another matter


@pytest.mark.parametrize(("kind", "version"), [("car_painted", 1), ("ran", 99), ("from_tomorrow", 7)])
def test_an_older_program_says_update_and_not_unknown(kind: str, version: int) -> None:
    fact = fact_kept(kind, version, {"colour": "red"})
    assert isinstance(fact, Unreadable) and fact.newer
    assert "newer Snugfast" in fact.why and "not known here" not in fact.why
    assert (fact.kind, fact.version, fact.document) == (kind, version, {"colour": "red"})
