"""A break that belongs to a pack: which one is meant, and whether a pack of its kind can fail that way."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from uuid import UUID

from snugfast.core.errors import BadInput, NotKnown
from snugfast.facts.model import Facts, Mode
from snugfast.records.entries import Broke
from snugfast.records.ledger import Ledger, PackRecord
from snugfast.usecases.shared.applicability import carried_by_pack, pack_modes
from snugfast.usecases.shared.lookup import pack_called

HOW = "Name it after an @, like “pack lead torn @ Ember 1: left as it is”."


def of_pack(
    broke: Broke,
    words: str,
    facts: Facts,
    ledger: Ledger,
    *,
    named: str = "",
    driven: Sequence[UUID] = (),
) -> Broke:
    """The break with the pack it belongs to, when it belongs to one.

    The pack is the one in `named`, else the one after “@” in the words, else the only one that was `driven`.
    Raises BadInput when it is not said which, when it was not in this run, or cannot fail that way.
    """
    after_at = words.partition(":")[0].partition("@")[2]
    if broke.mode is None:
        pack = _called(ledger, named) if named.strip() else _perhaps(ledger, after_at)
        return replace(broke, pack=pack.id) if pack else broke
    mode = facts.modes[broke.mode]
    if not carried_by_pack(mode):
        if named.strip():
            raise BadInput(f"“{mode.name}” happens to a car, not to a pack.", "Leave the pack out.")
        return broke
    said = named.strip() or after_at.strip()
    pack = _called(ledger, said) if said else _only(ledger, driven)
    if driven and pack.id not in driven:
        raise BadInput(f"{pack.name} was not in this run.", f"It was {_names(ledger, driven)}.")
    _refuse_other_kind(facts, mode, pack)
    return replace(broke, pack=pack.id, spot="")


def _called(ledger: Ledger, words: str) -> PackRecord:
    """A pack by its name; “pack 3” may be the pack called 3."""
    name = words.strip()
    try:
        return pack_called(ledger, name)
    except NotKnown:
        if not name.casefold().startswith("pack "):
            raise
    return pack_called(ledger, name[5:])


def _perhaps(ledger: Ledger, words: str) -> PackRecord | None:
    """A pack, if the words name one; they may be a place of the car as well."""
    try:
        return _called(ledger, words) if words.strip() else None
    except NotKnown:
        return None


def _only(ledger: Ledger, driven: Sequence[UUID]) -> PackRecord:
    if not driven:
        raise BadInput("A pack failed, and no pack is named.", HOW)
    if len(driven) > 1:
        raise BadInput(f"Which pack failed, {_names(ledger, driven)}?", HOW)
    return ledger.packs[driven[0]]


def _names(ledger: Ledger, packs: Sequence[UUID]) -> str:
    return " or ".join(ledger.packs[pack].name for pack in packs)


def _refuse_other_kind(facts: Facts, mode: Mode, pack: PackRecord) -> None:
    keys = [other.key for other in pack_modes(facts, pack.chemistry)]
    if mode.key not in keys:
        raise BadInput(
            f"{pack.name} is {pack.chemistry}, and “{mode.name}” is said of others.",
            f"Write one of {', '.join(key.replace('_', ' ') for key in keys)}.",
        )
