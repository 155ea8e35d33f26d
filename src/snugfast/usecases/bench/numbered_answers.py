"""Answers by number, many at once, in plain words: “18 loose front left, 23 cracked fixed, rest ok”.

Everything that cannot be read is told at once and nothing is saved; the numbers are those of the sheet that
was shown last.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

from snugfast.core.errors import BadInput, NotKnown, SnugfastError, WrongData
from snugfast.core.findings import Finding
from snugfast.core.ways_out import Action, WayOut
from snugfast.facts.model import Build, Check
from snugfast.records.entries import Done, Entry
from snugfast.records.ledger import Ledger
from snugfast.usecases.bench.shown import ShownCheck, ShownLine, ShownSheet, still_open, with_skipped
from snugfast.usecases.journal.bench_answers import FAILED, SOUND, TICKED, FoundSaid, draft_found
from snugfast.usecases.journal.cars import draft_fitted
from snugfast.usecases.shared.draft import Draft
from snugfast.usecases.shared.ledger import ledger_now
from snugfast.usecases.shared.remedies import remedy_meant, split_remedy
from snugfast.usecases.shared.typed_words import nearest_way_out
from snugfast.usecases.shared.workshop import Workshop

OK_WORDS = frozenset(("ok", "good", "fine", "sound", "all ok", "all good", "okay"))
SKIP_WORDS = frozenset(("skip", "skipped", "later", "not looked"))
TICK_WORDS = frozenset(("ticked", "ticked off", "not checked", "ticked off, not checked"))
MOST_DIGITS = 3  # of a number on a sheet
_ITEM = re.compile(r"(?:rest|all)\b|\d+(?:\s*[-–]\s*\d+)?(?:\s+\d+(?:\s*[-–]\s*\d+)?)*")


@dataclass(frozen=True, slots=True)
class NumberedDraft:
    """Entries ready to be kept, told in few words, and the sheet with what was skipped."""

    draft: Draft
    shown: ShownSheet


@dataclass(frozen=True, slots=True)
class _Item:
    numbers: tuple[int, ...]  # none means the rest
    words: str
    typed: str


def answers_by_number(workshop: Workshop, shown: ShownSheet, text: str) -> NumberedDraft:
    """The entries of these answers. Raises WrongData with all that cannot be read, BadInput for none."""
    items = _items(text)
    if not items:
        raise BadInput(
            "Nothing was answered.", "Write a number and what you found: 18 loose front left, rest ok"
        )
    return _Reading(workshop, shown).draft(items)


def _items(text: str) -> list[_Item]:
    """The answers one by one: a new one begins at a number, or at “rest”, after a comma or a new line."""
    parts: list[str] = []
    for part in re.split(r"[,;\n]", text):
        part = part.strip().strip("“”\"'").strip()
        if not part:
            continue
        if _ITEM.match(part.casefold()) or not parts:
            parts.append(part)
        else:  # “front left, rear left”: still the same answer
            parts[-1] = f"{parts[-1]}, {part}"
    items = []
    for part in parts:
        head = _ITEM.match(part.casefold())
        numbers = _numbers(head[0]) if head and head[0] not in ("rest", "all") else ()
        words = part[head.end() :].strip(" :-–“”\"'") if head else part
        items.append(_Item(numbers, words, part))
    return items


def _numbers(text: str) -> tuple[int, ...]:
    """“3”, “3 4 7” and “3-7”; “7-3” is the same, and never none: none would mean the rest."""
    found: list[int] = []
    for first, last in re.findall(r"(\d+)(?:\s*[-–]\s*(\d+))?", text):
        if max(len(first), len(last)) > MOST_DIGITS:
            raise BadInput(f"No sheet has a line {text[:20]}.", "Write a number that stands on the sheet.")
        low, high = sorted((int(first), int(last or first)))
        found += range(low, high + 1)
    return tuple(found)


class _Reading:
    """One text being read against one sheet."""

    def __init__(self, workshop: Workshop, shown: ShownSheet) -> None:
        self.workshop = workshop
        self.shown = shown
        with workshop.store.reading() as reads:
            self.ledger: Ledger = ledger_now(reads)
        self.open = {line.number: (line, left) for line, left in still_open(shown, self.ledger)}
        self.entries: list[Entry] = []
        self.echo: list[str] = []
        self.fine: list[int] = []
        self.skipped: list[int] = []
        self.jobs_done: list[int] = []
        self.said: set[tuple[int, ShownCheck]] = set()
        self.findings: list[Finding] = []

    def draft(self, items: Sequence[_Item]) -> NumberedDraft:
        for item in sorted(items, key=lambda item: not item.numbers):
            if not item.numbers and not _ITEM.match(item.typed.casefold()):
                self._wrong(
                    item, f"“{item.typed}” begins with no number.", "Write 18 loose front left, or rest ok."
                )
                continue
            for number in item.numbers or self._rest():
                try:
                    self._answer(number, item)
                except SnugfastError as wrong:
                    self._wrong(item, wrong.sentence, wrong.way_out)
        if self.findings:
            raise WrongData("The answers", self.findings)
        if self.fine:
            self.echo.append(f"OK: {_ranges(self.fine)} ({_counted(len(self.fine))} looked at).")
        if self.skipped:
            self.echo.append(f"Skipped: {_ranges(self.skipped)}.")
        shown = with_skipped(self.shown, self.skipped)
        shown = replace(shown, answered=shown.answered | frozenset(self.jobs_done))
        return NumberedDraft(Draft(tuple(self.entries), tuple(self.echo)), shown)

    def _wrong(self, item: _Item, problem: str, way_out: str) -> None:
        self.findings.append(Finding(item.typed, problem.rstrip("."), way_out))

    def _rest(self) -> tuple[int, ...]:
        """What is open and was not named: looks only, a job is never done by saying nothing of it."""
        return tuple(
            number
            for number, (line, left) in self.open.items()
            if line.defect is None and any((number, one) not in self.said for one in left)
        )

    def _answer(self, number: int, item: _Item) -> None:
        line = self.shown.line(number)
        words = " ".join(item.words.split())
        if not words:
            raise BadInput(f"{number} has no answer.", f"Write {number} ok, or what you found.")
        if words.casefold() in SKIP_WORDS:
            self.skipped.append(number)
            self.said |= {(number, one) for one in line.checks}
        elif line.defect is not None:
            self._job(line, words)
        elif words.casefold() in OK_WORDS:
            self._fine(line, rest=not item.numbers)
        else:
            self._found(line, words)

    def _fine(self, line: ShownLine, *, rest: bool) -> None:
        wanted = self.open.get(line.number, (line, line.checks))[1] if rest else line.checks
        for one in wanted:
            if (line.number, one) not in self.said:
                self._keep(line, one, SOUND)
        self.fine.append(line.number)

    def _found(self, line: ShownLine, words: str) -> None:
        one, words = self._pack_meant(line, words)
        if words.casefold() in TICK_WORDS:
            said = TICKED
        else:
            car = self.ledger.cars[line.car]
            said = as_typed(self.workshop.facts.checks[one.check], words, self.workshop.build(car.build))
        for told in self._keep(line, one, said):
            self.echo.append(f"{line.number} {told}")

    def _pack_meant(self, line: ShownLine, words: str) -> tuple[ShownCheck, str]:
        """Of several packs on one line the one that is named, and the words without its name."""
        names = {one: self.ledger.packs[one.pack].name for one in line.checks if one.pack}
        for one, name in names.items():
            at = words.casefold().find(name.casefold())
            if at >= 0:
                rest = f"{words[:at]} {words[at + len(name) :]}".strip(" ,:@")
                return one, re.sub(r"\s*\bpack$", "", rest)
        if len(line.checks) > 1:
            listed = ", ".join(names.values())
            raise BadInput(
                f"{line.number} is about {listed}: which pack?", f"Write {line.number} {words} {listed}"
            )
        return line.checks[0], words

    def _keep(self, line: ShownLine, one: ShownCheck, said: str) -> tuple[str, ...]:
        car = self.ledger.cars[line.car].name
        pack = self.ledger.packs[one.pack].name if one.pack else ""
        draft = draft_found(self.workshop, FoundSaid(car, one.check, (said,), pack=pack))
        self.entries += draft.entries
        self.said.add((line.number, one))
        return draft.echo

    def _job(self, line: ShownLine, words: str) -> None:
        assert line.defect is not None
        done = remedy_meant(words) or (Done.PUT_RIGHT if words.casefold() in (*OK_WORDS, "done") else None)
        if done is None:
            raise BadInput(
                f"{line.number} is a job: “{words}” does not say whether it is fixed.",
                f"Write {line.number} fixed, {line.number} replaced or {line.number} not fixed yet.",
            )
        self.jobs_done.append(line.number)
        if done is Done.LEFT:
            self.echo.append(f"{line.number} {line.title}: not fixed yet.")
            return
        mode, place, spot = line.defect
        car = self.ledger.cars[line.car]
        if line.root and place:
            drafted = draft_fitted(self.workshop, car.name, place)
        elif line.checks:
            check = self.workshop.facts.checks[line.checks[0].check]
            role = self.workshop.facts.modes[mode].role
            word = next((answer.word for answer in check.answers if answer.mode == mode), FAILED)
            at = _where(self.workshop.build(car.build), role, place, spot)
            said = f"{word} @ {at}: {done.value}" if at else f"{word}: {done.value}"
            drafted = draft_found(self.workshop, FoundSaid(car.name, check.key, (said,), mode=mode))
        else:
            raise NotKnown(
                f"No check of this car looks for {line.number}.", WayOut("Log the new part", Action.FIT_PART)
            )
        self.entries += drafted.entries
        self.echo += [f"{line.number} {told}" for told in drafted.echo]


def as_typed(check: Check, words: str, build: Build) -> str:
    """Plain words as an answer the check knows: “loose front left fixed” → “loose @ front left: put right”.

    Raises BadInput with the nearest words. Without a remedy it counts as not fixed yet.
    """
    body, done = split_remedy(words)
    body = body.replace("@", " ")
    plain = " ".join(body.casefold().replace("-", " ").split())
    known = list(dict.fromkeys((*(answer.word for answer in check.answers), FAILED)))
    begins = [word for word in known if plain == word.casefold() or plain.startswith(f"{word.casefold()} ")]
    if begins:
        word = max(begins, key=len)
        where = plain[len(word) :].strip(" ,:")
    else:
        ends = [word for word in known if plain.endswith(f" {word.casefold()}")]
        if not ends:
            near = nearest_way_out(plain, known)
            raise BadInput(
                f"“{words}” is no answer to “{check.name}”.",
                near or f"Write one of {', '.join(('ok', *known, 'skipped'))}.",
            )
        word = max(ends, key=len)
        where = plain[: -len(word)].strip(" ,:")
    where = re.sub(r"^(?:at|on|the)\s+(?:the\s+)?", "", where)
    at = f" @ {where}" if where else ""
    return f"{word}{at}: {(done or Done.LEFT).value}"


def _where(build: Build, role: str, place: str, spot: str) -> str:
    """What to write after “@”: the place is named only where the car has several that play the role."""
    found = build.place(place) if place else None
    if found is None or len(build.of_role(role)) < 2:
        return spot
    return f"{found.name.partition(' ')[0]} {spot}".strip() if spot else found.name


def _ranges(numbers: Iterable[int]) -> str:
    """“1, 2, 5–17”."""
    told: list[list[int]] = []
    for number in sorted(set(numbers)):
        if told and told[-1][-1] == number - 1:
            told[-1].append(number)
        else:
            told.append([number])
    return ", ".join(f"{run[0]}–{run[-1]}" if len(run) > 2 else ", ".join(map(str, run)) for run in told)


def _counted(number: int) -> str:
    return "1 line" if number == 1 else f"{number} lines"
