"""Words as people write them, read into what the journal keeps. Both doors hand their texts in here."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from difflib import get_close_matches
from enum import Enum
from typing import TypeVar

from snugfast.core.errors import BadInput
from snugfast.core.units import Kind, in_unit, read_number, read_quantity
from snugfast.core.ways_out import Action, WayOut
from snugfast.facts.model import Build, Facts, Mode, Place
from snugfast.records.entries import Broke, Done, Money, Reading
from snugfast.records.ledger import Ledger
from snugfast.usecases.shared.applicability import car_modes, carried_by_pack

E = TypeVar("E", bound=Enum)
UNKNOWN_CAUSE = ("", "unknown", "cause unknown", "do not know")
NO_OTHERS: Mapping[str, str] = {}
MOST_SPENT = 1_000_000  # of any currency, on such cars
HITS_AS_TYPED = re.compile(r"\s*(?:hard\s+)?(?:hits?|crash(?:es)?)$", re.IGNORECASE)
MINUTES_AS_TYPED = re.compile(r"([\d.,]+)\s*m(?:in(?:ute)?s?)?\.?", re.IGNORECASE)


def called(facts: Facts, kind: str) -> Mapping[str, str]:
    """What people also type for roles, modes, answers, ground and the like, from their words to ours."""
    also = facts.also_called.get(kind)
    return also.words if also else NO_OTHERS


def read_choice(text: str, choices: type[E], *, where: str, also: Mapping[str, str] = NO_OTHERS) -> E:
    """The choice a word stands for; upper case, hyphens and a clear beginning of the word are forgiven.

    `also` are words of the trade for some of them.
    """
    wanted = _plain(text)
    by_word = {_plain(str(choice.value)): choice for choice in choices}
    wanted = wanted if wanted in by_word else _plain(also.get(wanted, wanted))
    if wanted in by_word:
        return by_word[wanted]
    begins = [choice for word, choice in by_word.items() if wanted and word.startswith(wanted)]
    if len(begins) == 1:
        return begins[0]
    raise BadInput(f"{where}: “{text}” is not one of the words for it.", f"Write {_or(by_word)}.")


def read_minutes(text: str, *, where: str = "minutes") -> tuple[float, bool]:
    """“12”, “12 min” or “about 12” as minutes, and whether it is only about right."""
    clean = text.strip()
    about = clean.casefold().startswith("about ")
    if about:
        clean = clean[6:]
    if typed := MINUTES_AS_TYPED.fullmatch(clean):
        clean = f"{typed[1]} min"
    seconds = read_quantity(clean, Kind.DURATION, default_unit="min", where=where)
    return in_unit(seconds, "min"), about


def read_hits(text: str, facts: Facts) -> tuple[float, str]:
    """“none”, “a few”, “many” or a number as hard hits, and the word that was said."""
    words = _plain(text or "none")
    said = {
        "none": 0.0,
        "a few": facts.assumptions["hits_a_few"].value,
        "few": facts.assumptions["hits_a_few"].value,
        "some": facts.assumptions["hits_a_few"].value,
        "many": facts.assumptions["hits_many"].value,
        "lots": facts.assumptions["hits_many"].value,
        "no": 0.0,
    }
    words = HITS_AS_TYPED.sub("", words) or words
    if words in said:
        return said[words], words
    typed = HITS_AS_TYPED.sub("", text.strip())  # with its sign, which is no hyphen
    try:
        number = read_number(typed)
    except BadInput as refused:
        raise BadInput(f"hits: {refused.sentence}", "Write none, a few, many or a number.") from None
    return number, f"{number:g}"


def read_reading(text: str) -> Reading:
    """“motor can 68 °C 20 s” as a reading: spot, value with unit, seconds after stopping."""
    match = re.fullmatch(
        r"(?P<spot>[^\d]+?)\s+(?P<value>[-−+]?[\d.,]+)\s*(?P<unit>°?[A-Za-zΩ/%]+)"
        r"(?:\s+(?:after\s+)?(?P<after>[\d.,]+)\s*s)?",
        text.strip(),
    )
    if match is None:
        raise BadInput(
            f"“{text}” is not a reading.",
            "Write spot, value and seconds after stopping: “motor can 68 °C 20 s”.",
        )
    unit = {"c": "°C", "°c": "°C", "degc": "°C", "f": "°F", "°f": "°F"}.get(
        match["unit"].casefold(), match["unit"]
    )
    value = read_number(match["value"], where="reading")
    after = read_number(match["after"], where="reading") if match["after"] else None
    if unit == "°F":
        value, unit = in_unit(read_quantity(f"{value} °F", Kind.TEMPERATURE), "°C"), "°C"
    return Reading(match["spot"].strip().casefold(), value, unit, after, typed=text.strip())


def read_broke(text: str, facts: Facts, build: Build) -> Broke:
    """“front arm @ front left: renewed” as a break: what broke, at which spot, what was done about it.

    “unknown” says that something broke and nobody knows what; any words may follow it.
    """
    body, _, done_text = (part.strip() for part in text.partition(":"))
    what, at, spot = body.partition("@")
    if _plain(what) in UNKNOWN_CAUSE:
        return _unknown(done_text, facts)
    done = read_done(done_text, facts, where="broke") if done_text else Done.PUT_RIGHT
    try:
        mode, places = find_mode(what, facts, build)
    except BadInput:
        what, spot = ("", "") if at else spot_at_the_end(what, build)
        if not what:
            raise
        mode, places = find_mode(what, facts, build)
    if carried_by_pack(mode):
        return Broke(mode.key, words=text.strip(), done=done)
    place, spot = which_place(mode, places, spot)
    return Broke(mode.key, place.key, spot=read_spot(spot, place), words=text.strip(), done=done)


def read_done(text: str, facts: Facts, *, where: str) -> Done:
    """What was done about it: “fixed”, “replaced”, “not fixed yet”, or the journal’s own words."""
    return read_choice(text, Done, where=where, also=called(facts, "done"))


def spot_at_the_end(text: str, build: Build) -> tuple[str, str]:
    """“loose front left” as what and where; two empty texts when it does not end with a spot of this car."""
    words = _plain(text)
    spots = {_plain(spot) for place in build.places for spot in place.spots}
    for spot in sorted(spots, key=len, reverse=True):
        if words.endswith(f" {spot}"):
            return words.removesuffix(f" {spot}"), spot
    return "", ""


def _unknown(words: str, facts: Facts) -> Broke:
    """A break of unknown cause: what follows says what was done about it, or what was seen."""
    try:
        return Broke(None, done=read_done(words, facts, where="broke") if words else Done.PUT_RIGHT)
    except BadInput:
        return Broke(None, words=words)


def which_place(mode: Mode, places: tuple[Place, ...], spot: str) -> tuple[Place, str]:
    """The place a person means by what stands after “@”, and what of it is left as the spot.

    With one place only it need not be said. Raises BadInput with the places there are.
    """
    wanted = _plain(spot)
    for place in places:
        if wanted and wanted in _names_of(place):
            return place, ""
    for place in places if len(places) > 1 else ():
        end = _plain(place.name).partition(" ")[0]  # “front” of “front arms”
        for spot_there in ("", *place.spots):
            named = (f"{word} {_plain(spot_there)}".strip() for word in (end, _plain(place.name)))
            if wanted.replace(",", "") in named:
                return place, spot_there
    holding = [place for place in places if wanted in map(_plain, place.spots)]
    if len(places) == 1:
        return places[0], spot
    if len(holding) == 1:
        return holding[0], spot
    listed = _or(place.name for place in places)
    raise BadInput(f"{mode.name}: at which place?", f"Write @ and one of {listed}.")


def find_mode(text: str, facts: Facts, build: Build) -> tuple[Mode, tuple[Place, ...]]:
    """The mode a person means, and the places it may be at: by its key or name, by role or by place."""
    here = list(car_modes(facts, build))
    wanted = _plain(text)
    pairs: list[tuple[Mode, Place | None]] = [*here]
    pairs += [(mode, None) for mode in facts.modes.values() if carried_by_pack(mode)]
    meant = called(facts, "modes").get(wanted, "").split("|")
    for names in (_mode_names, _place_names, lambda _, mode, __: {wanted} if mode.key in meant else set()):
        hits = [(mode, place) for mode, place in pairs if wanted in names(facts, mode, place)]
        modes = {mode.key: mode for mode, _ in hits}
        if len(modes) == 1:
            return next(iter(modes.values())), tuple(place for _, place in hits if place is not None)
        if hits:
            raise BadInput(f"“{text.strip()}” can fail in more than one way.", f"Write {_or(modes)}.")
    known = {
        name
        for mode, place in pairs
        for name in (*_mode_names(facts, mode, place), *_place_names(facts, mode, place))
    }
    raise BadInput(
        f"Nothing here is called “{text.strip()}”.",
        _nearest(wanted, known) or "Write “unknown” if you cannot tell.",
    )


def find_place(text: str, build: Build) -> Place:
    """The place a person means, by key or name."""
    wanted = _plain(text)
    for place in build.places:
        if wanted and wanted in _names_of(place):
            return place
    names = {_plain(place.name) for place in build.places}
    raise BadInput(
        f"There is no place called “{text.strip()}”.",
        _nearest(wanted, names) or WayOut("Look at the parts list of the car", Action.SEE_PLACES),
    )


def read_spot(text: str, place: Place) -> str:
    """Which of several like places: “front left”, or its first letters."""
    wanted = _plain(text)
    if not wanted:
        return ""
    for spot in place.spots:
        if wanted in (_plain(spot), "".join(word[0] for word in spot.split())):
            return spot
    if sum(_plain(spot) in wanted for spot in place.spots) > 1:
        raise BadInput(f"“{text.strip()}” names more than one spot.", "Say each by itself.")
    if not place.spots:
        raise BadInput(f"{place.name} has no spot called “{text.strip()}”.", "Leave the spot out.")
    raise BadInput(f"{place.name} has no spot called “{text.strip()}”.", f"Write {_or(place.spots)}.")


def several_spots(text: str) -> tuple[str, ...]:
    """The parts of “front left, rear left and rear right”."""
    parts = (part.strip() for part in re.split(r"[,;&+]|\band\b", text))
    return tuple(part for part in parts if part)


def nearest_way_out(text: str, known: Iterable[str]) -> str:
    """“Did you mean …”, or an empty text."""
    return _nearest(_plain(text), set(known))


def _mode_names(facts: Facts, mode: Mode, place: Place | None) -> set[str]:
    return {_plain(mode.key), _plain(mode.name)}


def _place_names(facts: Facts, mode: Mode, place: Place | None) -> set[str]:
    names = {_plain(mode.role), _plain(facts.roles[mode.role].name)}
    names |= {_plain(word) for word, role in called(facts, "roles").items() if role == mode.role}
    return names | _names_of(place) if place else names


def _names_of(place: Place) -> set[str]:
    """What a place is called: by key, by name, and one of several (“front arm” of the front arms)."""
    name = _plain(place.name)
    return {_plain(place.key), name, name.removesuffix("s") if not name.endswith("ss") else name}


def _plain(text: str) -> str:
    return " ".join(re.split(r"[\s_-]+", text.strip().casefold()))


def _or(words: Iterable[str]) -> str:
    listed = [word.replace("_", " ") for word in words]
    return listed[0] if len(listed) == 1 else f"{', '.join(listed[:-1])} or {listed[-1]}"


def _nearest(wanted: str, known: set[str]) -> str:
    near = get_close_matches(wanted, sorted(known), n=3, cutoff=0.55)
    near += [word for word in sorted(known) if wanted and wanted in word and word not in near][
        : 3 - len(near)
    ]
    return f"Did you mean {_or(near)}?" if near else ""


def read_money(text: str, ledger: Ledger) -> Money:
    """“12.50” or “12.50 CRD” as money, in the workshop's currency unless another is named."""
    amount, _, named = text.strip().partition(" ")
    usual = str(ledger.settings.get("currency", "CRD"))
    currency = named.strip().upper() or usual
    value = read_number(amount, where="money")
    if value < 0.0 or not currency.isalpha() or len(currency) != 3:
        raise BadInput(
            f"“{text}” is not an amount of money.",
            f"Write it like 12.50, or 12.50 {usual} with its currency.",
        )
    if value > MOST_SPENT:
        raise BadInput(f"money: “{text.strip()}” cannot be.", f"Give 0 to {MOST_SPENT} {currency}.")
    return Money(round(value * 100), currency)


def read_budget(text: str, ledger: Ledger) -> float | None:
    """What may be spent, in the workshop's currency; None when nothing is said.

    Raises BadInput for what is no money, or in another currency.
    """
    if not text.strip():
        return None
    money, usual = read_money(text, ledger), str(ledger.settings.get("currency", "CRD"))
    if money.currency != usual:
        raise BadInput(f"This workshop reckons in {usual}.", f"Give the money in {usual}.")
    return money.minor / 100.0
