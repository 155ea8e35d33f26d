"""A told workshop and its pages."""

from __future__ import annotations

import shutil
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from starlette.testclient import TestClient

from snugfast.records.store.engines import file_url
from snugfast.usecases.shared.ledger import ledger_now
from snugfast.usecases.shared.workshop import Workshop
from snugfast.web.app import create_for
from tests.web.parsed import Page
from tests.web.workshops import BEGAN, Clock, reopened, tell_story

HERE = "http://127.0.0.1:8765"
AFTER_THE_STORY = 8.0  # days


@pytest.fixture(scope="session")
def story(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The file of a workshop with two cars, two packs and six runs, closed."""
    path = tmp_path_factory.mktemp("story") / "story.sqlite"
    workshop = tell_story(Clock(BEGAN), file_url(path))
    TestClient(create_for(workshop), base_url=HERE).get("/")  # what was told is remembered in every copy
    workshop.store.close()
    return path


@pytest.fixture
def clock() -> Clock:
    """The clock of the workshop: a day or so after the last run."""
    clock = Clock(BEGAN)
    clock.on(days=AFTER_THE_STORY)
    return clock


@pytest.fixture
def workshop(story: Path, tmp_path: Path, clock: Clock) -> Iterator[Workshop]:
    """A copy of the story of its own."""
    copy = tmp_path / "workshop.sqlite"
    shutil.copyfile(story, copy)
    workshop = reopened(file_url(copy), clock)
    yield workshop
    workshop.store.close()


@pytest.fixture
def client(workshop: Workshop) -> TestClient:
    """A browser without script, as far as requests go."""
    return TestClient(create_for(workshop), base_url=HERE)


@pytest.fixture
def gearing(workshop: Workshop) -> str:
    """The address of the first car's gearing."""
    with workshop.store.reading() as reads:
        car = next(car for car in ledger_now(reads).cars.values() if car.name == "Bramble")
    return f"/cars/{car.id}/gearing"


@pytest.fixture
def visit(client: TestClient) -> Callable[[str], Page]:
    """Open a page, following redirects, and read it."""

    def open_page(path: str) -> Page:
        return Page.of(client.get(path))

    return open_page
