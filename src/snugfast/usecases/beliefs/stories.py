"""The stories of cars and packs as they stand: read, told further, kept.

A story is a projection. What was worked out last time is taken further by the entries that came since; when
one of them is late, corrects or withdraws, it is worked out anew from an earlier one or, when that is touched
too, from the whole journal, with the same outcome.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from contextlib import suppress
from dataclasses import dataclass
from typing import TYPE_CHECKING
from uuid import UUID

from snugfast.records.codec import kinds_mark
from snugfast.records.entries import Entry, subjects
from snugfast.records.ledger import Ledger
from snugfast.records.standing import standing
from snugfast.records.store.troubles import StoreTrouble
from snugfast.usecases.shared.ledger import EARLIER_BY, only_further, put_ledger
from snugfast.usecases.shared.lookup import family
from snugfast.usecases.shared.workshop import Workshop

if TYPE_CHECKING:
    from snugfast.facts.model import Facts
    from snugfast.records.store.reads import ProjectionRow, Reads
    from snugfast.records.store.store import Work
    from snugfast.usecases.beliefs.driver import Driver, Teaches
    from snugfast.usecases.beliefs.story import Story


MOST_READ = 48
# Stories that nothing followed, as they were read last; none of these is ever told further.
_asked_last: dict[UUID, tuple[Facts, tuple[str, bytes], Story]] = {}

BELIEFS, EARLIER_BELIEFS, TWINS = "beliefs", "earlier beliefs", "twins of builds"
TAUGHT = "taught of the driver"


@dataclass(frozen=True, slots=True)
class Stories:
    """The stories that were asked for, each with what all cars say of the driver."""

    of: Mapping[UUID, Story]
    told: tuple[Story, ...]  # these, and those of other cars that had to be told further, to remember
    driver: Driver | None


def stories_of(workshop: Workshop, reads: Reads, ledger: Ledger, members: Iterable[UUID]) -> Stories:
    """The stories of some cars and packs, told up to the last entry, with the driver of the workshop."""
    from snugfast.usecases.beliefs.driver import doubt_of, driver_from

    asked = {member: beliefs_about(workshop, reads, ledger, member) for member in members}
    doubt = doubt_of(workshop.facts, ledger)
    if doubt is None:
        return Stories(asked, tuple(asked.values()), None)
    known = {story.members: story for story in asked.values()}
    families = {min(cars): cars for cars in (family(ledger, car) for car in ledger.cars)}
    teaches, told = [], list(asked.values())
    for cars in families.values():
        story = known.get(cars)
        kept = None if story else _kept_teaching(workshop, reads, cars)
        if kept is None:
            story = story or beliefs_about(workshop, reads, ledger, min(cars))
            kept = story.teaches
            if cars not in known:
                told.append(story)
        teaches.append(kept)
    driver = driver_from(teaches, doubt, ledger)
    driven = {member: story.driven_by(driver) for member, story in asked.items()}
    return Stories(driven, tuple(told), driver)


def _kept_teaching(workshop: Workshop, reads: Reads, members: frozenset[UUID]) -> Teaches | None:
    """What a story taught when it was last told, where nothing has come since."""
    from snugfast.usecases.beliefs.driver import teaches_from

    kept = reads.projection(TAUGHT, min(members))
    if kept is None or kept.fingerprint != _fingerprint(workshop, members):
        return None
    if kept.position != reads.position() and _since(reads, kept.position, members):
        return None
    return teaches_from(kept.payload)


def beliefs_about(workshop: Workshop, reads: Reads, ledger: Ledger, member: UUID) -> Story:
    """The story of a car (with those it has swapped parts with) or of a pack, told up to the last entry."""
    members = family(ledger, member)
    kept = _kept(workshop, reads, BELIEFS, members)
    if kept is not None:
        since = _since(reads, kept.position, members)
        if not since:
            return _untouched(workshop, members, kept)
        story = _read(workshop, members, kept)
        if only_further(since, story.last_order):
            return _told(story, sorted(since, key=lambda entry: entry.order))
    return _told_anew(workshop, reads, members)


def remember(workshop: Workshop, position: int, stories: Iterable[Story]) -> None:
    """Keep the stories that were told further up to this position, so that the next question starts there.

    Nothing is lost without it: a projection dropped is worked out again. When somebody wrote meanwhile, or
    the workshop is open for reading only, nothing is saved.
    """
    from snugfast.usecases.beliefs.driver import teaches_bytes
    from snugfast.usecases.beliefs.story_form import story_bytes

    further = {min(story.members): story for story in stories if story.told_further}
    if workshop.read_only or not further:
        return
    # A full disk, or one that may only be read, still gives every answer: this is only saved work.
    with suppress(StoreTrouble), workshop.store.work() as work:
        if work.reads.position() != position:
            return
        put_ledger(work)
        for member, story in further.items():
            mark = _fingerprint(workshop, story.members)
            taught = teaches_bytes(story.teaches) if story.cars else b""
            for name, payload in (
                (BELIEFS, story_bytes(story)),
                (EARLIER_BELIEFS, story.earlier),
                (TAUGHT, taught),
            ):
                if payload:
                    work.projections.put(name, member, position=position, fingerprint=mark, payload=payload)
            if story.builds_met:
                _write_down_twins(work, member, story.builds_met)
        work.commit()


def _standing(entries: Iterable[Entry]) -> tuple[Entry, ...]:
    return standing(entries).entries


def _told_anew(workshop: Workshop, reads: Reads, members: frozenset[UUID]) -> Story:
    """The story from an earlier one, else from the beginning; one some entries back is set aside."""
    from snugfast.usecases.beliefs.story_form import story_bytes

    _recall_twins(reads, min(members))
    story, rest = _earlier_and_rest(workshop, reads, members)
    if len(rest) > 2 * EARLIER_BY:
        earlier = story_bytes(_told(story, rest[:-EARLIER_BY]))
        rest = rest[-EARLIER_BY:]
        story.earlier = earlier
    return _told(story, rest)


def _earlier_and_rest(
    workshop: Workshop, reads: Reads, members: frozenset[UUID]
) -> tuple[Story, tuple[Entry, ...]]:
    """An earlier story and what stands after it; an untold one and everything, when none holds.

    It holds when nothing that came since is, or touches, an entry that it was told from or passed over.
    """
    from snugfast.usecases.beliefs.story import (
        Story,  # brings NumPy with it, which logging a run does not need
    )

    kept = _kept(workshop, reads, EARLIER_BELIEFS, members)
    if kept is not None:
        story = _read(workshop, members, kept)
        last = story.last_order
        news = reads.related(_since(reads, kept.position, members))
        if last is not None and all(entry.order > last for entry in news):
            after = [entry for entry in reads.entries_from(last[0], members) if entry.order > last]
            stands = _standing(reads.related(after))
            return story, tuple(e for e in stands if e.order > last and subjects(e.fact) & members)
    stands = _standing(reads.entries_of(members))
    return Story(workshop.facts, workshop.build, members), tuple(
        e for e in stands if subjects(e.fact) & members
    )


def _kept(workshop: Workshop, reads: Reads, name: str, members: frozenset[UUID]) -> ProjectionRow | None:
    kept = reads.projection(name, min(members))
    return kept if kept is not None and kept.fingerprint == _fingerprint(workshop, members) else None


def _read(workshop: Workshop, members: frozenset[UUID], kept: ProjectionRow) -> Story:
    """The story that was kept, to be told further."""
    from snugfast.usecases.beliefs.story_form import story_from

    return story_from(kept.payload, workshop.facts, workshop.build, members)


def _untouched(workshop: Workshop, members: frozenset[UUID], kept: ProjectionRow) -> Story:
    """The story that was kept, where nothing followed it: read once, since asking leaves it as it is."""
    member, mark = min(members), (kept.fingerprint, kept.payload)
    before = _asked_last.get(member)
    if before is not None and before[0] is workshop.facts and before[1] == mark:
        return before[2]
    story = _read(workshop, members, kept)
    _asked_last[member] = (workshop.facts, mark, story)
    while len(_asked_last) > MOST_READ:
        _asked_last.pop(next(iter(_asked_last)), None)
    return story


def _since(reads: Reads, position: int, members: frozenset[UUID]) -> list[Entry]:
    rows = {row.entry.id: row.entry for member in members for row in reads.entries_after(position, member)}
    return list(rows.values())


def _told(story: Story, entries: Iterable[Entry]) -> Story:
    take: Callable[[Entry], None] = story.take
    for entry in entries:
        take(entry)
    return story


def _recall_twins(reads: Reads, member: UUID) -> None:
    """Take in what the twin said of this car's builds before, so that it need not be driven again."""
    from snugfast.usecases.twin.says import recall

    recall(_written_twins(reads, member))


def _write_down_twins(work: Work, member: UUID, builds: set[str]) -> None:
    from snugfast.usecases.twin.says import mark_of_twin, written_down

    written = written_down(builds, _written_twins(work.reads, member))
    position = work.reads.position()
    work.projections.put(TWINS, member, position=position, fingerprint=mark_of_twin(), payload=written)


def _written_twins(reads: Reads, member: UUID) -> bytes:
    from snugfast.usecases.twin.says import mark_of_twin

    kept = reads.projection(TWINS, member)
    return kept.payload if kept is not None and kept.fingerprint == mark_of_twin() else b"{}"


def _fingerprint(workshop: Workshop, members: frozenset[UUID]) -> str:
    from snugfast.usecases.beliefs.story_form import FORM
    from snugfast.usecases.twin.says import mark_of_twin

    swapped = "" if len(members) == 1 else f"/{len(members)}-{_mixed(members)}"
    return f"{FORM}/{kinds_mark()}/{workshop.facts_mark}/{mark_of_twin()}{swapped}"


def _mixed(members: frozenset[UUID]) -> str:
    """A short mark of who is in a family."""
    mixed = 0
    for member in members:
        mixed ^= member.int
    return f"{mixed:032x}"[:12]
