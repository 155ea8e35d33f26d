"""A round answered: what each line says, read from its form and turned into answers to checks.

Fields of line 7 begin with `7.`: `7.ok`, `7.found` (words of the check), `7.at` (places, corners),
`7.pack`, `7.did`, `7.minutes`, `7.spent`, `7.note`. The button that sends the round says what the other
lines are: `rest=ok` (looked at, nothing found) or `rest=skipped`. Found beats OK.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Self
from uuid import UUID

from starlette.datastructures import FormData

from snugfast.core.errors import BadInput
from snugfast.core.ids import derived
from snugfast.records.entries import Done
from snugfast.usecases.bench.sheet import Line, SheetCheck
from snugfast.usecases.journal.answer_form import AnswerForm, Group
from snugfast.usecases.journal.bench_answers import FAILED, SOUND, TICKED, FoundSaid

DID = (
    (Done.PUT_RIGHT.value, "Fixed"),
    (Done.RENEWED.value, "Replaced"),
    (Done.LEFT.value, "Not fixed yet"),
)
BROKEN = "broken|"  # before the key of a mode, in `found`


@dataclass(frozen=True, slots=True)
class LineSaid:
    """What was ticked and typed on one line."""

    ok: bool = False
    found: tuple[str, ...] = ()
    at: tuple[str, ...] = ()
    packs: tuple[str, ...] = ()
    did: str = ""
    minutes: str = ""
    spent: str = ""
    note: str = ""

    @classmethod
    def of(cls, form: FormData, number: int) -> Self:
        def several(name: str) -> tuple[str, ...]:
            return tuple(str(value) for value in form.getlist(f"{number}.{name}") if str(value).strip())

        def one(name: str) -> str:
            return str(form.get(f"{number}.{name}", "")).strip()

        return cls(
            ok=bool(one("ok")),
            found=several("found"),
            at=several("at"),
            packs=several("pack"),
            did=one("did"),
            minutes=one("minutes"),
            spent=one("spent"),
            note=one("note"),
        )


class LineUnclear(BadInput):
    """A line whose answer lacks something: which line it is, and what is asked back."""

    def __init__(self, line: Line, sentence: str, way_out: str) -> None:
        super().__init__(f"{line.title}: {sentence}", way_out)
        self.number = line.number


def answers_of_line(
    line: Line, said: LineSaid, offered: AnswerForm, *, rest: str, form_id: UUID
) -> Iterable[FoundSaid]:
    """The answers to the checks of a line. Raises LineUnclear where a finding lacks its place or remedy."""
    found_on = _packs_found(line, said)
    for check in line.checks:
        id = derived(form_id, check.key)
        if said.found and check.pack_name in found_on:
            yield _found(line, check, said, offered, id)
        elif said.ok or said.found or rest == "ok":
            yield _said(check, (SOUND,), said if said.ok else LineSaid(), id)
        elif rest == "skipped":
            yield _said(check, (TICKED,), LineSaid(), id)


def _packs_found(line: Line, said: LineSaid) -> tuple[str, ...]:
    """On which packs it was found; "" is a check of the car."""
    names = tuple(check.pack_name for check in line.checks)
    if not said.found or len(names) == 1:
        return names
    if not said.packs:
        raise LineUnclear(line, "which pack?", "Touch the pack it was found on.")
    return said.packs


def _found(line: Line, check: SheetCheck, said: LineSaid, offered: AnswerForm, id: UUID) -> FoundSaid:
    if not said.did:
        raise LineUnclear(line, "what did you do about it?", "Fixed, replaced, or not fixed yet.")
    groups = {group.name: group for group in offered.found}
    broken = {group.options[0].mode: group for group in offered.failed if group.options}
    words, modes = [], set()
    for word in said.found:
        mode = word.removeprefix(BROKEN) if word.startswith(BROKEN) else ""
        group = broken.get(mode) if mode else groups.get(word)
        if group is None:
            raise LineUnclear(line, f"“{word}” is no answer to it.", "Choose one of those shown.")
        modes.add(mode)
        words += [f"{answer}: {said.did}" for answer in _with_place(line, group, said.at)]
    if len(modes) > 1:
        raise LineUnclear(line, "what is broken is an answer of its own.", "Choose it alone.")
    return _said(check, tuple(words), said, id, mode=next(iter(modes)))


def _with_place(line: Line, group: Group, at: Sequence[str]) -> list[str]:
    """The answer at each place that was touched and that it can be at."""
    if len(group.options) == 1:
        return [group.options[0].said]
    chosen = [option.said for option in group.options if option.said.partition(" @ ")[2] in at]
    if not chosen:
        raise LineUnclear(line, f"where is it {group.name}?", "Touch the place.")
    return chosen


def _said(check: SheetCheck, words: tuple[str, ...], said: LineSaid, id: UUID, mode: str = "") -> FoundSaid:
    return FoundSaid(
        car=check.car_name,
        check=check.check,
        words=words,
        mode=mode if words[0].startswith(FAILED) else "",
        pack=check.pack_name,
        minutes=said.minutes,
        spent=said.spent,
        noticed=said.note,
        id=id,
    )
