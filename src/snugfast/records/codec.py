"""Entries as plain documents and back: what a store keeps and a hand-over archive carries.

Every field is written, defaults too, so that a default changed later cannot rewrite what once happened.
A field that is missing takes its default: it was added to the kind after the document was written.
What cannot be put that way needs a new version of the kind.
"""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import fields
from functools import cache
from hashlib import sha256
from typing import Any, get_type_hints

from snugfast.core.errors import BadInput, WrongData
from snugfast.core.findings import Finding
from snugfast.records import entries
from snugfast.records.entries import Entry, Fact, Unreadable
from snugfast.records.shapes import Notes, Shape, shape_of

KINDS: Mapping[str, type[object]] = {
    "car_added": entries.CarAdded,
    "build_changed": entries.BuildChanged,
    "car_left": entries.CarLeft,
    "pack_added": entries.PackAdded,
    "pack_left": entries.PackLeft,
    "pack_looked": entries.PackLooked,
    "pack_hurt": entries.PackHurt,
    "pack_cleared": entries.PackCleared,
    "pack_charged": entries.PackCharged,
    "pack_measured": entries.PackMeasured,
    "pack_stands": entries.PackStands,
    "charger_added": entries.ChargerAdded,
    "charger_left": entries.ChargerLeft,
    "ran": entries.Ran,
    "caught_up": entries.CaughtUp,
    "checked": entries.Checked,
    "failed": entries.Failed,
    "hunted": entries.Hunted,
    "sheet_done": entries.SheetDone,
    "part_fitted": entries.PartFitted,
    "part_moved": entries.PartMoved,
    "work_done": entries.WorkDone,
    "setting_changed": entries.SettingChanged,
    "measured": entries.Measured,
    "steering_set": entries.SteeringSet,
    "set_up_changed": entries.SetUpChanged,
    "radio_tested": entries.RadioTested,
    "learner_limits": entries.LearnerLimits,
    "treatment_done": entries.TreatmentDone,
    "laid_up": entries.LaidUp,
    "woken_up": entries.WokenUp,
    "came_back": entries.CameBack,
    "box_part": entries.BoxPart,
    "box_counted": entries.BoxCounted,
    "box_took": entries.BoxTook,
    "box_ordered": entries.BoxOrdered,
    "box_arrived": entries.BoxArrived,
    "settings_chosen": entries.SettingsChosen,
    "withdrawn": entries.Withdrawn,
}
# A field that a kind gains raises its version here, so that an older program says “update” and not “unknown”.
# The fields of every kind and version there has been stand in tests/records/kinds.json.
VERSIONS: Mapping[str, int] = {
    **dict.fromkeys(KINDS, 1),
    **dict.fromkeys(("ran", "checked", "failed", "hunted", "part_fitted"), 2),  # from_box
    "measured": 2,  # a motor at the bench
}
KIND_OF: Mapping[type[object], str] = {cls: kind for kind, cls in KINDS.items()}

_NEEDED = ("id", "happened_at", "recorded_at", "author", "kind", "version", "fact")


class UnknownKind(BadInput):
    """A document of a kind this program has never heard of."""


class NewerVersion(BadInput):
    """A document written by a newer program."""


def to_document(fact: Fact) -> tuple[str, int, dict[str, Any]]:
    """A fact as (kind, version, document). The document holds only what JSON holds.

    Raises WrongData with a finding for each field that holds what cannot be saved.
    """
    if isinstance(fact, Unreadable):
        return fact.kind, fact.version, fact.document
    kind = KIND_OF[type(fact)]
    notes = Notes()
    document = shape_of(KINDS[kind]).write(fact, notes)
    _refuse(f"An entry of kind “{kind}” cannot be saved", notes)
    return kind, VERSIONS[kind], document


def from_document(kind: str, version: int, document: object) -> Fact:
    """The fact that a document tells.

    Raises UnknownKind, NewerVersion, or WrongData with a finding for each thing wrong.
    """
    if kind not in KINDS:
        raise UnknownKind(
            f"A newer Snugfast wrote this entry: its kind “{kind}” came later.",
            "Update Snugfast, then read it again.",
        )
    if version > VERSIONS[kind]:
        raise NewerVersion(
            f"This entry of kind “{kind}” was written by a newer Snugfast.",
            "Update Snugfast, then read it again.",
        )
    notes = Notes()
    if version < 1:
        notes.wrong(f"{version} is not a version", "versions start at 1")
    fact: Fact = shape_of(KINDS[kind]).read(document, notes)
    _refuse(f"An entry of kind “{kind}” cannot be read", notes)
    return fact


def fact_kept(kind: str, version: int, document: object) -> Fact:
    """The fact that a kept document tells; `Unreadable` for one this program cannot read.

    What stands in a store was acknowledged once: a single entry that no longer reads must not take the rest
    down with it.
    """
    try:
        return from_document(kind, version, document)
    except (UnknownKind, NewerVersion) as newer:
        return Unreadable(kind, version, document, newer.sentence, newer=True)
    except WrongData as wrong:
        return Unreadable(kind, version, document, wrong.findings[0].sentence)


def entry_to_document(entry: Entry) -> dict[str, Any]:
    """A whole entry as one document: the envelope, then kind, version and fact.

    Raises WrongData with a finding for each field that cannot be saved.
    """
    notes = Notes()
    envelope = {
        name: shape.write(getattr(entry, name), notes.inside(name)) for name, shape in _envelope().items()
    }
    _refuse("An entry cannot be saved", notes)
    kind, version, document = to_document(entry.fact)
    return {**envelope, "kind": kind, "version": version, "fact": document}


def entry_from_document(document: object) -> Entry:
    """The entry that a whole document tells. Raises as `from_document` does."""
    notes = Notes()
    if not isinstance(document, Mapping):
        raise WrongData(
            "An entry cannot be read", [Finding("", "this is not an object", "use curly brackets")]
        )
    for name in document.keys() - {*_envelope(), *_NEEDED}:
        notes.wrong(f"“{name}” is not known here", "leave it out")
    for name in _NEEDED:
        if name not in document:
            notes.wrong(f"“{name}” is missing", "add it")
    known = {**_envelope(), "kind": shape_of(str), "version": shape_of(int)}
    read = {
        name: shape.read(document[name], notes.inside(name))
        for name, shape in known.items()
        if name in document
    }
    _refuse("An entry cannot be read", notes)
    fact = from_document(read.pop("kind"), read.pop("version"), document["fact"])
    return Entry(fact=fact, **read)


def schemas() -> dict[str, dict[str, Any]]:
    """A JSON Schema (draft 2020-12) of the fact of each kind."""
    return {
        kind: {
            "$schema": "https://json-schema.org/draft/2020-12/schema",
            "title": kind,
            **shape_of(cls).schema(),
        }
        for kind, cls in KINDS.items()
    }


def entry_schema() -> dict[str, Any]:
    """A JSON Schema of a whole entry of any kind, as `entry_to_document` writes it."""
    envelope = {name: shape.schema() for name, shape in _envelope().items()}
    return {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "title": "entry",
        "type": "object",
        "properties": {
            **envelope,
            "kind": {"enum": list(KINDS)},
            "version": {"type": "integer", "minimum": 1},
            "fact": {},
        },
        "required": list(_NEEDED),
        "additionalProperties": False,
        "oneOf": [
            {"properties": {"kind": {"const": kind}, "fact": shape_of(cls).schema()}}
            for kind, cls in KINDS.items()
        ],
    }


@cache
def kinds_mark() -> str:
    """Changes with the kinds and versions this program reads: what was worked out by another is void."""
    return sha256(repr(sorted(VERSIONS.items())).encode()).hexdigest()[:8]


def canonical(document: Any) -> str:
    """A document as one line of JSON, the same for equal documents."""
    return json.dumps(document, ensure_ascii=False, allow_nan=False, sort_keys=True, separators=(",", ":"))


@cache
def _envelope() -> dict[str, Shape]:
    hints = get_type_hints(Entry, include_extras=True)
    return {field.name: shape_of(hints[field.name]) for field in fields(Entry) if field.name != "fact"}


def _refuse(what: str, notes: Notes) -> None:
    if notes.found:
        raise WrongData(what, notes.found)
