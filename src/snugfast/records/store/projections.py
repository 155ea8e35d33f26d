"""What was worked out from the journal, kept to save working it out again. It may be dropped any time.

Each is sealed: a sum over all of it stands before its payload, so that one changed bit anywhere makes it as
good as dropped.
"""

from __future__ import annotations

from hashlib import sha256
from uuid import UUID

from sqlalchemy import Connection, delete, insert

from snugfast.records.store import schema

_SEAL = b"s1"
_SUM_BYTES = 32


def sealed(name: str, subject: UUID, position: int, fingerprint: str, payload: bytes) -> bytes:
    """A payload with the sum over it and over the row it stands in."""
    return _SEAL + _sum(name, subject, position, fingerprint, payload) + payload


def unsealed(name: str, subject: UUID, position: object, fingerprint: object, kept: object) -> bytes | None:
    """The payload, when all of its row is as it was written; None for anything else."""
    if not (isinstance(kept, bytes) and isinstance(position, int) and isinstance(fingerprint, str)):
        return None
    begins = len(_SEAL) + _SUM_BYTES
    payload = kept[begins:]
    seal = kept[:begins]
    return payload if seal == _SEAL + _sum(name, subject, position, fingerprint, payload) else None


def _sum(name: str, subject: UUID, position: int, fingerprint: str, payload: bytes) -> bytes:
    row = f"{name}\n{subject.hex}\n{position}\n{fingerprint}\n".encode()
    return sha256(row + payload).digest()


class Projections:
    """The projections inside one piece of work."""

    def __init__(self, connection: Connection) -> None:
        self._connection = connection

    def put(self, name: str, subject: UUID, position: int, fingerprint: str, payload: bytes) -> None:
        """Keep what was worked out up to a position, in place of what was kept under this name before."""
        self._drop(name, subject)
        self._connection.execute(
            insert(schema.projection).values(
                name=name,
                subject=subject,
                position=position,
                fingerprint=fingerprint,
                payload=sealed(name, subject, position, fingerprint, payload),
            )
        )

    def drop_all(self) -> None:
        """Drop everything; it will be worked out again."""
        self._connection.execute(delete(schema.projection))

    def _drop(self, name: str, subject: UUID) -> None:
        kept = schema.projection.c
        self._connection.execute(delete(schema.projection).where(kept.name == name, kept.subject == subject))
