"""A real server with a told workshop."""

from __future__ import annotations

import sys
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from snugfast.app.opening import ENVIRONMENT
from snugfast.records.store.engines import file_url
from tests.setup.server import StartServer
from tests.web.workshops import Clock, tell_story

SERVE = [sys.executable, "-m", "uvicorn", "--factory", "snugfast.web.app:create", "--port", "{port}"]


@pytest.fixture(scope="session")
def told_file(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The file of a workshop whose story ended lately by the real clock, which the server looks at."""
    path = tmp_path_factory.mktemp("told") / "workshop.sqlite"
    clock = Clock(datetime.now(UTC) - timedelta(days=8))
    tell_story(clock, file_url(path)).store.close()
    return path


@pytest.fixture
def workshop_file(told_file: Path, tmp_path: Path) -> Path:
    """A copy of its own."""
    copy = tmp_path / "workshop.sqlite"
    copy.write_bytes(told_file.read_bytes())
    return copy


@pytest.fixture
def pages(live_server: StartServer, workshop_file: Path) -> str:
    """The address of a server of its own."""
    return live_server(SERVE, env={ENVIRONMENT: str(workshop_file)}, health="/health")
