"""The first start: nothing stands yet, judgement values are asked, then there is a workshop."""

from __future__ import annotations

from pathlib import Path

import pytest
from starlette.testclient import TestClient

from snugfast.app.opening import ENVIRONMENT, open_workshop
from snugfast.usecases.settings import settings_now
from snugfast.web.app import READ_ONLY, create
from tests.web.parsed import Page

SAID = {"by": "Pip", "currency": "crd", "bench_minute": "0.20", "running_minute": "0.50", "zone": "UTC"}


@pytest.fixture
def nowhere(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    path = tmp_path / "new" / "workshop.sqlite"
    monkeypatch.setenv(ENVIRONMENT, str(path))
    return path


def test_every_page_leads_to_the_first_start_until_there_is_a_workshop(nowhere: Path) -> None:
    client = TestClient(create(), base_url="http://127.0.0.1")
    for path in ("/", "/runs/new", "/sheet", "/journal", "/settings"):
        assert client.get(path, follow_redirects=False).headers["location"] == "/first-start"
    assert client.get("/health").status_code == 200
    assert not nowhere.exists()


def test_what_minutes_are_worth_is_kept_as_the_first_entry(nowhere: Path) -> None:
    client = TestClient(create(), base_url="http://127.0.0.1")
    form = Page.of(client.get("/")).form("/first-start")
    sent = form.send(client, **SAID)
    assert sent.headers["location"] == "/cars/new"
    workshop = open_workshop(str(nowhere))
    now = settings_now(workshop)
    assert (now["currency"], now["bench_minute"], now["running_minute"]) == ("CRD", 20.0, 50.0)
    workshop.store.close()
    assert client.get("/first-start", follow_redirects=False).headers["location"] == "/"
    assert "No cars yet" in Page.of(client.get("/")).text


@pytest.mark.parametrize(
    ("field", "typed"),
    [("by", " "), ("currency", ""), ("currency", "money"), ("bench_minute", "0,2"), ("zone", "Mars/Olympus")],
)
def test_an_answer_that_cannot_be_is_refused_and_nothing_is_made(
    nowhere: Path, field: str, typed: str
) -> None:
    client = TestClient(create(), base_url="http://127.0.0.1")
    form = Page.of(client.get("/first-start")).form("/first-start")
    refused = Page.of(form.send(client, **{**SAID, field: typed}))
    assert refused.status == 422
    assert refused.form("/first-start").values["running_minute"] == ["0.50"]
    assert not nowhere.exists()


def test_pages_for_reading_only_do_not_begin_a_workshop(
    nowhere: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv(READ_ONLY, "1")
    client = TestClient(create(), base_url="http://127.0.0.1")
    assert "for reading only" in Page.of(client.get("/")).text
    assert client.post("/first-start", data=SAID).status_code == 403
    assert not nowhere.exists()
