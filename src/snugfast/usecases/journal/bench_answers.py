"""What was found at the bench: the answers that go back into the journal and change the next sheet."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from uuid import UUID

from snugfast.core.errors import BadInput, NotKnown
from snugfast.core.ways_out import Action, WayOut
from snugfast.facts.model import Build, Check, Facts
from snugfast.records.entries import Answer, Checked, Done, Entry
from snugfast.records.ledger import CarRecord, Ledger, PackRecord
from snugfast.records.moments import read_moment
from snugfast.usecases.shared.applicability import (
    car_checks,
    carried_by_pack,
    mode_keys,
    of_pack,
    pack_modes,
    sees,
    sees_pack_too,
)
from snugfast.usecases.shared.draft import Draft
from snugfast.usecases.shared.ledger import ledger_now
from snugfast.usecases.shared.lookup import car_called, pack_called
from snugfast.usecases.shared.remedies import remedy_meant
from snugfast.usecases.shared.typed_words import (
    called,
    find_mode,
    nearest_way_out,
    read_done,
    read_minutes,
    read_money,
    read_spot,
    several_spots,
    spot_at_the_end,
    which_place,
)
from snugfast.usecases.shared.workshop import Workshop

SOUND, TICKED, FAILED = "sound", "ticked", "failed"


@dataclass(frozen=True, slots=True)
class FoundSaid:
    """An answer as typed.

    `words` are “sound”, “ticked”, a word of the check (“loose”), or “failed”; each may go on with a place
    or spots and what was done: “loose @ front left and rear left: renewed”. `mode` says what failed if the
    word does not.
    """

    car: str
    check: str
    words: tuple[str, ...] = (SOUND,)
    mode: str = ""
    pack: str = ""
    minutes: str = ""
    spent: str = ""
    noticed: str = ""
    when: str = ""
    id: UUID | None = None


def draft_found(workshop: Workshop, said: FoundSaid) -> Draft:
    """The entry of one check answered. Raises BadInput or NotKnown for words the check does not know."""
    with workshop.store.reading() as reads:
        ledger = ledger_now(reads)
    car = car_called(ledger, said.car)
    build = workshop.build(car.build)
    check = find_check(said.check, workshop.facts, build)
    pack = _pack_of(workshop.facts, ledger, check, said.pack, car)
    reading = _Answering(workshop.facts, build, check, said.mode, pack)
    words = reading.as_meant([text for text in said.words if text.strip()] or [SOUND])
    answers = tuple(answer for text in words for answer in reading.answers(text))
    if pack is None:
        _refuse_without_pack(workshop.facts, ledger, car, answers)
    moment = read_moment(said.when, now=workshop.now(), zone=workshop.zone)
    fact = Checked(
        car=car.id,
        check=check.key,
        pack=pack.id if pack else None,
        answers=answers,
        looked=not any(_word(text) == TICKED for text in words),
        minutes=read_minutes(said.minutes)[0] if said.minutes.strip() else None,
        spent=read_money(said.spent, ledger) if said.spent.strip() else None,
        noticed=said.noticed.strip(),
    )
    entry: Entry = workshop.entry(
        fact, happened_at=moment.at, precision=moment.precision, id=said.id, typed="; ".join(words)
    )
    return Draft.telling(workshop, ledger, [entry])


def _pack_of(facts: Facts, ledger: Ledger, check: Check, name: str, car: CarRecord) -> PackRecord | None:
    """The pack a check is done on; None for a check of the car. It must be of a kind the check can judge.

    A check of the car that looks at a pack as well has the one that was named, or the only one it can be.
    """
    named = pack_called(ledger, name) if name.strip() else None
    if not of_pack(facts, check):
        return (named or _only_pack(ledger, car)) if sees_pack_too(facts, check) else None
    if named is None:
        raise BadInput(f"“{check.name}” is done on a pack.", WayOut("Name the pack", Action.GIVE_PACK))
    modes = frozenset(mode.key for mode in pack_modes(facts, named.chemistry))
    if not sees(facts, check, modes):
        others = [
            other.key
            for other in facts.checks.values()
            if of_pack(facts, other) and sees(facts, other, modes)
        ]
        raise BadInput(
            f"“{check.name}” says nothing about a {named.chemistry} pack.",
            f"For this one there are {', '.join(others)}.",
        )
    return named


def _only_pack(ledger: Ledger, car: CarRecord) -> PackRecord | None:
    """The pack that is in the car, else the only one that goes in it."""
    here = [ledger.packs[pack] for pack in car.packs if ledger.packs[pack].left_at is None]
    inside = [pack for pack in ledger.packs.values() if pack.left_at is None and pack.marks.in_car == car.id]
    several = inside or here
    return several[0] if len(several) == 1 else None


def _refuse_without_pack(facts: Facts, ledger: Ledger, car: CarRecord, answers: Sequence[Answer]) -> None:
    """What was found on a pack is kept of that pack, so it must be known which."""
    of_packs = [answer for answer in answers if answer.mode and carried_by_pack(facts.modes[answer.mode])]
    if of_packs:
        names = [ledger.packs[pack].name for pack in car.packs if ledger.packs[pack].left_at is None]
        which = f"Name the pack: {' or '.join(names)}" if names else "Name the pack"
        raise BadInput(f"“{of_packs[0].word}” is said of a pack: which one?", WayOut(which, Action.GIVE_PACK))


def find_check(words: str, facts: Facts, build: Build) -> Check:
    """The check of this build a person means, by key or name. Raises NotKnown with the nearest."""
    here = list(car_checks(facts, build))
    wanted = _plain(words)
    for check in here:
        if wanted in (_plain(check.key), _plain(check.name)):
            return check
    begins = [check for check in here if _plain(check.key).startswith(wanted) and wanted]
    if len(begins) == 1:
        return begins[0]
    near = nearest_way_out(words, [check.key for check in here])
    raise NotKnown(
        f"There is no check “{words}” for this car.", near or WayOut("Look at the sheet", Action.SEE_SHEET)
    )


class _Answering:
    """Reads the answers to one check."""

    def __init__(
        self, facts: Facts, build: Build, check: Check, mode: str, pack: PackRecord | None = None
    ) -> None:
        self.facts = facts
        self.build = build
        self.check = check
        self.mode = mode
        self.here = mode_keys(facts, build)
        if pack is not None:
            its_own = frozenset(mode.key for mode in pack_modes(facts, pack.chemistry))
            of_car = frozenset(key for key in self.here if not carried_by_pack(facts.modes[key]))
            self.here = its_own if of_pack(facts, check) else its_own | of_car

    def as_meant(self, words: list[str]) -> list[str]:
        """The answers in the check’s words; one typed without quotes (“pin worn”) is put together."""
        words = [self._in_own_words(text) for text in words]
        together = self._in_own_words(" ".join(words))
        if not all(map(self._knows, words)) and self._knows(together):
            words = [together]
        found = [text for text in words if _word(text) not in (SOUND, TICKED)]
        if len(words) > 1 and any(_word(text) == TICKED for text in words):
            raise BadInput(
                "“ticked off” says that nobody looked, and something else was found.",
                "Give one or the other.",
            )
        if found and len(found) < len(words):
            raise BadInput(
                f"“OK” says that nothing was found, and “{found[0].strip()}” was said too.",
                "Leave “OK” out: what is not named counts as OK.",
            )
        return words

    def _in_own_words(self, text: str) -> str:
        """“ok”, “good”, an old answer word, or “loose front left” without its @, as this check has it."""
        body, colon, done = text.partition(":")
        word, at, where = body.partition("@")
        if self._knows(word) or not word.strip():
            return text
        if not at and (cut := spot_at_the_end(body, self.build))[0]:
            word, at, where = cut[0], " @ ", cut[1]
        word = called(self.facts, "answers").get(_plain(word), word)
        return f"{word}{at}{where}{colon}{done}" if self._knows(word) else text

    def _knows(self, text: str) -> bool:
        return _word(text) in (SOUND, TICKED, FAILED, *self._meanings())

    def answers(self, text: str) -> tuple[Answer, ...]:
        """What was found, once for each spot that was named; nothing for sound and for a tick."""
        body, _, done_text = text.partition(":")
        word, _, where = body.partition("@")
        word = _word(word)
        if word in (SOUND, TICKED):
            return _nothing(word, where.strip() or done_text.strip())
        # Nothing is fixed unless somebody said so.
        done = self._done(done_text) if done_text.strip() else Done.LEFT
        try:
            return (self._answer(word, where, done),)
        except BadInput:
            several = several_spots(where)
            if len(several) < 2:
                raise
            return tuple(dict.fromkeys(self._answer(word, spot, done) for spot in several))

    def _done(self, words: str) -> Done:
        return remedy_meant(words) or read_done(words, self.facts, where="done")

    def _answer(self, word: str, where: str, done: Done) -> Answer:
        mode_key = self._mode_of(word, where)
        if not mode_key:
            return Answer(word, None, spot=where.strip(), done=done)
        mode = self.facts.modes[mode_key]
        if carried_by_pack(mode):
            return Answer(word, mode.key, done=done)
        place, spot = which_place(mode, self.build.of_role(mode.role), where)
        return Answer(word, mode.key, place.key, read_spot(spot, place), done)

    def _mode_of(self, word: str, where: str) -> str:
        """The mode a word points at; where it may be several, the one that has the place that was named."""
        if self.mode.strip():
            return find_mode(self.mode, self.facts, self.build)[0].key
        meant = self._meanings()
        if word == FAILED:
            return self._only_mode()
        if word not in meant:
            known = [SOUND, *meant, FAILED, TICKED]
            near = nearest_way_out(word, known) or f"Write one of {', '.join(known)}."
            raise BadInput(f"“{word}” is no answer to “{self.check.name}”.", near)
        there = [mode for mode in meant[word] if mode and self._has_place(mode, where)]
        return (there or meant[word])[0]

    def _has_place(self, mode: str, where: str) -> bool:
        places = self.build.of_role(self.facts.modes[mode].role)
        names = {_plain(name) for place in places for name in (place.key, place.name)}
        return _plain(where) in names

    def _meanings(self) -> dict[str, list[str]]:
        """What each word of the check points at, of what this build can have; "" points at nothing."""
        meant: dict[str, list[str]] = {}
        for answer in self.check.answers:
            if not answer.mode or answer.mode in self.here:
                meant.setdefault(_plain(answer.word), []).append(answer.mode)
        return meant

    def _only_mode(self) -> str:
        covered = [cover.mode for cover in self.check.covers if cover.mode in self.here]
        if len(covered) == 1:
            return covered[0]
        listed = " or ".join(f"“{self.facts.modes[mode].name}”" for mode in covered)
        raise BadInput(
            f"“{self.check.name}” looks at more than one thing.",
            WayOut(f"Say which failed: {listed}.", Action.GIVE_MODE),
        )


def _nothing(word: str, also: str) -> tuple[Answer, ...]:
    """No answers. Raises BadInput when something was said of one spot, or done, all the same."""
    if also:
        raise BadInput(
            f"“{word}” is said of the whole check, and “{also}” was said too.",
            WayOut(
                f"Write {word} alone; what is not named counts as OK. A new part is logged by itself",
                Action.FIT_PART,
            ),
        )
    return ()


def _word(text: str) -> str:
    return _plain(text.partition("@")[0].partition(":")[0])


def _plain(text: str) -> str:
    return " ".join(text.strip().casefold().replace("_", " ").replace("-", " ").split())
