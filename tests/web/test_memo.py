"""A page is worked out once while nothing is logged and the minute lasts, and anew right after an entry."""

from __future__ import annotations

import pytest
from starlette.testclient import TestClient

from snugfast.usecases.journal.keeping import keep
from snugfast.usecases.journal.run_log import RunSaid, draft_runs
from snugfast.usecases.shared.workshop import Workshop
from snugfast.web.memo import Memo
from tests.web.workshops import BEGAN, Clock, empty_workshop


@pytest.fixture
def asked() -> list[str]:
    return []


def test_it_is_made_once_and_anew_after_a_minute_or_an_entry(asked: list[str]) -> None:
    clock = Clock(BEGAN)
    workshop, memo = empty_workshop(clock), Memo()

    def once() -> int:
        return memo.once(workshop, "home", lambda: asked.append("x") or len(asked))

    assert (once(), once()) == (1, 1)
    clock.on(minutes=1)
    assert once() == 2
    workshop.store.close()


def test_a_page_shows_what_was_logged_a_moment_ago(client: TestClient, workshop: Workshop) -> None:
    for path in ("/", "/packs"):
        client.get(path)
    keep(workshop, draft_runs(workshop, (RunSaid("Quarry", ("Ember 2",), "9"),)).entries)
    assert "1 run since it came here" in client.get("/").text


def test_what_fails_is_not_held(asked: list[str]) -> None:
    workshop, memo = empty_workshop(Clock(BEGAN)), Memo()
    with pytest.raises(ZeroDivisionError):
        memo.once(workshop, "x", lambda: 1 // 0)
    assert memo.once(workshop, "x", lambda: 2) == 2
    workshop.store.close()
