"""Fault hunts noted on a field sheet: each tap becomes the version of the hunt that it would be at home.

    2026-05-10 14:32Z | hunt | 260510143211123 | 1 | begin | Bramble | wheels_still; clicks | Ember 1
    2026-05-10 14:33Z | hunt | 260510143211123 | 2 | shown | touch_throttle | Motor turns, spur stands still |
    2026-05-10 14:35Z | hunt | 260510143211123 | 3 | undo | | |

A version is named by sheet, hunt and number, so taps taken in twice are one, and later ones go on from there.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from uuid import UUID

from snugfast.core.errors import BadInput
from snugfast.core.ids import derived
from snugfast.records.entries import Entry, Hunted, HuntEnd, HuntSaid, HuntStep
from snugfast.records.standing import standing
from snugfast.usecases.hunt.answering import ASIDE, ENDS, OVER, VAIN, Ended, ended_with, symptoms_meant
from snugfast.usecases.hunt.hunt import hunt_of, pack_for
from snugfast.usecases.shared.ledger import ledger_now
from snugfast.usecases.shared.lookup import car_called
from snugfast.usecases.shared.workshop import Workshop

BEGIN, GOOD, SHOWN, UNDO, GIVE_UP = "begin", "good", "shown", "undo", "give-up"
LONGEST_WORD = 200  # letters of an answer


@dataclass(frozen=True, slots=True)
class HuntTap:
    """One tap. `about` is the car, the test or the cause; `words` symptoms, the answer, or where."""

    sheet: UUID
    at: datetime
    hunt: str
    number: int
    said: str
    about: str = ""
    words: str = ""
    pack: str = ""

    @property
    def id(self) -> UUID:
        """The identity of the version it makes."""
        return self.version(self.number)

    def version(self, number: int) -> UUID:
        """The identity of another version of the same hunt."""
        return derived(self.sheet, f"hunt {self.hunt} {number}")


def read_tap(sheet: UUID, at: datetime, parts: Sequence[str]) -> HuntTap:
    """The six fields after “hunt”. Raises BadInput when they are not whole."""
    hunt, number, said, about, words, pack = parts
    known = {BEGIN, GOOD, SHOWN, UNDO, GIVE_UP, *ASIDE, *VAIN, *ENDS}
    if not hunt or not number.isdecimal() or len(number) > 4 or said not in known:
        raise BadInput(f"“{' | '.join(parts)[:60]}” is not whole.", "Copy the notes again.")
    return HuntTap(sheet, at, hunt, int(number), said, about[:LONGEST_WORD], words[:LONGEST_WORD], pack)


class HuntsHome:
    """Hunts coming home, tap by tap, each hunt in order: on from what is in the journal.

    `gone_on` counts the taps left out, by car: somebody answered that hunt further at home, or took it back.
    """

    def __init__(self, workshop: Workshop) -> None:
        self.workshop = workshop
        self.gone_on: Counter[str] = Counter()
        self._versions: dict[UUID, Entry] = {}
        self._left: set[tuple[UUID, str]] = set()

    def take(self, tap: HuntTap) -> Entry | None:
        """The version a tap makes, or None where it was left out.

        Raises BadInput when the tap before is missing, and what the hunt at home raises.
        """
        if (known := self._version(tap.id)) is not None:
            return known
        before = None if tap.said == BEGIN else self._version(tap.version(tap.number - 1))
        if tap.said != BEGIN and before is None and (tap.sheet, tap.hunt) not in self._left:
            raise BadInput(
                f"Tap {tap.number - 1} of this hunt is missing.",
                "Copy all of the notes, or photograph every code.",
            )
        if before is not None and self._went_on(before):
            self._left.add((tap.sheet, tap.hunt))
        if (tap.sheet, tap.hunt) in self._left:
            self.gone_on[tap.hunt] += 1
            return None
        fact = self._begun(tap) if before is None else self._further(tap, before)
        self._versions[tap.id] = self.workshop.entry(
            fact, happened_at=tap.at, id=tap.id, replaces=before, typed=before.typed if before else tap.words
        )
        return self._versions[tap.id]

    def _version(self, id: UUID) -> Entry | None:
        if id not in self._versions:
            with self.workshop.store.reading() as reads:
                arrived = reads.entry(id)
            if arrived is None:
                return None
            self._versions[id] = arrived.entry
        return self._versions[id]

    def _went_on(self, before: Entry) -> bool:
        """Whether what a tap goes on from is in the journal and stands no longer."""
        with self.workshop.store.reading() as reads:
            if reads.entry(before.id) is None:
                return False
            found = standing(reads.related([before]))
        return before.id in found.superseded or before.id in found.withdrawn

    def _begun(self, tap: HuntTap) -> Hunted:
        with self.workshop.store.reading() as reads:
            ledger = ledger_now(reads)
        car = car_called(ledger, tap.about)
        symptoms = symptoms_meant(self.workshop.facts, [one.strip() for one in tap.words.split(";")])
        return Hunted(car.id, tuple(one.key for one in symptoms), pack=pack_for(ledger, car, tap.pack))

    def _further(self, tap: HuntTap, before: Entry) -> Hunted:
        hunt, said = hunt_of(before), tap.said
        if said == UNDO:
            if hunt.end is not HuntEnd.OPEN:
                return replace(hunt, end=HuntEnd.OPEN, cause="", broke=None, temporary=False)
            return replace(hunt, steps=hunt.steps[:-1])
        if hunt.end is not HuntEnd.OPEN:
            raise OVER
        if said == GIVE_UP:
            return replace(hunt, end=HuntEnd.GIVEN_UP)
        if said in ENDS:
            how = ENDS[said]
            return ended_with(self.workshop, before, tap.about, Ended(how.done, how.temporary, tap.words))
        if said in VAIN:
            step = HuntStep(VAIN[said], cause=tap.about)
        elif said == SHOWN:
            step = HuntStep(HuntSaid.SHOWN, tap.about, tap.words)
        else:
            step = HuntStep(ASIDE.get(said, HuntSaid.NOTHING_WRONG), tap.about)
        return replace(hunt, steps=(*hunt.steps, step))
