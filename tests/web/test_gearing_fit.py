"""Fitting the twin on a page: it says how far it is, can be left and stopped. Authority: laws."""

from __future__ import annotations

import time
from collections.abc import Iterator
from threading import Event
from uuid import UUID, uuid4

import pytest
from starlette.testclient import TestClient

from snugfast.physics.powertrain.runs import Progress, ShouldStop, Stopped
from snugfast.web.at_work import KEPT, AtWork, Work
from snugfast.web.gearing import fit as fit_pages
from tests.web.parsed import Page

PATIENCE_s = 10.0


class SlowFit:
    """Takes until it is let go on, and hears when it is to stop."""

    def __init__(self) -> None:
        self.begun, self.go_on = Event(), Event()

    def __call__(self, workshop: object, car: str, progress: Progress, should_stop: ShouldStop) -> object:
        progress(0.4)
        self.begun.set()
        until = time.monotonic() + PATIENCE_s
        while not self.go_on.wait(0.01) and time.monotonic() < until:
            if should_stop():
                raise Stopped("The study was stopped before it was done.", "Start it again.")
        raise Stopped("It was let go.", "Nothing.")


@pytest.fixture
def slow(monkeypatch: pytest.MonkeyPatch) -> Iterator[SlowFit]:
    fit = SlowFit()
    monkeypatch.setattr(fit_pages, "_fitted", fit)
    yield fit
    fit.go_on.set()


def posted(client: TestClient, path: str) -> str:
    answer = client.post(path, headers={"Origin": str(client.base_url)}, follow_redirects=False)
    assert answer.status_code == 303
    return str(answer.headers["location"])


def test_a_fit_under_way_says_how_far_it_is_and_asks_again_by_itself(
    client: TestClient, gearing: str, slow: SlowFit
) -> None:
    path = posted(client, f"{gearing}/fit")
    assert slow.begun.wait(PATIENCE_s)
    answer = client.get(path)
    assert answer.headers["refresh"] == "1"
    assert "40 % done" in Page.of(answer).root.text
    assert posted(client, f"{gearing}/fit") == path  # not twice at once


def test_a_fit_can_be_stopped(client: TestClient, gearing: str, slow: SlowFit) -> None:
    path = posted(client, f"{gearing}/fit")
    assert slow.begun.wait(PATIENCE_s)
    assert posted(client, f"{path}/stop") == path
    until = time.monotonic() + PATIENCE_s
    while "refresh" in (answer := client.get(path)).headers and time.monotonic() < until:
        pass
    assert "stopped before it was done" in Page.of(answer).root.text


def test_a_fit_that_nobody_knows_says_where_to_begin(client: TestClient, gearing: str) -> None:
    answer = client.get(f"{gearing}/fit/{uuid4()}")
    assert answer.status_code == 404
    assert "page of the gearing" in Page.of(answer).root.text


def test_what_was_worked_out_waits_for_who_asks_and_the_oldest_goes() -> None:
    works = AtWork()
    keys = [works.start(str(n), lambda progress, should_stop: 7) for n in range(KEPT + 1)]
    newest = works.get(keys[-1])
    assert newest is not None
    assert newest.outcome.result(PATIENCE_s) == 7
    assert works.get(keys[0]) is None
    assert works.get(UUID(int=0)) is None


def test_what_went_wrong_is_told_to_who_asks() -> None:
    def broken(progress: Progress, should_stop: ShouldStop) -> None:
        raise ValueError("broken")

    works = AtWork()
    work = works.get(works.start("one", broken))
    assert isinstance(work, Work)
    with pytest.raises(ValueError, match="broken"):
        work.outcome.result(PATIENCE_s)
