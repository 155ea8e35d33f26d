"""What was worked out from the journal, kept to save working it out again. It may be dropped any time."""

from __future__ import annotations

from uuid import UUID

from sqlalchemy import Connection, delete, insert

from snugfast.records.store import schema


class Projections:
    """The projections inside one piece of work."""

    def __init__(self, connection: Connection) -> None:
        self._connection = connection

    def put(self, name: str, subject: UUID, position: int, fingerprint: str, payload: bytes) -> None:
        """Keep what was worked out up to a position, in place of what was kept under this name before."""
        self._drop(name, subject)
        self._connection.execute(
            insert(schema.projection).values(
                name=name, subject=subject, position=position, fingerprint=fingerprint, payload=payload
            )
        )

    def drop_all(self) -> None:
        """Drop everything; it will be worked out again."""
        self._connection.execute(delete(schema.projection))

    def _drop(self, name: str, subject: UUID) -> None:
        kept = schema.projection.c
        self._connection.execute(delete(schema.projection).where(kept.name == name, kept.subject == subject))
