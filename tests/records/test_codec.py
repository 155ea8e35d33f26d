"""Facts and entries survive being written down, and a broken document is refused whole.

Authority: laws (round trip; the exported JSON Schema accepts what is written), checked by hypothesis, with
jsonschema as the outside judge of the schemas.
"""

from __future__ import annotations

import json
from typing import Any, get_args
from uuid import UUID

import jsonschema
import pytest
from hypothesis import given

from snugfast.core.errors import WrongData
from snugfast.records.codec import (
    KINDS,
    VERSIONS,
    NewerVersion,
    UnknownKind,
    canonical,
    entry_from_document,
    entry_schema,
    entry_to_document,
    from_document,
    schemas,
    to_document,
)
from snugfast.records.entries import CarAdded, CaughtUp, Entry, Fact, Ran, SettingsChosen, Unreadable, Wet
from tests.records.making import CAR, START, entries, facts, ran

SCHEMAS = {kind: jsonschema.Draft202012Validator(schema) for kind, schema in schemas().items()}
ENTRY_SCHEMA = jsonschema.Draft202012Validator(entry_schema())


def through_json(document: Any) -> Any:
    return json.loads(canonical(document))


def ran_with(**fields: Any) -> Fact:
    given: dict[str, Any] = {"car": CAR, "packs": (), "running_min": 12.0, **fields}
    return Ran(**given)


@pytest.mark.slow
@given(facts)
def test_every_fact_comes_back_as_it_was(fact: Fact) -> None:
    kind, version, document = to_document(fact)
    assert from_document(kind, version, through_json(document)) == fact
    SCHEMAS[kind].validate(document)


@pytest.mark.slow
@given(entries)
def test_every_entry_comes_back_as_it_was(entry: Entry) -> None:
    document = entry_to_document(entry)
    assert entry_from_document(through_json(document)) == entry
    ENTRY_SCHEMA.validate(document)


@given(facts)
def test_equal_facts_are_written_alike(fact: Fact) -> None:
    kind, version, document = to_document(fact)
    again = from_document(kind, version, through_json(document))
    assert canonical(to_document(again)[2]) == canonical(document)


def test_every_kind_of_fact_has_a_name() -> None:
    assert set(KINDS.values()) == set(get_args(Fact)) - {Unreadable}


def test_the_schemas_are_schemas() -> None:
    for schema in (*schemas().values(), entry_schema()):
        jsonschema.Draft202012Validator.check_schema(schema)


def test_a_document_with_several_mistakes_tells_all_of_them() -> None:
    document = to_document(ran(1).fact)[2] | {"wet": "soaked", "packs": ["x"], "minutes": 3}
    del document["car"]
    with pytest.raises(WrongData) as told:
        from_document("ran", 1, document)
    assert {finding.where for finding in told.value.findings} == {"", "wet", "packs, no. 1"}
    sentences = " ".join(finding.sentence for finding in told.value.findings)
    assert "“minutes” is not known here" in sentences
    assert "“car” is missing" in sentences
    assert "“salt water”" in sentences


@pytest.mark.parametrize(
    ("name", "value"),
    [
        ("car", "not-an-identity"),
        ("car", str(CAR).upper()),
        ("car", None),
        ("running_min", "12"),
        ("running_min", True),
        ("running_min", float("nan")),
        ("running_min", 10**400),
        ("about", 1),
        ("packs", "abc"),
        ("packs", [1]),
        ("readings", [{"spot": "can"}]),
        ("hits_said", "with a \x00 in it"),
        ("hits_said", "with half a pair \ud800"),
        ("noticed", [3]),
        ("broke", [[]]),
    ],
)
def test_a_value_of_the_wrong_sort_is_refused(name: str, value: object) -> None:
    document = to_document(ran(1).fact)[2]
    with pytest.raises(WrongData, match=name):
        from_document("ran", 1, document | {name: value})


@pytest.mark.parametrize("since", ["2026-05-01", "2026-05-01T10:00:00", "2026-13-01T10:00:00Z", 5, None])
def test_a_time_needs_its_offset(since: object) -> None:
    document = to_document(CaughtUp(car=CAR, since=START, packs=6, running_min=60))[2]
    with pytest.raises(WrongData, match="since"):
        from_document("caught_up", 1, document | {"since": since})


@pytest.mark.parametrize("fact", [5, None, "ran", []])
def test_what_is_no_object_is_refused(fact: object) -> None:
    with pytest.raises(WrongData, match="object"):
        from_document("ran", 1, fact)
    with pytest.raises(WrongData, match="object"):
        entry_from_document(fact)


@pytest.mark.parametrize(
    "fact",
    [
        ran_with(running_min=float("inf")),
        ran_with(car="grey truck"),
        ran_with(packs=[CAR]),
        ran_with(wet="dry"),
        CaughtUp(car=CAR, since=START.replace(tzinfo=None), packs=6, running_min=60),
        CarAdded(car=CAR, name="Grey truck", build={"part": CAR}),
        CarAdded(car=CAR, name="Grey truck", build={"teeth": 2**60}),
        SettingsChosen(values={"wet": Wet.DRY}),
        SettingsChosen(values={3: "three"}),  # type: ignore[dict-item]
    ],
)
def test_a_fact_that_cannot_be_kept_is_refused_before_it_is_written(fact: Fact) -> None:
    with pytest.raises(WrongData):
        to_document(fact)


def test_tables_nested_without_end_are_refused() -> None:
    values: dict[str, Any] = {}
    for _ in range(100):
        values = {"deeper": values}
    with pytest.raises(WrongData, match="nested too deeply"):
        from_document("settings_chosen", 1, {"values": values})


def test_a_kind_nobody_knows_is_refused_with_a_way_out() -> None:
    with pytest.raises(UnknownKind, match="Update Snugfast"):
        from_document("car_painted", 1, {})


def test_a_newer_version_is_refused_with_a_way_out() -> None:
    with pytest.raises(NewerVersion, match="Update"):
        from_document("ran", VERSIONS["ran"] + 1, {})
    with pytest.raises(WrongData, match="versions start at 1"):
        from_document("ran", 0, to_document(ran(1).fact)[2])


def test_a_field_that_came_later_takes_its_default() -> None:
    document = to_document(ran(1).fact)[2]
    del document["hits_said"]
    fact = from_document("ran", 1, document)
    assert isinstance(fact, Ran)
    assert fact.hits_said == "none"


def test_a_whole_number_where_a_float_belongs_is_kept_as_a_float() -> None:
    document = to_document(Ran(car=UUID(int=1), packs=(), running_min=12))[2]
    assert canonical(document["running_min"]) == "12.0"
