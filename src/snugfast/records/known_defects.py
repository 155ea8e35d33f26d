"""What was found on a car and not fixed yet, and what keeps coming back.

Only what somebody said: a defect stands from the answer that left it until somebody fixes it, renews the
part, or gives the check that found it a clean answer.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from datetime import datetime
from uuid import UUID

from snugfast.records.entries import Answer, Broke, Checked, Done, Entry, Failed, Hunted, PartFitted, Ran

MOST_TIMES = 12  # the newest kept of what comes back


@dataclass(frozen=True, slots=True)
class KnownDefect:
    """One defect that was found or broke and was left. `check` found it; "" for what broke on the way."""

    mode: str
    place: str | None
    spot: str
    word: str
    check: str
    since: datetime
    entry: UUID

    def is_at(self, mode: str | None, place: str | None, spot: str) -> bool:
        """Whether something said of this mode and spot is about this defect; no spot means all of them."""
        return (
            self.mode == mode
            and (self.place == place or place is None)
            and (not spot or not self.spot or self.spot == spot)
        )


@dataclass(frozen=True, slots=True)
class Defects:
    """What stands on one car. `times` are when a mode was found or broke, by (mode, place), newest last."""

    open: tuple[KnownDefect, ...] = ()
    times: Mapping[tuple[str, str], tuple[datetime, ...]] = field(default_factory=dict)

    def after(self, entry: Entry) -> Defects:
        """One entry further."""
        match entry.fact:
            case Checked(pack=None, looked=True) as fact:
                return self._checked(entry, fact)
            case Ran(broke=broke):
                return self._broke(entry, [one for one in broke if one.pack is None])
            case Failed(broke=broke) | Hunted(broke=Broke() as broke) if broke.pack is None:
                return self._broke(entry, [broke])
            case PartFitted(place=place, spots=spots):
                return self._fitted(place, spots)
            case _:
                return self

    def moved(self, place: str) -> tuple[Defects, tuple[KnownDefect, ...]]:
        """Those without what sits in a place, and what went with its part."""
        went = tuple(one for one in self.open if one.place == place)
        return self._fitted(place, ()), went

    def with_part(self, place: str, came: Iterable[KnownDefect]) -> Defects:
        """Those after a part with defects of its own came into a place."""
        cleared = self._fitted(place, ())
        return replace(cleared, open=(*cleared.open, *(replace(one, place=place) for one in came)))

    def _checked(self, entry: Entry, fact: Checked) -> Defects:
        named = {answer.mode for answer in fact.answers}
        kept = tuple(one for one in self.open if one.check != fact.check or one.mode in named)
        found = replace(self, open=kept)
        for answer in fact.answers:
            found = found._said(entry, answer, fact.check)
        return found

    def _broke(self, entry: Entry, broke: Iterable[Broke]) -> Defects:
        found = self
        for one in broke:
            found = found._said(entry, one, "")
        return found

    def _said(self, entry: Entry, said: Answer | Broke, check: str) -> Defects:
        if said.mode is None:
            return self
        left = tuple(one for one in self.open if not one.is_at(said.mode, said.place, said.spot))
        if said.done is Done.LEFT:
            word = said.word if isinstance(said, Answer) else said.words
            new = KnownDefect(said.mode, said.place, said.spot, word, check, entry.happened_at, entry.id)
            left = (*left, new)
        key = said.mode, said.place or ""
        times = (*self.times.get(key, ()), entry.happened_at)[-MOST_TIMES:]
        return Defects(left, {**self.times, key: times})

    def _fitted(self, place: str, spots: tuple[str, ...]) -> Defects:
        def stays(one: KnownDefect) -> bool:
            return one.place != place or bool(spots and one.spot not in spots)

        times = self.times if spots else {key: at for key, at in self.times.items() if key[1] != place}
        return Defects(tuple(one for one in self.open if stays(one)), times)
