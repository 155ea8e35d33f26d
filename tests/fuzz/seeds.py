"""Seeds of the fuzzers: the same every day, fresh ones in the soak, always printed to be played again.

Play one again with SNUGFAST_SEED=NUMBER.
"""

from __future__ import annotations

import os
import secrets
import sys
from zlib import crc32

FEW = 2  # plays of each fuzzer in the daily lanes
AGAIN = "SNUGFAST_SEED"


def seed_of(fuzzer: str, number: int, *, fresh: bool = False) -> int:
    """The seed of one play, printed on the error stream when it is a fresh one."""
    if os.environ.get(AGAIN):
        return int(os.environ[AGAIN])
    if not fresh:
        return crc32(f"{fuzzer} {number}".encode())
    seed = secrets.randbits(32)
    print(f"{fuzzer}: {AGAIN}={seed}", file=sys.stderr)
    return seed
