"""Beginning a hunt, answering it, taking an answer back, ending it: each a new version of its one entry."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from uuid import UUID

from snugfast.core.errors import BadInput, NotKnown, RefusedAction
from snugfast.core.vocabulary import in_sentence
from snugfast.facts.hunts import Symptom
from snugfast.facts.model import Facts
from snugfast.records.entries import Broke, Done, Entry, Hunted, HuntEnd, HuntSaid, HuntStep
from snugfast.usecases.hunt.hunt import (
    HuntView,
    Stage,
    hunt_of,
    open_hunt,
    pack_for,
    reasoning_of,
    view_of,
)
from snugfast.usecases.hunt.possible import CauseHere
from snugfast.usecases.journal.forms import keep_form
from snugfast.usecases.shared.applicability import carried_by_pack
from snugfast.usecases.shared.ledger import ledger_now
from snugfast.usecases.shared.lookup import car_called
from snugfast.usecases.shared.typed_words import nearest_way_out
from snugfast.usecases.shared.workshop import Workshop

OVER = RefusedAction("This hunt has ended.", "Begin another one.")


@dataclass(frozen=True, slots=True)
class Ended:
    """What was done about the cause that was found. `at` names where, when it can be at several places."""

    done: Done
    temporary: bool = False
    at: str = ""


ASIDE = {"cannot-tell": HuntSaid.CANNOT_TELL, "cannot-do": HuntSaid.CANNOT_DO}
VAIN = {"not-it": HuntSaid.NOT_IT, "same": HuntSaid.NOT_CURED}
ENDS = {
    "fixed": Ended(Done.PUT_RIGHT),
    "replaced": Ended(Done.RENEWED),
    "left": Ended(Done.LEFT),
    "temporary": Ended(Done.LEFT, temporary=True),
}
"""The words for an answer that pages and field notes send."""


def symptoms_meant(facts: Facts, words: Sequence[str]) -> tuple[Symptom, ...]:
    """The symptoms people mean: by number in the table, key, name, or what it is also called.

    Raises BadInput with the nearest for words that mean none, and for words that mean several.
    """
    table = tuple(facts.hunt_symptoms.values())
    found: dict[str, Symptom] = {}
    for text in words:
        for symptom in [_symptom(table, text)]:
            found[symptom.key] = symptom
    if not found:
        raise BadInput("Nobody said what the car does.", "Choose at least one.")
    return tuple(found.values())


def _symptom(table: Sequence[Symptom], text: str) -> Symptom:
    wanted = _plain(text)
    if wanted.isdecimal() and 1 <= int(wanted) <= len(table):
        return table[int(wanted) - 1]
    exact = [one for one in table if wanted in (_plain(one.key), _plain(one.name))]
    also = exact or [one for one in table if wanted in map(_plain, one.also)]
    if len(also) == 1:
        return also[0]
    if also:
        names = "; ".join(f"{table.index(one) + 1} {one.name}" for one in also)
        raise BadInput(f"“{text}” can be several things.", f"Say which: {names}.")
    known = [word for one in table for word in (one.name, *one.also)]
    raise BadInput(
        f"“{text}” is no symptom known here.", nearest_way_out(wanted, known) or "Choose from the list."
    )


def begin(
    workshop: Workshop, car_name: str, words: Sequence[str], *, pack: str = "", id: UUID | None = None
) -> HuntView:
    """Begin a hunt. Raises RefusedAction while another one of this car is open."""
    symptoms = symptoms_meant(workshop.facts, words)
    with workshop.store.reading() as reads:
        ledger = ledger_now(reads)
    car = car_called(ledger, car_name)
    put_down = open_hunt(workshop, car.id)
    if put_down is not None and put_down.id != id:
        raise RefusedAction(
            f"A hunt of {car.name} is open already.", "Go on with it, or give it up and begin anew."
        )
    hunt = Hunted(car.id, tuple(one.key for one in symptoms), pack=pack_for(ledger, car, pack))
    return _keep(workshop, workshop.entry(hunt, id=id, typed="; ".join(words)))


def answer_test(
    workshop: Workshop, seen: UUID, test: str, said: HuntSaid, word: str = "", *, id: UUID | None = None
) -> HuntView:
    """Answer the test of a hunt as it was seen. Raises StaleRecord when somebody answered meanwhile."""
    known = workshop.facts.hunt_tests.get(test)
    if known is None:
        raise NotKnown(f"There is no test “{test}”.", "Open the hunt again.")
    if said is HuntSaid.SHOWN and word not in [answer.word for answer in known.answers]:
        raise BadInput(f"“{word}” is no answer to “{known.name}”.", "Choose one of its answers.")
    if known.until_good and said is not HuntSaid.NOTHING_WRONG:
        raise RefusedAction(
            "Keep away from it: nothing else is asked until it is so.",
            f"Come back when you can say: {in_sentence(known.good)}.",
        )
    return _further(workshop, seen, HuntStep(said, test, word if said is HuntSaid.SHOWN else ""), id)


def answer_cause(
    workshop: Workshop, seen: UUID, cause: str, said: HuntSaid, *, id: UUID | None = None
) -> HuntView:
    """Say of the cause that was to be mended that it was not that, or that mending it changed nothing."""
    if cause not in workshop.facts.hunt_causes or said not in (HuntSaid.NOT_IT, HuntSaid.NOT_CURED):
        raise NotKnown(f"There is no cause “{cause}”.", "Open the hunt again.")
    return _further(workshop, seen, HuntStep(said, cause=cause), id)


def take_back(workshop: Workshop, seen: UUID, *, id: UUID | None = None) -> HuntView:
    """Take the last answer back. Raises NotKnown when none was given."""
    entry, hunt = _seen(workshop, seen)
    if not hunt.steps:
        raise NotKnown("No answer of this hunt is left to undo.", "Answer the test, or give the hunt up.")
    return _corrected(workshop, entry, replace(hunt, steps=hunt.steps[:-1]), id)


def give_up(workshop: Workshop, seen: UUID, *, id: UUID | None = None) -> HuntView:
    """End a hunt without a cause. It stays in the journal."""
    entry, hunt = _seen(workshop, seen)
    return _corrected(workshop, entry, replace(hunt, end=HuntEnd.GIVEN_UP), id)


def found(workshop: Workshop, seen: UUID, cause: str, ended: Ended, *, id: UUID | None = None) -> HuntView:
    """End a hunt with its cause. A temporary mend leaves the defect standing until it is fixed."""
    entry, _ = _seen(workshop, seen)
    return _corrected(workshop, entry, ended_with(workshop, entry, cause, ended), id)


def ended_with(workshop: Workshop, entry: Entry, cause: str, ended: Ended) -> Hunted:
    """The hunt of an entry, ended with its cause. Raises NotKnown for one that this car cannot have."""
    hunt = hunt_of(entry)
    with workshop.store.reading() as reads:
        ledger = ledger_now(reads)
    _, _, reasoning = reasoning_of(workshop, entry, ledger)
    here = reasoning.possible.causes.get(cause)
    if here is None:
        raise NotKnown(f"This car can’t have “{cause}”.", "Choose one of the causes that are shown.")
    done = Done.LEFT if ended.temporary else ended.done
    broke = _broke(workshop.facts, here, done, ended.at, hunt.pack)
    return replace(hunt, end=HuntEnd.FOUND, cause=cause, broke=broke, temporary=ended.temporary)


def _broke(facts: Facts, here: CauseHere, done: Done, at: str, pack: UUID | None) -> Broke | None:
    """What the cause comes to as a failure: its likeliest mode, where it was named or the only place."""
    for mode, place in here.modes:
        if carried_by_pack(facts.modes[mode]):
            if pack is not None:
                return Broke(mode, pack=pack, words=here.cause.name, done=done)
            continue
        if place is None:
            continue
        for spot in place.spots or ("",):
            if at and at in (f"{place.name}, {spot}", place.name):
                return Broke(
                    mode, place.key, spot if at != place.name else "", words=here.cause.name, done=done
                )
    if at:
        raise BadInput(f"“{at}” is no place of this.", "Choose one of the places that are shown.")
    of_car = [one for one in here.modes if one[1] is not None]
    if not of_car:
        return None
    mode = of_car[0][0]
    places = {place.key for key, place in of_car if key == mode and place is not None}
    return Broke(mode, places.pop() if len(places) == 1 else None, words=here.cause.name, done=done)


def _seen(workshop: Workshop, seen: UUID) -> tuple[Entry, Hunted]:
    with workshop.store.reading() as reads:
        arrived = reads.entry(seen)
    if arrived is None:
        raise NotKnown("There is no such hunt.", "Begin one from the page of the car.")
    hunt = hunt_of(arrived.entry)
    if hunt.end is not HuntEnd.OPEN:
        raise OVER
    return arrived.entry, hunt


def _further(workshop: Workshop, seen: UUID, step: HuntStep, id: UUID | None) -> HuntView:
    entry, hunt = _seen(workshop, seen)
    return _corrected(workshop, entry, replace(hunt, steps=(*hunt.steps, step)), id)


def _corrected(workshop: Workshop, entry: Entry, hunt: Hunted, id: UUID | None) -> HuntView:
    return _keep(workshop, workshop.entry(hunt, id=id, replaces=entry, typed=entry.typed))


def _keep(workshop: Workshop, entry: Entry) -> HuntView:
    keep_form(workshop, [entry])
    return view_of(workshop, entry)


def is_over(view: HuntView) -> bool:
    """Whether nothing more is asked."""
    return view.stage is Stage.ENDED


def _plain(text: str) -> str:
    return " ".join(text.casefold().replace("_", " ").replace("’", "'").split())
