"""Stores of every revision there has been still open, and hold what was put in.

Authority: the files in `tests/old_stores`, each made once by the program of its time.
"""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest

from snugfast.records.store import Store
from snugfast.records.store.backup import verify
from snugfast.records.store.engines import file_url
from snugfast.records.store.reads import PersonRow
from snugfast.records.store.schema import REVISIONS
from tests.old_stores.make import AUTHOR, CAR, HERE, identity, journal
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
