"""Looking the whole workshop through: store, tables, space, clock. Every line has a way out."""

from __future__ import annotations

import os
import shutil
import sqlite3
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from datetime import timedelta
from enum import Enum
from pathlib import Path

from snugfast.core.errors import SnugfastError
from snugfast.core.ways_out import Action, WayOut
from snugfast.records.entries import Unreadable
from snugfast.records.ledger import fold
from snugfast.records.standing import standing
from snugfast.records.store.backup import verify
from snugfast.records.store.schema import REVISIONS
from snugfast.usecases.safekeeping.backups import backup_folder, newest_until, taken_in
from snugfast.usecases.safekeeping.hand_over import contradictions_in
from snugfast.usecases.shared.ledger import ledger_worked_out
from snugfast.usecases.shared.telling import mark_of
from snugfast.usecases.shared.workshop import Workshop

LEAST_FREE_BYTES = 200 * 1024 * 1024
LEAST_FREE_TIMES = 5  # times the size of the store: room for a backup, an upgrade and their copies
OLD_BACKUP = timedelta(days=8)
CLOCK_SLACK = timedelta(minutes=5)
NETWORK_KINDS = frozenset(("nfs", "nfs4", "cifs", "smb3", "smbfs", "9p", "afs", "davfs", "fuse.sshfs"))


class State(Enum):
    """How one line came out."""

    SOUND = "sound"
    LOOK = "look at this"
    TROUBLE = "trouble"


@dataclass(frozen=True, slots=True)
class Line:
    """One thing looked at: what, how it is, what was seen, and what to do."""

    what: str
    state: State
    seen: str
    way_out: str = ""


@dataclass(frozen=True, slots=True)
class CompiledTwin:
    """Where the compiled twin is kept, and how long a first question took; None: it is not compiled."""

    kept_in: Path
    first_question_s: float | None
    compiled_now: bool = False


def self_check(workshop: Workshop, look_at_twin: Callable[[], CompiledTwin]) -> tuple[Line, ...]:
    """Every line, whatever the ones before it found. How the compiled twin is looked at is handed in."""

    def twin(_: Workshop) -> Iterator[Line]:
        return _twin(look_at_twin())

    looks: tuple[Callable[[Workshop], Iterable[Line]], ...] = (
        _file,
        _versions,
        _journal,
        _projections,
        _clock,
        _space,
        _place,
        _backups,
        _tables,
        twin,
    )
    return tuple(line for look in looks for line in _guarded(look, workshop))


def _guarded(look: Callable[[Workshop], Iterable[Line]], workshop: Workshop) -> list[Line]:
    """A look that fails, for whatever reason, is itself a line; the others still run."""
    what = look.__name__.strip("_")
    lines: list[Line] = []
    try:
        lines += look(workshop)
    except SnugfastError as refused:
        lines.append(Line(what, State.TROUBLE, refused.sentence, refused.way_out))
    except Exception as error:
        reason = f"{type(error).__name__}: {error}"[:200]
        lines.append(
            Line(
                what,
                State.TROUBLE,
                f"This could not be looked at: {reason}.",
                "Restore a backup, or report it.",
            )
        )
    return lines


def _twin(seen: CompiledTwin) -> Iterator[Line]:
    if seen.first_question_s is None:
        yield Line(
            "twin",
            State.LOOK,
            f"Not compiled yet in {seen.kept_in}: the first question to it waits some seconds for that.",
            WayOut("It can be compiled ahead", Action.COMPILE_AHEAD),
        )
    else:
        how = "It was compiled just now" if seen.compiled_now else "It is compiled and loads"
        took = f"a first question took {seen.first_question_s:.1f} s"
        yield Line("twin", State.SOUND, f"{how}: {took}. It is kept in {seen.kept_in}.")


def _file(workshop: Workshop) -> Iterator[Line]:
    file = workshop.store.address.file
    if file is None:
        yield Line("store", State.SOUND, f"A database server keeps it: {workshop.store.address.words}.")
        return
    findings = verify(file)
    if findings:
        yield Line(
            "store", State.TROUBLE, findings[0].sentence, WayOut("Put a backup in its place", Action.RESTORE)
        )
    else:
        size = file.stat().st_size / 1024
        yield Line("store", State.SOUND, f"Pages and keys of {file} hang together ({size:.0f} KiB).")


def _versions(workshop: Workshop) -> Iterator[Line]:
    yield Line("schema", State.SOUND, f"Revision {REVISIONS[-1]}, the one this program writes.")
    seen = f"SQLite {sqlite3.sqlite_version}, rollback journal, written through to the disk."
    if sqlite3.sqlite_version_info < (3, 51, 3):
        seen += " This version has a fault in its write-ahead journal; Snugfast does not use that journal."
    yield Line("SQLite", State.SOUND, seen)


def _journal(workshop: Workshop) -> Iterator[Line]:
    with workshop.store.reading() as reads:
        journal = [row.entry for row in reads.entries_after(0)]
    unread = [entry for entry in standing(journal).entries if isinstance(entry.fact, Unreadable)]
    for entry in unread:
        assert isinstance(entry.fact, Unreadable)
        way_out = "Update Snugfast." if entry.fact.newer else "Withdraw it, and log it anew."
        yield Line(
            "journal", State.TROUBLE, f"Entry {mark_of(entry.id)} does not read: {entry.fact.why}", way_out
        )
    contradictions = contradictions_in(workshop, journal)
    if not contradictions:
        yield Line("journal", State.SOUND, f"{len(journal)} entries, none contradicts another.")
    for one in contradictions:
        yield Line("journal", State.LOOK, one.sentence, one.way_out)


def _projections(workshop: Workshop) -> Iterator[Line]:
    with workshop.store.reading() as reads:
        kept = ledger_worked_out(reads)
        anew = fold(standing(row.entry for row in reads.entries_after(0)).entries)
    if kept == anew:
        yield Line("what is worked out", State.SOUND, "Worked out anew it comes out equal.")
    else:
        yield Line(
            "what is worked out",
            State.TROUBLE,
            "What was worked out differs from what the journal says.",
            WayOut("Work it out anew; the journal itself is untouched", Action.REBUILD),
        )


def _clock(workshop: Workshop) -> Iterator[Line]:
    """The clock beside the journal: the newest arrival, and whatever was recorded in days to come."""
    with workshop.store.reading() as reads:
        rows = reads.entries_after(0)
    now = workshop.now()
    ahead = [row.entry for row in rows if row.entry.recorded_at > now + CLOCK_SLACK]
    if not ahead:
        yield Line("clock", State.SOUND, f"{now:%Y-%m-%d %H:%M} UTC, not behind the journal.")
        return
    latest = max(entry.recorded_at for entry in ahead)
    count = f"{len(ahead)} {'entry is' if len(ahead) == 1 else 'entries are'}"
    if rows[-1].entry in ahead:
        yield Line(
            "clock",
            State.TROUBLE,
            f"The newest entry is from {latest:%Y-%m-%d %H:%M} UTC; it is {now:%Y-%m-%d %H:%M} here.",
            "Set this machine's clock. Nothing is lost: entries are ordered by when they happened.",
        )
    else:
        yield Line(
            "clock",
            State.LOOK,
            f"{count} recorded in days to come, up to {latest:%Y-%m-%d %H:%M} UTC: a clock was wrong once.",
            "Correct or withdraw what also happened then; nothing is lost and nothing waits for that day.",
        )


def _space(workshop: Workshop) -> Iterator[Line]:
    file = workshop.store.address.file
    if file is None:
        return
    free = shutil.disk_usage(file.parent).free
    wanted = max(LEAST_FREE_BYTES, LEAST_FREE_TIMES * file.stat().st_size)
    seen = f"{free / 1024**2:.0f} MiB free beside the store."
    if free < wanted:
        yield Line(
            "space", State.LOOK, seen, f"Make room: {wanted / 1024**2:.0f} MiB are wanted for backups."
        )
    else:
        yield Line("space", State.SOUND, seen)


def _place(workshop: Workshop) -> Iterator[Line]:
    file = workshop.store.address.file
    if file is None:
        return
    kind = kind_of_disk(file)
    if kind in NETWORK_KINDS:
        yield Line(
            "place",
            State.LOOK,
            f"The store lies on a network share ({kind}), where locks are not always kept.",
            "Keep it on this machine's own disk, and use hand-over and take-in between machines.",
        )
    elif not os.access(file, os.W_OK) or not os.access(file.parent, os.W_OK):
        yield Line("place", State.LOOK, "The store may only be read.", "Give yourself the right to write.")
    else:
        yield Line(
            "place",
            State.SOUND,
            "On a disk of this machine. A folder that a program keeps in step with other machines is no "
            "place for it either: that program copies half-written files.",
        )


def kind_of_disk(file: Path, mounts: Path = Path("/proc/mounts")) -> str:
    """The kind of file system a file lies on, where the system says; an empty text where it does not."""
    if not mounts.is_file():
        return ""
    best, kind = -1, ""
    where = file.resolve()
    for line in mounts.read_text("utf-8", "replace").splitlines():
        fields = line.split(" ")
        if len(fields) < 3:
            continue
        mounted = Path(fields[1].replace("\\040", " "))
        if (where == mounted or mounted in where.parents) and len(mounted.parts) > best:
            best, kind = len(mounted.parts), fields[2]
    return kind


def _backups(workshop: Workshop) -> Iterator[Line]:
    if workshop.store.address.file is None:
        yield Line("backups", State.LOOK, "A database server is backed up by its own means.", "Use pg_dump.")
        return
    now = workshop.now()
    taken = taken_in(backup_folder(workshop))
    newest = newest_until(taken, now)
    for path, at in sorted(taken.items()):
        if newest is None or at > max(now, newest):
            yield Line(
                "backups",
                State.LOOK,
                f"{path.name} is dated {at:%Y-%m-%d}, which has not come: the clock was wrong then.",
                "It stays until then and stops no other backup; look into it, and delete it if you like.",
            )
    if newest is None:
        yield Line("backups", State.LOOK, "There is none yet.", WayOut("Take one", Action.BACK_UP))
    elif now - newest > OLD_BACKUP:
        yield Line(
            "backups",
            State.LOOK,
            f"The newest is from {newest:%Y-%m-%d}.",
            WayOut("Take one", Action.BACK_UP),
        )
    else:
        yield Line("backups", State.SOUND, f"The newest is from {newest:%Y-%m-%d %H:%M} UTC.")


def _tables(workshop: Workshop) -> Iterator[Line]:
    facts = workshop.facts
    yield Line(
        "tables",
        State.SOUND,
        f"{len(facts.modes)} modes, {len(facts.checks)} checks, {len(facts.starters)} starter builds, "
        f"all read and checked.",
    )
