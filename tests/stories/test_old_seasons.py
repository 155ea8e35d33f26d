"""Seasons that older programs wrote still open, and every line of their journals can be told.

Authority: the files in `tests/old_stores/seasons`, each written by the program of its time.
"""

from __future__ import annotations

import lzma
from pathlib import Path

import pytest

from snugfast.app.opening import open_workshop
from snugfast.exchange.archive import read_archive
from snugfast.usecases.journal.marks import journal_lines
from snugfast.usecases.safekeeping.hand_over import hand_over
from snugfast.usecases.shared.ledger import ledger_now

SEASONS = Path(__file__).resolve().parent.parent / "old_stores" / "seasons"
STORES = sorted(path.name for path in SEASONS.glob("*.db.xz"))
ENTRIES = {"2026-11-28.one-season.db.xz": 979, "2026-11-28.five-cars.db.xz": 17}
CARS = {"2026-11-28.one-season.db.xz": 4, "2026-11-28.five-cars.db.xz": 5}


def unpacked(name: str, folder: Path) -> Path:
    """A copy of a season, ready to be opened."""
    file = folder / "season.sqlite"
    file.write_bytes(lzma.decompress((SEASONS / name).read_bytes()))
    return file


@pytest.mark.parametrize("name", STORES)
def test_an_old_season_opens_with_every_entry_and_tells_each(name: str, tmp_path: Path) -> None:
    workshop = open_workshop(str(unpacked(name, tmp_path)))
    with workshop.store:
        lines = journal_lines(workshop, limit=5000)
        with workshop.store.reading() as reads:
            ledger = ledger_now(reads)
        assert len(lines) == ENTRIES[name]
        assert len([car for car in ledger.cars.values() if car.left_at is None]) == CARS[name]
        for car in ledger.cars.values():
            assert workshop.build(car.build).places


def test_an_old_archive_reads_as_the_store_it_came_from(tmp_path: Path) -> None:
    archive = read_archive(SEASONS / "2026-11-28.one-season.zip")
    workshop = open_workshop(str(unpacked("2026-11-28.one-season.db.xz", tmp_path)))
    with workshop.store:
        there = hand_over(workshop).entries
    assert archive.entries == there[: len(archive.entries)]
