"""Cars joining, builds edited, parts fitted and moved."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime
from uuid import UUID

from snugfast.core.errors import BadInput, NotKnown
from snugfast.core.units import read_number
from snugfast.facts.load import build_document, build_toml, parse_build_toml, read_build
from snugfast.facts.model import Build, Event, Facts
from snugfast.records.entries import (
    BuildChanged,
    CameBack,
    CarAdded,
    Entry,
    History,
    PartFitted,
    PartMoved,
    WorkDone,
)
from snugfast.records.moments import read_moment
from snugfast.records.roster import build_with
from snugfast.usecases.shared.draft import Draft
from snugfast.usecases.shared.ledger import ledger_now
from snugfast.usecases.shared.lookup import car_and_build, car_called
from snugfast.usecases.shared.part_sizes import sizes_of_part
from snugfast.usecases.shared.typed_words import (
    find_place,
    nearest_way_out,
    read_choice,
    read_money,
    read_spot,
)
from snugfast.usecases.shared.workshop import Workshop

RADIO_NOTCH = "radio"
# Fitting one of these moves the front wheels against the servo, so its end points have to be set again.
MOVES_END_POINTS = frozenset(("servo_horn", "servo_saver", "bellcrank", "steering_link", "steering_ball"))
NEW_WORDS = {"new": History.NEW, "second-hand": History.SECOND_HAND, "unknown": History.UNKNOWN}


def starter(workshop: Workshop, key: str) -> Build:
    """A starter build by its key, in the money of this workshop. Raises NotKnown with those there are."""
    starters = workshop.facts.starters
    if key not in starters:
        listed = ", ".join(starters)
        near = nearest_way_out(key, starters)
        raise NotKnown(f"There is no starter build “{key}”.", near or f"There are: {listed}")
    with workshop.store.reading() as reads:
        money = str(ledger_now(reads).settings.get("currency", "CRD"))
    return priced_in(starters[key], money, workshop.facts)


def priced_in(build: Build, currency: str, facts: Facts) -> Build:
    """The build with its prices in that money: in round figures, or as they are where nobody knows better."""
    if currency == build.currency:
        return build
    levels = facts.price_levels
    times = (
        levels[currency].times / levels[build.currency].times
        if {currency, build.currency} <= levels.keys()
        else 1.0
    )
    places = tuple(replace(place, price_minor=round(place.price_minor * times)) for place in build.places)
    return replace(build, currency=currency, places=places)


def draft_car(
    workshop: Workshop,
    name: str,
    build: Build,
    *,
    history: str = "new",
    when: str = "",
    from_starter: str = "",
    id: UUID | None = None,
) -> Entry:
    """The entry of a car joining."""
    moment = read_moment(when, now=workshop.now(), zone=workshop.zone)
    past = NEW_WORDS.get(history.strip().casefold()) or read_choice(history, History, where="history")
    car = id or workshop.new_id()
    fact = CarAdded(car, name.strip(), build_document(build), past, from_starter)
    return workshop.entry(fact, happened_at=moment.at, precision=moment.precision, id=id)


def build_text(workshop: Workshop, name: str) -> str:
    """The build of a car as the TOML its owner edits."""
    return build_toml(car_and_build(workshop, name)[1])


def draft_build(workshop: Workshop, name: str, text: str, where: str) -> Entry:
    """The entry of an edited build. Raises WrongData with all its mistakes at once."""
    car, _ = car_and_build(workshop, name)
    build = read_build_text(workshop, text, where)
    return workshop.entry(BuildChanged(car.id, build_document(build)))


def car_build_of(workshop: Workshop, entry: Entry) -> Build:
    """The build that an entry of an edited build carries."""
    assert isinstance(entry.fact, BuildChanged)
    return workshop.build(entry.fact.build)


def build_changes(before: Build, after: Build) -> tuple[str, ...]:
    """What an edit changed, a line for each thing: traits, and places new, gone or other than before."""
    lines = [
        f"{key.replace('_', ' ')}: {after.traits.get(key, 'none')}, was {before.traits.get(key, 'none')}"
        for key in sorted({*before.traits, *after.traits})
        if before.traits.get(key) != after.traits.get(key)
    ]
    old, new = ({place.key: place for place in build.places} for build in (before, after))
    for key in (*old, *(key for key in new if key not in old)):
        if key not in new:
            lines.append(f"{old[key].name}: gone")
        elif key not in old:
            lines.append(f"{new[key].name}: new, {new[key].part}")
        elif old[key] != new[key]:
            was = f", was {old[key].part}" if old[key].part != new[key].part else ", changed"
            lines.append(f"{new[key].name}: {new[key].part}{was}")
    if not lines and build_document(before) != build_document(after):
        lines.append("its name or its description")
    return tuple(lines)


def draft_fitted(
    workshop: Workshop,
    car_name: str,
    place_words: str,
    *,
    part: str = "",
    spots: tuple[str, ...] = (),
    sizes: tuple[str, ...] = (),
    spent: str = "",
    second_hand: bool = False,
    when: str = "",
    id: UUID | None = None,
) -> Draft:
    """The entries of a part fitted: the part, and the radio work it amounts to where it does.

    `sizes` are those that differ, as typed (“teeth_count=17”); what the part's own words say of its teeth or
    of the outside of a tyre need not be typed twice.
    """
    with workshop.store.reading() as reads:
        ledger = ledger_now(reads)
    car = car_called(ledger, car_name)
    build = workshop.build(car.build)
    place = find_place(place_words, build)
    moment = read_moment(when, now=workshop.now(), zone=workshop.zone)
    fact = PartFitted(
        car=car.id,
        place=place.key,
        part=workshop.new_id(),
        name=part or place.part,
        spots=tuple(read_spot(spot, place) for spot in spots),
        spent=read_money(spent, ledger) if spent.strip() else None,
        second_hand=second_hand,
        sizes=sizes_of_part(workshop.facts, place, part, sizes, some_only=bool(spots)),
    )
    workshop.build(build_with(car.build, fact))  # refuses sizes that no standard knows
    fitted = workshop.entry(fact, happened_at=moment.at, precision=moment.precision, id=id)
    entries = [fitted]
    if workshop.facts.roles[place.role].notch == RADIO_NOTCH:
        entries.append(_work(workshop, car.id, Event.RADIO_WORK, moment.at, place.name))
    for servo in build.of_role("servo")[:1]:
        if place.role in MOVES_END_POINTS:  # what the horn or a rod moved, the end points no longer fit
            moved = WorkDone(car.id, Event.WORK_THERE.value, servo.key, place.name)
            entries.append(workshop.entry(moved, happened_at=moment.at))
    return Draft.telling(workshop, ledger, entries)


def draft_moved(workshop: Workshop, from_car: str, place_words: str, to_car: str) -> Draft:
    """The entry of a part that went, clock and all, into the same kind of place of another car."""
    with workshop.store.reading() as reads:
        ledger = ledger_now(reads)
    giver, taker = car_called(ledger, from_car), car_called(ledger, to_car)
    build, other = workshop.build(giver.build), workshop.build(taker.build)
    place = find_place(place_words, build)
    same = other.of_role(place.role)
    target = next((there for there in same if there.key == place.key), same[0] if same else None)
    if target is None:
        raise NotKnown(f"{taker.name} has no place for it.", f"It needs a place of the kind “{place.role}”.")
    if giver.id == taker.id:
        raise BadInput("The part is in that car already.", "Name another car.")
    entry = workshop.entry(PartMoved(giver.id, place.key, taker.id, target.key))
    return Draft.telling(workshop, ledger, [entry])


def draft_work(workshop: Workshop, car_name: str, event: str, words: str = "") -> Draft:
    """The entry of work that raises rates for a while: radio work, a hit found later."""
    with workshop.store.reading() as reads:
        ledger = ledger_now(reads)
    car = car_called(ledger, car_name)
    entry = _work(workshop, car.id, read_choice(event, Event, where="work"), workshop.now(), words)
    return Draft.telling(workshop, ledger, [entry])


def draft_back(workshop: Workshop, car_name: str, packs_low: str, packs_high: str) -> Entry:
    """The entry of a car back from a loan; how much it ran is only known between two numbers of packs."""
    car, _ = car_and_build(workshop, car_name)
    low, high = read_number(packs_low, where="packs"), read_number(packs_high, where="packs")
    if not 0.0 <= low <= high or high <= 0.0:
        raise BadInput(
            "The fewest and the most packs do not fit.", "Give the smaller number first, like 3 8."
        )
    return workshop.entry(CameBack(car.id, low, high))


def read_build_text(workshop: Workshop, text: str, where: str) -> Build:
    """A build in an owner's TOML text. Raises WrongData with all its mistakes at once."""
    return read_build(parse_build_toml(text, where), where, workshop.facts)


def _work(workshop: Workshop, car: UUID, event: Event, at: datetime, words: str) -> Entry:
    return workshop.entry(WorkDone(car, event.value, words=words), happened_at=at)
