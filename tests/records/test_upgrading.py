"""A store is made and brought up to date by all of its revisions or by none, and never by an older program.

Authority: laws, on both engines; the migrated tables are compared with the declared ones by Alembic itself.
"""

from __future__ import annotations

import sqlite3
from contextlib import closing
from pathlib import Path

import pytest
from alembic.autogenerate import compare_metadata
from alembic.config import Config
from alembic.migration import MigrationContext
from alembic.script import ScriptDirectory
from sqlalchemy import create_engine, text

from snugfast.records.store import Store
from snugfast.records.store.backup import verify
from snugfast.records.store.engines import address_of, engine_for
from snugfast.records.store.schema import REVISIONS, metadata
from snugfast.records.store.troubles import NotAStore, StoreAlreadyThere, StoreNotThere, StoreTooNew
from snugfast.records.store.upgrading import MIGRATIONS, UpgradeFailed, upgrade
from tests.records.conftest import MakeRevision
from tests.records.making import CAR, car_added, clock, ran


def made(url: str) -> str:
    """The URL of a store with a car and two runs."""
    with Store.create(url, clock=clock) as store, store.work() as work:
        work.journal.add_all([car_added(1), ran(2), ran(3)])
        work.commit()
    return url


def contents(url: str) -> dict[str, list[tuple[object, ...]]]:
    """Every table with its columns and rows."""
    engine = create_engine(url)
    with engine.connect() as connection:
        metadata_now = type(metadata)()
        metadata_now.reflect(connection)
        found = {
            table.name: [
                tuple(table.columns.keys()),
                *sorted(map(tuple, connection.execute(table.select())), key=str),
            ]
            for table in metadata_now.sorted_tables
        }
    engine.dispose()
    return found


def test_the_migrated_tables_are_the_declared_ones(engine_url: str) -> None:
    Store.create(engine_url, clock=clock).close()
    with create_engine(engine_url).connect() as connection:
        context = MigrationContext.configure(connection, opts={"compare_type": True})
        assert compare_metadata(context, metadata) == []


def test_the_revisions_known_are_the_revisions_there_are() -> None:
    config = Config()
    config.set_main_option("script_location", str(MIGRATIONS))
    there_are = [script.revision for script in ScriptDirectory.from_config(config).walk_revisions()]
    assert tuple(reversed(there_are)) == REVISIONS


def test_no_store_is_found_where_none_is(tmp_path: Path) -> None:
    for url in (f"sqlite:///{tmp_path / 'nothing.db'}", f"sqlite:///{tmp_path / 'no-folder' / 'nothing.db'}"):
        with pytest.raises(StoreNotThere):
            Store.open(url, clock=clock)
    assert list(tmp_path.iterdir()) == []


def test_an_empty_database_is_no_store_yet_and_may_become_one(engine_url: str) -> None:
    address = address_of(engine_url)
    if address.file is not None:
        address.file.touch()
    with pytest.raises(StoreNotThere):
        Store.open(engine_url, clock=clock)
    Store.create(engine_url, clock=clock).close()
    Store.open(engine_url, clock=clock).close()


def test_a_store_is_not_made_over_another(engine_url: str) -> None:
    before = contents(made(engine_url))
    with pytest.raises(StoreAlreadyThere):
        Store.create(engine_url, clock=clock)
    assert contents(engine_url) == before


def test_a_store_whose_making_was_cut_off_is_finished_by_making_it_again(engine_url: str) -> None:
    upgrade(address_of(engine_url))
    with pytest.raises(StoreNotThere, match="not finished"):
        Store.open(engine_url, clock=clock)
    made(engine_url)


def test_a_database_of_something_else_is_left_alone(engine_url: str) -> None:
    engine = create_engine(engine_url)
    with engine.begin() as connection:
        connection.execute(text("create table recipe (title text)"))
    engine.dispose()
    for attempt in (Store.open, Store.create):
        with pytest.raises(NotAStore):
            attempt(engine_url, clock=clock)
    assert contents(engine_url) == {"recipe": [("title",)]}


def test_an_older_program_leaves_a_newer_store_alone(engine_url: str, next_revision: MakeRevision) -> None:
    folder = next_revision("op.create_table('later', sa.Column('id', sa.Integer))")
    upgrade(address_of(made(engine_url)), migrations=folder, revisions=(*REVISIONS, "9999"))
    before = contents(engine_url)
    for attempt in (Store.open, Store.create):
        with pytest.raises(StoreTooNew, match="Update Snugfast") as told:
            attempt(engine_url, clock=clock)
        assert "9999" in str(told.value)
    with pytest.raises(StoreTooNew):
        upgrade(address_of(engine_url))
    assert contents(engine_url) == before


def test_an_upgrade_keeps_the_records_and_is_done_once(engine_url: str, next_revision: MakeRevision) -> None:
    """A batch change remakes the table that others point at: with keys on, it would empty them."""
    folder = next_revision(
        "with op.batch_alter_table('entry') as batch:\n"
        "    batch.add_column(sa.Column('later', sa.Text(), server_default='x', nullable=False))\n"
        "    batch.alter_column('typed', type_=sa.String(500), existing_nullable=False)"
    )
    before = contents(made(engine_url))
    address, revisions = address_of(engine_url), (*REVISIONS, "9999")
    backup = upgrade(address, migrations=folder, revisions=revisions)
    after = contents(engine_url)
    assert after["entry"][1:] == [(*row, "x") for row in before["entry"][1:]]
    assert after["entry_subject"] == before["entry_subject"]
    assert upgrade(address, migrations=folder, revisions=revisions) is None
    if address.is_sqlite:
        assert backup is not None
        assert contents(f"sqlite:///{backup}") == before


@pytest.mark.parametrize(
    "last_line",
    [
        "raise RuntimeError('the lights went out')",
        "op.execute('insert into nowhere values (1)')",
        "op.drop_table('no_such_table')",
    ],
)
def test_a_failed_upgrade_leaves_the_store_as_it_was(
    engine_url: str, next_revision: MakeRevision, last_line: str
) -> None:
    folder = next_revision(
        "op.create_table('later', sa.Column('id', sa.Integer))\n"
        "op.execute('delete from projection')\n"
        "with op.batch_alter_table('entry') as batch:\n"
        f"    batch.drop_column('typed')\n{last_line}"
    )
    before = contents(made(engine_url))
    with pytest.raises(UpgradeFailed, match="as it was before"):
        upgrade(address_of(engine_url), migrations=folder, revisions=(*REVISIONS, "9999"))
    assert contents(engine_url) == before
    with Store.open(engine_url, clock=clock) as store, store.reading() as reads:
        assert len(reads.entries_of([CAR])) == 3


def test_an_upgrade_that_would_leave_orphans_is_refused(sqlite_url: str, next_revision: MakeRevision) -> None:
    """On PostgreSQL the key itself refuses; on SQLite keys are off meanwhile and checked at the end."""
    folder = next_revision("op.execute('delete from entry where position = 2')")
    before = contents(made(sqlite_url))
    with pytest.raises(UpgradeFailed, match="belong to nothing"):
        upgrade(address_of(sqlite_url), migrations=folder, revisions=(*REVISIONS, "9999"))
    assert contents(sqlite_url) == before


def test_each_upgrade_has_a_backup_of_its_own(sqlite_url: str, next_revision: MakeRevision) -> None:
    folder = next_revision("raise RuntimeError('again')")
    file = address_of(made(sqlite_url)).file
    assert file is not None
    for _ in range(2):
        with pytest.raises(UpgradeFailed):
            upgrade(address_of(sqlite_url), migrations=folder, revisions=(*REVISIONS, "9999"))
    backups = sorted(file.parent.glob("*.before-*"))
    assert [path.name for path in backups] == [f"{file.name}.before-9999.{n}" for n in (1, 2)]
    assert [verify(path) for path in backups] == [(), ()]


def test_sqlite_is_opened_so_that_nothing_is_lost(sqlite_url: str) -> None:
    """Rollback journal, full synchronising (2), keys on while working and off while migrating."""
    Store.create(sqlite_url, clock=clock).close()

    def setting(purpose: str, name: str) -> object:
        engine = engine_for(address_of(sqlite_url), purpose)  # type: ignore[arg-type]
        with engine.connect() as connection:
            value = connection.exec_driver_sql(f"PRAGMA {name}").scalar_one()
        engine.dispose()
        return value

    for purpose, keys in (("read", 1), ("write", 1), ("migrate", 0)):
        assert setting(purpose, "journal_mode") == "delete"
        assert setting(purpose, "synchronous") == 3
        assert setting(purpose, "foreign_keys") == keys
        assert setting(purpose, "secure_delete") == 1
        assert setting(purpose, "busy_timeout") == 10_000
    assert setting("read", "query_only") == 1


def test_an_erased_name_is_gone_from_the_file(sqlite_url: str) -> None:
    file = address_of(sqlite_url).file
    assert file is not None
    with Store.create(sqlite_url, clock=clock) as store:
        with store.work() as work:
            work.people.add(CAR, "Rumpelstiltskin")
            work.commit()
        assert b"Rumpelstiltskin" in file.read_bytes()
        with store.work() as work:
            work.people.erase(CAR)
            work.commit()
    assert b"Rumpelstiltskin" not in file.read_bytes()


def test_a_store_in_write_ahead_mode_is_taken_back_to_the_rollback_journal(sqlite_url: str) -> None:
    """Somebody's tool may have switched it; the versions of SQLite in use have a fault in that mode."""
    file = address_of(made(sqlite_url)).file
    assert file is not None
    with closing(sqlite3.connect(file)) as connection:
        connection.execute("PRAGMA journal_mode=WAL")
    with Store.open(sqlite_url, clock=clock) as store, store.reading() as reads:
        assert reads.position() == 3
    with closing(sqlite3.connect(file)) as connection:
        assert connection.execute("PRAGMA journal_mode").fetchone() == ("delete",)
