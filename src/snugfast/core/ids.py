"""Identities: time-ordered UUIDs (version 7, RFC 9562 section 5.7)."""

from __future__ import annotations

import os
import uuid
from datetime import datetime


def mint(now: datetime) -> uuid.UUID:
    """A new version 7 UUID: 48 bits of milliseconds, then 74 random bits.

    The clock is handed in so that a story told twice gives the same order.
    """
    return compose(int(now.timestamp() * 1000), os.urandom(10))


def compose(unix_ms: int, noise: bytes) -> uuid.UUID:
    """Lay out the bits of a version 7 UUID from milliseconds since 1970 and ten bytes of noise."""
    if not 0 <= unix_ms < 1 << 48:
        raise ValueError("a version 7 UUID holds times from 1970 to the year 10889")
    rand_a = int.from_bytes(noise[:2], "big") & 0x0FFF
    rand_b = int.from_bytes(noise[2:10], "big") & ((1 << 62) - 1)
    return uuid.UUID(int=unix_ms << 80 | 0x7 << 76 | rand_a << 64 | 0b10 << 62 | rand_b)


def derived(parent: uuid.UUID, name: str) -> uuid.UUID:
    """An identity that follows from another: the same parent and name always give the same one."""
    return uuid.uuid5(parent, name)
