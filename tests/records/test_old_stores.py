"""Stores of every revision there has been still open, and hold what was put in.

Authority: the files in `tests/old_stores`, each made once by the program of its time.
"""

from __future__ import annotations

import lzma
import shutil
import sqlite3
from contextlib import closing
from pathlib import Path

import pytest

from snugfast.records.store import Store
from snugfast.records.store.backup import verify
from snugfast.records.store.engines import address_of, file_url
from snugfast.records.store.reads import PersonRow
from snugfast.records.store.schema import REVISIONS
from snugfast.records.store.upgrading import upgrade
from tests.old_stores.make import AUTHOR, CAR, HERE, identity, journal
from tests.records.conftest import MakeRevision
from tests.records.making import clock


def test_a_store_of_each_revision_is_kept() -> None:
    assert sorted(path.stem for path in HERE.glob("*.db")) == sorted(REVISIONS)


@pytest.mark.parametrize("revision", REVISIONS)
def test_an_old_store_opens_with_all_that_was_in_it(revision: str, tmp_path: Path) -> None:
    file = Path(shutil.copyfile(HERE / f"{revision}.db", tmp_path / "old.db"))
    with Store.open(file_url(file), clock=clock) as store, store.reading() as reads:
        told = {entry.id: entry for entry in journal()}
        rows = reads.entries_after(0)
        assert [row.entry for row in rows] == [told[row.entry.id] for row in rows]
        assert {row.entry.id for row in rows} == told.keys()
        assert {person.id: person for person in reads.people()} == {
            AUTHOR: PersonRow(AUTHOR, "Somebody"),
            identity(42): PersonRow(identity(42), None),
        }
        assert reads.position(CAR) > 0
        assert reads.search(text="WÖRTLICH größe") != ()
    assert verify(file) == ()


@pytest.mark.parametrize("season", sorted(path.name for path in (HERE / "seasons").glob("*.xz")))
def test_a_season_of_an_older_program_goes_through_a_change_of_tables(
    season: str, tmp_path: Path, next_revision: MakeRevision
) -> None:
    """The next revision there might be, tried on real seasons: a column more, and tables made anew."""
    file = tmp_path / "old.db"
    file.write_bytes(lzma.decompress((HERE / "seasons" / season).read_bytes()))
    with Store.open(file_url(file), clock=clock) as store, store.reading() as reads:
        before, people = reads.entries_after(0), reads.people()
    folder = next_revision(
        "with op.batch_alter_table('entry') as batch:\n"
        "    batch.add_column(sa.Column('later', sa.Text(), server_default='x', nullable=False))"
    )
    backup = upgrade(address_of(file_url(file)), migrations=folder, revisions=(*REVISIONS, "9999"))
    assert backup is not None and verify(backup) == ()
    with Store.open(file_url(backup), clock=clock) as store, store.reading() as reads:
        assert reads.entries_after(0) == before and reads.people() == people
    raw = sqlite3.connect(file)
    with closing(raw):
        there = raw.execute("SELECT id, payload, later FROM entry ORDER BY position").fetchall()
        assert [row[0] for row in there] == [row.entry.id.hex for row in before]
        assert {row[2] for row in there} == {"x"}
        assert raw.execute("PRAGMA integrity_check").fetchone() == ("ok",)
        assert raw.execute("PRAGMA foreign_key_check").fetchall() == []
