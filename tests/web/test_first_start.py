"""The first start: a picture, a name, the first sheet; what else is needed is guessed and asked later."""

from __future__ import annotations

from pathlib import Path

import pytest
from starlette.testclient import TestClient

from snugfast.app.opening import ENVIRONMENT, open_workshop
from snugfast.facts.load import load_facts
from snugfast.usecases.settings import settings_now
from snugfast.web.app import READ_ONLY, create
from snugfast.web.cars.kinds import kinds_of
from snugfast.web.drawings import KINDS, kind_drawing
from tests.web.parsed import Page

SAID = {"starter": "truck-1-10-4wd-3s", "name": "Fern"}


@pytest.fixture
def nowhere(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    path = tmp_path / "new" / "workshop.sqlite"
    monkeypatch.setenv(ENVIRONMENT, str(path))
    monkeypatch.setenv("TZ", "Europe/Berlin")
    return path


def test_every_page_leads_to_the_first_start_until_there_is_a_workshop(nowhere: Path) -> None:
    client = TestClient(create(), base_url="http://127.0.0.1")
    for path in ("/", "/runs/new", "/sheet", "/journal", "/settings"):
        assert client.get(path, follow_redirects=False).headers["location"] == "/first-start"
    assert client.get("/health").status_code == 200
    assert not nowhere.exists()


def test_a_picture_and_a_name_lead_to_the_first_sheet_and_the_guesses_are_asked_later(nowhere: Path) -> None:
    client = TestClient(create(), base_url="http://127.0.0.1")
    sent = Page.of(client.get("/")).form("/first-start").send(client, **SAID)
    sheet = Page.of(client.get(sent.headers["location"]))
    assert "First look at Fern" in sheet.text
    assert "Fern joined" in sheet.text
    workshop = open_workshop(str(nowhere))
    now = settings_now(workshop)
    assert (now["zone"], len(now["currency"]), now["bench_minute"]) == ("Europe/Berlin", 3, 15.0)
    workshop.store.close()
    assert client.get("/first-start", follow_redirects=False).headers["location"] == "/"
    home = Page.of(client.get("/"))
    assert "Guessed: Europe/Berlin" in home.text
    assert "No packs yet" in home.text
    Page.of(client.get("/settings")).form("/settings").send(client, bench_minute="0.20")
    assert "Guessed" not in Page.of(client.get("/")).text


def test_what_is_said_under_the_guesses_is_no_guess(nowhere: Path) -> None:
    client = TestClient(create(), base_url="http://127.0.0.1")
    Page.of(client.get("/")).form("/first-start").send(client, **SAID, currency="crd", by="Pip", zone="UTC")
    workshop = open_workshop(str(nowhere))
    now = settings_now(workshop)
    assert (now["currency"], now["zone"], now.get("guessed", "")) == ("CRD", "UTC", "")
    workshop.store.close()


@pytest.mark.parametrize(
    ("field", "typed"),
    [
        ("name", " "),
        ("starter", ""),
        ("starter", "boat"),
        ("history", "old"),
        ("by", " "),
        ("currency", "money"),
        ("bench_minute", "0,2"),
        ("zone", "Mars/Olympus"),
    ],
)
def test_an_answer_that_cannot_be_is_refused_and_nothing_is_made(
    nowhere: Path, field: str, typed: str
) -> None:
    client = TestClient(create(), base_url="http://127.0.0.1")
    form = Page.of(client.get("/first-start")).form("/first-start")
    refused = Page.of(form.send(client, **{**SAID, "running_minute": "0.50", field: typed}))
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


def test_every_starter_has_a_picture_of_its_own_kind() -> None:
    starters = load_facts().starters
    assert {build.traits["car_kind"] for build in starters.values()} <= set(KINDS)
    assert {kind.key for kind in kinds_of(starters)} == set(starters)
    assert kind_drawing("short-course-1-10-2wd-3s", "truck") == "short-course"
