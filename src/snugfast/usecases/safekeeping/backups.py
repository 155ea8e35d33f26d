"""Backups by a keep rule: every one of the last days, then one a week, then one a month."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime, timedelta
from pathlib import Path

from snugfast.core.errors import RefusedAction
from snugfast.records.store.backup import Backup
from snugfast.records.store.troubles import told_in_words
from snugfast.usecases.shared.workshop import Workshop

FOLDER = "backups"
PATTERN = "%Y-%m-%dT%H%M%SZ"
SUFFIX = ".sqlite"
DAILY, WEEKLY, MONTHLY = 7, 5, 12
CLOCK_SLACK = timedelta(hours=1)


@dataclass(frozen=True, slots=True)
class BackedUp:
    """A backup taken and verified, and those the keep rule let go."""

    backup: Backup
    let_go: tuple[Path, ...]


def back_up_now(workshop: Workshop, folder: Path | None = None) -> BackedUp:
    """Take a backup into a folder (beside the store when none is named) and let old ones go.

    Raises RefusedAction for a store that is no file.
    """
    there = folder or backup_folder(workshop)
    now = workshop.now()
    with told_in_words(str(there)):
        there.mkdir(parents=True, exist_ok=True)
        backup = workshop.store.back_up(_free(there, now))
        let_go = superfluous(taken_in(there), now, just_taken=backup.path)
        for path in let_go:
            path.unlink()
    return BackedUp(backup, let_go)


def back_up_if_due(workshop: Workshop) -> BackedUp | None:
    """Take the day's backup, when the store is a file and none was taken for a day."""
    if workshop.store.address.file is None or workshop.read_only:
        return None
    now = workshop.now()
    newest = newest_until(taken_in(backup_folder(workshop)), now)
    if newest is not None and now - newest < timedelta(days=1):
        return None
    return back_up_now(workshop)


def newest_until(taken: dict[Path, datetime], now: datetime) -> datetime | None:
    """When the newest was taken, those dated into the days to come (by a clock that was wrong once) aside."""
    return max((at for at in taken.values() if at <= now + CLOCK_SLACK), default=None)


def backup_folder(workshop: Workshop) -> Path:
    """Where backups go when nobody says. Raises RefusedAction for a store that is no file."""
    file = workshop.store.address.file
    if file is None:
        raise RefusedAction(
            "Snugfast backs up stores in a file.", "For a database server use pg_dump and pg_restore."
        )
    return file.parent / FOLDER


def taken_in(folder: Path) -> dict[Path, datetime]:
    """The backups in a folder, by when they were taken; other files are none of our business."""
    if not folder.is_dir():
        return {}
    found = {}
    for path in folder.glob(f"*{SUFFIX}"):
        try:
            taken = datetime.strptime(f"{path.name.split('.')[0]}+0000", f"{PATTERN}%z")
        except ValueError:
            continue
        found[path] = taken
    return found


def superfluous(
    taken: dict[Path, datetime], now: datetime, *, just_taken: Path | None = None
) -> tuple[Path, ...]:
    """What the keep rule lets go: of the newest of each day, week and month the latest 7, 5 and 12 stay.

    The newest backup of all always stays, and so does the one just taken. One that a clock ahead of itself
    dated into the days to come counts for no day, week or month, and stays until that day has passed.
    """
    ahead = {path for path, at in taken.items() if at > now + CLOCK_SLACK}
    newest_first = sorted(taken.keys() - ahead, key=lambda path: (taken[path], _number(path)), reverse=True)
    kept = {*newest_first[:1], *({just_taken} if just_taken else ())}
    for form, count in (("%Y-%m-%d", DAILY), ("%G-%V", WEEKLY), ("%Y-%m", MONTHLY)):
        kept |= set(_newest_of_each(newest_first, taken, form, count))
    return tuple(path for path in newest_first if path not in kept)


def _number(path: Path) -> int:
    """Which it was of those taken in one second."""
    number = path.name.split(".")[1]
    return int(number) if number.isdecimal() else 0


def _newest_of_each(
    newest_first: Iterable[Path], taken: dict[Path, datetime], form: str, count: int
) -> list[Path]:
    spans: dict[str, Path] = {}
    for path in newest_first:
        spans.setdefault(taken[path].strftime(form), path)
    return list(spans.values())[:count]


def _free(folder: Path, now: datetime) -> Path:
    """A name that sorts after every other of this second, those let go meanwhile aside."""
    stem = now.strftime(PATTERN)
    taken = [_number(path) for path in folder.glob(f"{stem}*{SUFFIX}")]
    number = max(taken) + 1 if taken else 0
    return folder / f"{stem}{f'.{number}' if number else ''}{SUFFIX}"
