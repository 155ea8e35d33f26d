"""Fixtures for the tests of the records."""

from __future__ import annotations

import shutil
from collections.abc import Callable
from pathlib import Path

import pytest

from snugfast.records.store.schema import REVISIONS
from snugfast.records.store.upgrading import MIGRATIONS

MakeRevision = Callable[[str], Path]


@pytest.fixture
def next_revision(tmp_path: Path) -> MakeRevision:
    """A copy of our revisions with one more, whose upgrade is the given lines."""

    def make(body: str) -> Path:
        folder = tmp_path / "next 100% migrations"
        shutil.copytree(MIGRATIONS, folder)
        lines = "\n".join(f"    {line}" for line in body.splitlines())
        (folder / "versions" / "r9999.py").write_text(
            "import sqlalchemy as sa\nfrom alembic import op\n"
            f"revision = '9999'\ndown_revision = {REVISIONS[-1]!r}\n\ndef upgrade():\n{lines}\n"
        )
        return folder

    return make
