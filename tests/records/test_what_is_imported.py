"""The words and rules of the records are light; a SQLite store in order needs no Alembic and no other driver.

Authority: a list of modules rather than a time limit, which would flake on a busy machine.
"""

from __future__ import annotations

import subprocess
import sys

import pytest

from snugfast.records.store import Store
from tests.records.making import clock

HEAVY = ("sqlalchemy", "alembic", "psycopg", "numpy")
WORDS = """
import snugfast.records.codec, snugfast.records.standing, snugfast.records.moments, snugfast.records.ledger
"""
OPENED = """
from datetime import UTC, datetime
from snugfast.records.store import Store
with Store.open(sys.argv[1], clock=lambda: datetime.now(UTC)) as store, store.work() as work:
    work.reads.workshop()
"""


@pytest.mark.slow
@pytest.mark.parametrize(("lines", "brought"), [(WORDS, []), (OPENED, ["sqlalchemy"])])
def test_heavy_libraries_come_when_needed(sqlite_url: str, lines: str, brought: list[str]) -> None:
    Store.create(sqlite_url, clock=clock).close()
    told = f"print(*(name for name in {HEAVY!r} if name in sys.modules))"
    done = subprocess.run(
        [sys.executable, "-c", f"import sys\n{lines}\n{told}", sqlite_url],
        capture_output=True,
        text=True,
        check=True,
    )
    assert done.stdout.split() == brought
