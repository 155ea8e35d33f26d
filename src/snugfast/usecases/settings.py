"""The owner's judgement values and habits, read from words and kept as an entry."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import fields
from typing import Any

from snugfast.core.errors import BadInput
from snugfast.core.spelling import CHOICES, OURS, Spelling
from snugfast.core.units import read_number
from snugfast.core.ways_out import Action, WayOut
from snugfast.core.zones import is_zone
from snugfast.records.entries import Entry, SettingsChosen
from snugfast.usecases.shared.ledger import ledger_now
from snugfast.usecases.shared.workshop import Workshop

GUESSED = "currency, time zone and what minutes are worth"  # what a first start guesses
DEAREST_MINUTE = 100.0  # of the currency; beyond it somebody typed an hour's or a year's worth


def judgement(
    *, currency: str = "", bench_minute: str = "", running_minute: str = "", zone: str = "", **written: str
) -> dict[str, Any]:
    """What was said, as settings; what was not said is left out. Raises BadInput.

    `written` are units, clock, dates and decimals, by the names of `CHOICES`.
    """
    chosen: dict[str, Any] = {name: _choice(name, text) for name, text in written.items() if text.strip()}
    if currency.strip():
        letters = currency.strip().upper()
        if len(letters) != 3 or not letters.isalpha():
            raise BadInput(f"“{currency}” is not a currency.", "Write its three letters.")
        chosen["currency"] = letters
    for name, text in (("bench_minute", bench_minute), ("running_minute", running_minute)):
        if text.strip():
            chosen[name] = _minute(text, name.replace("_", " "))
    if zone.strip():
        chosen["zone"] = _zone(zone.strip())
    return chosen


def draft_settings(workshop: Workshop, chosen: Mapping[str, Any]) -> Entry:
    """The entry of settings chosen."""
    if not chosen:
        raise BadInput("No setting was named.", WayOut("See what can be set", Action.CHANGE_SETTINGS))
    said = {"guessed": ""} if settings_now(workshop).get("guessed") else {}
    return workshop.entry(SettingsChosen({**chosen, **said}))


def settings_now(workshop: Workshop) -> dict[str, Any]:
    """The settings in force, ours where the owner has not said."""
    with workshop.store.reading() as reads:
        chosen = ledger_now(reads).settings
    return {
        "currency": "CRD",
        "bench_minute": workshop.assume("bench_minute_minor"),
        "running_minute": workshop.assume("running_minute_minor"),
        "zone": workshop.zone,
        **{one.name: getattr(OURS, one.name) for one in fields(Spelling)},
        **chosen,
    }


def _choice(name: str, text: str) -> str:
    known = CHOICES[name]
    said = text.strip().casefold().replace(" ", "")
    also = {"c": "°C", "f": "°F", "kmh": "km/h", "24": "24 h", "12": "12 h", ".": "point", ",": "comma"}
    also |= {"inch": "mm and inch", "ounces": "oz", "grams": "g", "iso": "2026-05-10"}
    for one in known:
        if said == one.casefold().replace(" ", "") or also.get(said) == one:
            return one
    raise BadInput(f"“{text}” is no way to write {name}.", f"Choose {' or '.join(known)}.")


def _minute(text: str, where: str) -> float:
    value = read_number(text.strip().split(" ")[0], where=where)
    if not 0.0 <= value <= DEAREST_MINUTE:
        raise BadInput(
            f"{where}: {value:g} cannot be.", f"Give 0 to {DEAREST_MINUTE:g} of your currency a minute."
        )
    return round(value * 100.0, 4)


def _zone(name: str) -> str:
    if not is_zone(name):
        raise BadInput(f"“{name}” is not a time zone.", "Write it like Europe/Berlin or UTC.")
    return name
