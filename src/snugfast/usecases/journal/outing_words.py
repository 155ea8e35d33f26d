"""A day out typed in plain words: cars, each with its packs and minutes; ground and wet of the evening."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field, replace
from difflib import get_close_matches
from uuid import UUID

from snugfast.core.errors import BadInput
from snugfast.facts.model import Facts
from snugfast.records.ledger import Ledger
from snugfast.usecases.journal.outing import CarOut, OutingSaid
from snugfast.usecases.journal.run_words import HITS, RunWords, run_words
from snugfast.usecases.shared.lookup import cars_here, packs_here

NOTICED = ("noise", "pulls to one side", "slow", "hot", "cut out", "lost something")
BROKE = "broke "


@dataclass(slots=True)
class _Told:
    """What was said so far."""

    cars: list[CarOut] = field(default_factory=list)
    ground: str = ""
    wet: str = ""

    def last(self, word: str) -> CarOut:
        if not self.cars:
            raise BadInput(f"“{word}” stands before any car.", "Name the car first: Bramble “Ember 1” 14")
        return self.cars[-1]

    def change(self, word: str, **changes: object) -> None:
        self.cars[-1] = replace(self.last(word), **changes)  # type: ignore[arg-type]


def read_outing(
    facts: Facts, ledger: Ledger, words: Sequence[str], *, air: str, when: str, id: UUID | None
) -> OutingSaid:
    """The outing that these words tell. Raises BadInput for a word nobody knows, with the nearest.

    After a car come its packs, minutes (of each, or one for each pack), hits, what was noticed, what broke;
    ground and wet stand anywhere. `Bramble:Ember 1+Ember 2` are two packs together, as in a single run.
    """
    told, known = _Told(), run_words(facts)
    cars = {car.name.casefold(): car.name for car in cars_here(ledger)}
    packs = {pack.name.casefold(): pack.name for pack in packs_here(ledger)}
    for word in known.joined([*_words(words)], (*cars, *packs)):
        plain = word.casefold()
        if plain in cars:
            told.cars.append(CarOut(cars[plain], ()))
        elif ":" in word and plain.partition(":")[0].strip() in cars:
            told.cars.append(_car_with_packs(cars, word))
        elif plain in packs:
            told.change(word, packs=(*told.last(word).packs, packs[plain]))
        elif ground := known.ground(plain):
            told.ground = ground
        elif wet := known.wet(plain):
            told.wet = wet
        elif hits := known.hits(plain):
            told.change(word, hits=hits)
        elif known.is_minutes(plain):
            told.change(word, minutes=(*told.last(word).minutes, word))
        elif plain.startswith(BROKE):
            told.change(word, broke=(*told.last(word).broke, word[len(BROKE) :].strip()))
        elif noticed := _noticed(plain):
            told.change(word, noticed=(*told.last(word).noticed, noticed))
        else:
            raise _unknown(word, (*cars.values(), *packs.values()), known)
    return OutingSaid(tuple(told.cars), told.ground, told.wet, ambient=air, when=when, id=id)


def _words(words: Sequence[str]) -> Iterable[str]:
    """The words without commas around them; those of a piped or quoted line are parted at its commas."""
    for word in words:
        if ":" in word:
            yield word.strip().strip(",")
        else:
            yield from filter(None, (part.strip() for part in word.split(",")))


def _car_with_packs(cars: dict[str, str], word: str) -> CarOut:
    car, _, packs = word.partition(":")
    together = "+" in packs
    named = tuple(filter(None, (pack.strip() for pack in packs.split("+" if together else ","))))
    return CarOut(cars[car.strip().casefold()], named, together=together)


def _noticed(plain: str) -> str:
    """Which of the usual remarks it is; three letters of it are enough."""
    return next((one for one in NOTICED if len(plain) >= 3 and one.startswith(plain)), "")


def _unknown(word: str, names: tuple[str, ...], words: RunWords) -> BadInput:
    known = (*names, *words.grounds, *words.wets, *HITS, *NOTICED)
    near = get_close_matches(word.casefold(), [one.casefold() for one in known], n=3, cutoff=0.5)
    nearest = [next(one for one in known if one.casefold() == word) for word in dict.fromkeys(near)]
    hint = f"Did you mean {' or '.join(nearest)}?" if nearest else "Something broke: “broke spur stripped”."
    return BadInput(f"“{word}” is no car, pack, ground or other word of an outing.", hint)


def with_readings(said: OutingSaid, readings: Sequence[str]) -> OutingSaid:
    """The outing with readings, each begun with its car: “Bramble: motor can 68 °C 20 s”.

    With one car out it need not be named. Raises BadInput when the car is not among those that were out.
    """
    cars = list(said.cars)
    for text in readings:
        name, colon, words = text.partition(":")
        wanted = name.strip().casefold() if colon else ""
        at = [
            n for n, car in enumerate(cars) if car.car.casefold() == wanted or (not colon and len(cars) == 1)
        ]
        if not at:
            raise BadInput(
                f"Of which car is “{text}”?", "Begin with its name: “Bramble: motor can 68 °C 20 s”."
            )
        cars[at[0]] = replace(cars[at[0]], readings=(*cars[at[0]].readings, words.strip() if colon else text))
    return replace(said, cars=tuple(cars))
