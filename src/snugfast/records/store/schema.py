"""The tables, the same on SQLite and PostgreSQL. Migrations make them; a test holds both equal."""

from __future__ import annotations

from datetime import UTC, datetime

from sqlalchemy import (
    JSON,
    BigInteger,
    CheckConstraint,
    Column,
    DateTime,
    Dialect,
    ForeignKey,
    Index,
    Integer,
    LargeBinary,
    MetaData,
    String,
    Table,
    Text,
    TypeDecorator,
    Uuid,
)

REVISIONS = ("0001",)  # every revision there has been, oldest first; the last is the one this program writes


class Utc(TypeDecorator[datetime]):
    """A time that knows its offset, kept in UTC. SQLite drops the offset; here it comes back."""

    impl = DateTime(timezone=True)
    cache_ok = True

    def process_bind_param(self, value: datetime | None, dialect: Dialect) -> datetime | None:
        """To the database. Raises ValueError for a time without an offset."""
        if value is None:
            return None
        if value.tzinfo is None:
            raise ValueError("a time without an offset cannot be saved")
        return value.astimezone(UTC)

    def process_result_value(self, value: datetime | None, dialect: Dialect) -> datetime | None:
        """From the database, in UTC."""
        if value is None:
            return None
        return value.replace(tzinfo=UTC) if value.tzinfo is None else value.astimezone(UTC)


metadata = MetaData(
    naming_convention={
        "ix": "ix_%(table_name)s_%(column_0_N_name)s",
        "uq": "uq_%(table_name)s_%(column_0_N_name)s",
        "ck": "ck_%(table_name)s_%(constraint_name)s",
        "fk": "fk_%(table_name)s_%(column_0_N_name)s_%(referred_table_name)s",
        "pk": "pk_%(table_name)s",
    }
)

# One row. Its lock is what makes writers wait for each other; `position` counts the entries that arrived.
workshop = Table(
    "workshop",
    metadata,
    Column(
        "single",
        Integer,
        CheckConstraint("single = 1", name="one_row"),
        primary_key=True,
        autoincrement=False,
    ),
    Column("id", Uuid, nullable=False),
    Column("made_at", Utc, nullable=False),
    Column("position", BigInteger, nullable=False),
)

# `withdraws` and `words` are told by the payload; they stand apart so that the database can find by them.
# `replaces` and `withdraws` are no foreign keys: what they name may arrive later.
entry = Table(
    "entry",
    metadata,
    Column("id", Uuid, primary_key=True),
    Column("position", BigInteger, nullable=False, unique=True),
    Column("kind", String(40), nullable=False),
    Column("version", Integer, nullable=False),
    Column("happened_at", Utc, nullable=False),
    Column("recorded_at", Utc, nullable=False),
    Column("precision", String(20), nullable=False),
    Column("zone", Text, nullable=False),
    Column("author", Uuid, nullable=False),
    Column("replaces", Uuid),
    Column("withdraws", Uuid),
    Column("typed", Text, nullable=False),
    Column("words", Text, nullable=False),
    Column("payload", JSON, nullable=False),
    Index(None, "happened_at", "id"),
    Index(None, "kind"),
    Index(None, "replaces"),
    Index(None, "withdraws"),
)

# Which cars and packs an entry is about, and since which position: a late arrival can draw an earlier entry
# in.
entry_subject = Table(
    "entry_subject",
    metadata,
    Column("entry", Uuid, ForeignKey(entry.c.id, ondelete="RESTRICT"), primary_key=True),
    Column("subject", Uuid, primary_key=True),
    Column("position", BigInteger, nullable=False),
    Index(None, "subject", "position"),
    Index(None, "position"),
)

# A person who was erased keeps the row without the name, so that a merge does not bring the name back.
person = Table(
    "person",
    metadata,
    Column("id", Uuid, primary_key=True),
    Column("name", Text),
)

projection = Table(
    "projection",
    metadata,
    Column("name", String(80), primary_key=True),
    Column("subject", Uuid, primary_key=True),
    Column("position", BigInteger, nullable=False),
    Column("fingerprint", String(80), nullable=False),
    Column("payload", LargeBinary, nullable=False),
)
