"""One field of one line changed: refused by its line, or taken in and harmless to every command.

Authority: laws of this project. Changes are drawn from the printed seed.
"""

from __future__ import annotations

import random
import shutil
from dataclasses import replace
from pathlib import Path

import pytest

from snugfast.app.opening import utc_now
from snugfast.core.errors import BadInput
from snugfast.facts.load import load_facts
from snugfast.records.codec import entry_from_document, entry_to_document
from snugfast.records.store.engines import file_url
from snugfast.records.store.journal import AnotherUnderThatId
from snugfast.records.store.store import Store
from snugfast.usecases.safekeeping.hand_over import take_in
from snugfast.usecases.shared.workshop import Workshop
from tests.fuzz.fields import with_one_changed
from tests.fuzz.season import small_season
from tests.fuzz.seeds import seed_of
from tests.fuzz.typing import type_words

CHANGES = 8
PLAYED = 1  # of those that are taken in, in the daily lanes
COMMANDS = (
    ("car", "list"),
    ("packs", "today"),
    ("journal", "--last", "100"),
    ("treat",),
    ("kit",),
    ("settings",),
    ("undo", "--yes"),
    ("backup",),
    ("self-check",),
    ("sheet",),
)
QUICK = COMMANDS[:-2]
SOAK_CHANGES = 5000


def taken_in(folder: Path, seed: int) -> tuple[Path, str] | None:
    """A workshop with one field changed, and what was changed; None when it was refused in words."""
    rng = random.Random(seed)
    season = small_season()
    number = rng.randrange(len(season.entries))
    document, what = with_one_changed(entry_to_document(season.entries[number]), rng)
    entries = list(season.entries)
    file = folder / "changed.sqlite"
    file.unlink(missing_ok=True)
    with Store.create(file_url(file), clock=utc_now) as store:
        workshop = Workshop(store, load_facts(), utc_now, season.people[0].id)
        try:
            entries[number] = entry_from_document(document)
            if entries[number] == season.entries[number]:
                return None
            take_in(workshop, replace(season, entries=tuple(entries)))
        except (BadInput, AnotherUnderThatId):
            return None
    return file, f"{type(entries[number].fact).__name__}: {what}"


def played(file: Path, what: str, seed: int, commands: tuple[tuple[str, ...], ...] = COMMANDS) -> None:
    for words in commands:
        answer = type_words(file, *words)
        assert answer.is_clean, (seed, what, answer)
    shutil.rmtree(file.parent / "backups", ignore_errors=True)


def test_changed_fields_that_were_drawn(tmp_path: Path) -> None:
    left = PLAYED
    for number in range(CHANGES):
        seed = seed_of("fields", number)
        found = taken_in(tmp_path, seed)
        if found is not None and left:
            left -= 1
            played(*found, seed, QUICK)


@pytest.mark.soak
def test_many_changed_fields(tmp_path: Path) -> None:
    for number in range(SOAK_CHANGES):
        seed = seed_of("fields", number, fresh=True)
        found = taken_in(tmp_path, seed)
        if found is not None:
            played(*found, seed)
