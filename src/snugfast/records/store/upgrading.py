"""Bringing a store up to the schema this program writes, and refusing one from a newer program."""

from __future__ import annotations

from pathlib import Path

from sqlalchemy import Connection, column, inspect, select, table

from snugfast.records.store.backup import back_up_before
from snugfast.records.store.engines import Address, engine_for
from snugfast.records.store.schema import REVISIONS
from snugfast.records.store.troubles import NotAStore, StoreTooNew, StoreTrouble, told_in_words

MIGRATIONS = Path(__file__).parent / "migrations"
_ONE_AT_A_TIME = 0x736E7567  # any number, as long as every Snugfast uses the same


class UpgradeFailed(StoreTrouble):
    """A revision did not go through; the store is as it was."""


def revision_in(connection: Connection, revisions: tuple[str, ...] = REVISIONS) -> str | None:
    """The revision of the store behind a connection; None when the database is empty.

    Raises NotAStore for a database of something else, StoreTooNew for a revision this program never heard of.
    """
    tables = inspect(connection).get_table_names()
    if not tables:
        return None
    if "alembic_version" not in tables:
        raise NotAStore("This database holds something else than a Snugfast store.", "Name another place.")
    stamp = table("alembic_version", column("version_num"))
    found = str(connection.execute(select(stamp.c.version_num)).scalar_one())
    if found not in revisions:
        raise StoreTooNew(
            f"A newer Snugfast made this store (revision {found}; this one knows {revisions[-1]}). "
            "Nothing was touched.",
            "Update Snugfast, then open it again.",
        )
    return found


def upgrade(
    address: Address, *, migrations: Path = MIGRATIONS, revisions: tuple[str, ...] = REVISIONS
) -> Path | None:
    """Bring a store up to the newest revision, or make its tables in an empty database: all of it or nothing.

    A SQLite file that holds records is backed up first; the backup's path is returned. Two programs that
    upgrade at once wait for each other. Raises UpgradeFailed when a revision does not go through.
    """
    engine = engine_for(address, "migrate")
    backup: Path | None = None
    try:
        with told_in_words(address.words), engine.begin() as connection:
            if not address.is_sqlite:
                connection.exec_driver_sql(f"SELECT pg_advisory_xact_lock({_ONE_AT_A_TIME})")
            found = revision_in(connection, revisions)
            if found == revisions[-1]:
                return None
            if found is not None and address.file is not None:
                backup = back_up_before(address.file, revisions[-1])
            _run(connection, migrations, address)
    finally:
        engine.dispose()
    return backup


def _run(connection: Connection, migrations: Path, address: Address) -> None:
    from alembic import command  # slow to import, and needed only now
    from alembic.config import Config

    config = Config(attributes={"connection": connection})
    config.set_main_option("script_location", str(migrations).replace("%", "%%"))
    try:
        command.upgrade(config, "head")
        orphans = connection.exec_driver_sql("PRAGMA foreign_key_check").all() if address.is_sqlite else []
    except Exception as error:
        raise UpgradeFailed(
            "The store could not be brought up to date; it is as it was before.",
            "Go on with the Snugfast you had, and report what stands above.",
        ) from error
    if orphans:
        raise UpgradeFailed(
            f"The upgrade would leave {len(orphans)} rows that belong to nothing; the store is as it was.",
            "Go on with the Snugfast you had, and report what stands above.",
        )
