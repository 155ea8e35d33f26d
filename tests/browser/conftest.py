"""One real server with a told workshop for all browser tests, and one browser."""

from __future__ import annotations

import sys
import urllib.request
from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from snugfast.app.opening import ENVIRONMENT, open_workshop
from snugfast.records.store.engines import file_url
from snugfast.usecases.shared.ledger import ledger_now
from tests.setup.server import running_server
from tests.web.workshops import Clock, tell_story

SERVE = [sys.executable, "-m", "uvicorn", "--factory", "snugfast.web.app:create", "--port", "{port}"]


@pytest.fixture(scope="session")
def workshop_file(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The file of a workshop whose story ended lately by the real clock, which the server looks at."""
    path = tmp_path_factory.mktemp("told") / "workshop.sqlite"
    clock = Clock(datetime.now(UTC) - timedelta(days=8))
    tell_story(clock, file_url(path)).store.close()
    return path


@pytest.fixture(scope="session")
def pages(workshop_file: Path, tmp_path_factory: pytest.TempPathFactory) -> Iterator[str]:
    """The address of the one server; what it must work out once is worked out before the first test."""
    log = tmp_path_factory.mktemp("server") / "server.log"
    env = {ENVIRONMENT: str(workshop_file)}
    with running_server(SERVE, env=env, health="/health", log=log) as address:
        urllib.request.urlopen(address, timeout=300).close()
        yield address


@pytest.fixture(scope="session")
def car(workshop_file: Path) -> str:
    """The path of the first car's page."""
    workshop = open_workshop(str(workshop_file))
    with workshop.store.reading() as reads:
        found = ledger_now(reads).car_named("Bramble")
    workshop.store.close()
    assert found is not None
    return f"/cars/{found.id}"
