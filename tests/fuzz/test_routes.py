"""Whatever is sent to the pages is answered or refused: no 500.

Authority: laws of this project. Requests are drawn from the printed seed.
"""

from __future__ import annotations

import random
import shutil
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from uuid import UUID

import pytest
from fastapi import FastAPI
from starlette.testclient import TestClient

from snugfast.app.opening import open_workshop
from snugfast.web.app import create_for
from tests.fuzz.requests import a_request, routes_of
from tests.fuzz.season import story_file
from tests.fuzz.seeds import seed_of

SLOW = ("gearing", "sheet", "health", "arrive", "outing")
REQUESTS_A_PLAY = 40
SOAK_REQUESTS = 100_000
KEPT_FOR = 500
SLOW_EVERY = 10  # of so many plays one has the pages that take seconds too


@pytest.fixture(scope="module")
def story(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return story_file(tmp_path_factory.mktemp("routes"))


@contextmanager
def pages_of(file: Path) -> Iterator[tuple[FastAPI, TestClient, tuple[UUID, ...]]]:
    workshop = open_workshop(str(file))
    with workshop.store:
        with workshop.store.reading() as reads:
            rows = reads.entries_after(0)
            ids = [row.entry.id for row in rows][-12:]
            for row in rows:
                ids += [one for one in (getattr(row.entry.fact, n, None) for n in ("car", "pack")) if one]
        app = create_for(workshop)
        yield (
            app,
            TestClient(app, base_url="http://127.0.0.1:8765", raise_server_exceptions=False),
            tuple(ids),
        )


def played(story: Path, folder: Path, seed: int, requests: int, slow: tuple[str, ...]) -> None:
    rng = random.Random(seed)
    folder.mkdir(parents=True, exist_ok=True)
    file = folder / "workshop.sqlite"
    shutil.copyfile(story, file)
    with pages_of(file) as (app, client, ids):
        for number in range(requests):
            asked = a_request(app, ids, rng, slow)
            answer = client.request(
                asked.method, asked.path, params=asked.query, data=asked.form or None, follow_redirects=False
            )
            assert answer.status_code < 500, (seed, number, asked, answer.text[-1500:])
            assert "Traceback" not in answer.text


def test_every_page_is_drawn_from(story: Path, tmp_path: Path) -> None:
    file = tmp_path / "workshop.sqlite"
    shutil.copyfile(story, file)
    with pages_of(file) as (app, _, _):
        assert len(routes_of(app)) > 60


def test_requests_that_were_drawn(story: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path / "data"))
    played(story, tmp_path / "play", seed_of("requests", 0), REQUESTS_A_PLAY, SLOW)


@pytest.mark.soak
def test_many_requests(story: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path / "data"))
    for number in range(SOAK_REQUESTS // KEPT_FOR):
        seed = seed_of("requests", number, fresh=True)
        played(story, tmp_path / str(number), seed, KEPT_FOR, () if number % SLOW_EVERY == 0 else SLOW)
        shutil.rmtree(tmp_path / str(number))
