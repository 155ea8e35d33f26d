"""Who may ask, what may be sent, and what a browser may do with a page."""

from __future__ import annotations

from pathlib import Path

import pytest
from starlette.testclient import TestClient

from snugfast.app.opening import ENVIRONMENT
from snugfast.records.store.engines import file_url
from snugfast.usecases.shared.workshop import Workshop
from snugfast.web.app import MORE_HOSTS, create, create_for
from tests.web.parsed import Page
from tests.web.workshops import Clock, reopened

RUN = {"car": "Quarry", "minutes": "9"}


@pytest.mark.parametrize(
    "host", ["127.0.0.1", "127.0.0.1:8765", "localhost:1", "LOCALHOST", "[::1]", "[::1]:80"]
)
def test_own_hosts_are_answered(client: TestClient, host: str) -> None:
    assert client.get("/health", headers={"host": host}).status_code == 200


@pytest.mark.parametrize(
    "host", ["evil.example", "127.0.0.1.evil.example", "evil.example:8765", "", "[::2]:80"]
)
def test_other_hosts_are_refused_with_a_sentence(client: TestClient, host: str) -> None:
    refused = client.get("/", headers={"host": host})
    assert refused.status_code == 421
    assert "do not answer under that name" in refused.text
    assert "Bramble" not in refused.text


def test_the_environment_can_add_hosts(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    monkeypatch.setenv(ENVIRONMENT, str(tmp_path / "none.sqlite"))
    monkeypatch.setenv(MORE_HOSTS, "bench.local, shed")
    client = TestClient(create(), base_url="http://127.0.0.1")
    assert client.get("/health", headers={"host": "Bench.local:80"}).status_code == 200
    assert client.get("/health", headers={"host": "attic"}).status_code == 421


@pytest.mark.parametrize(
    "headers",
    [
        {"origin": "http://evil.example"},
        {"origin": "null"},
        {"origin": "http://127.0.0.1:9"},
        {"sec-fetch-site": "cross-site"},
        {"sec-fetch-site": "same-site"},
    ],
)
def test_a_form_from_another_site_keeps_nothing(
    client: TestClient, workshop: Workshop, headers: dict[str, str]
) -> None:
    with workshop.store.reading() as reads:
        before = reads.position()
    for path in ("/runs", "/keep", "/redo", "/settings"):
        refused = client.post(path, data=RUN, headers=headers)
        assert refused.status_code == 403
        assert "another site" in refused.text
    with workshop.store.reading() as reads:
        assert reads.position() == before


def test_a_form_from_here_passes(client: TestClient) -> None:
    headers = {"origin": "http://127.0.0.1:8765", "sec-fetch-site": "same-origin"}
    assert client.post("/runs", data=RUN, headers=headers).status_code == 200


def test_a_form_too_large_to_be_one_of_ours_is_refused(client: TestClient) -> None:
    assert client.post("/runs", data={"noticed": "x" * 1_100_000}).status_code == 413


def test_pages_for_reading_only_refuse_forms_and_offer_none(story: Path, clock: Clock) -> None:
    workshop = reopened(file_url(story), clock, read_only=True)
    client = TestClient(create_for(workshop), base_url="http://127.0.0.1")
    refused = client.post("/runs", data=RUN)
    assert refused.status_code == 403
    assert "for reading only" in refused.text
    sheet = Page.of(client.get("/sheet?car=Bramble&minutes=20&make=1"))
    assert sheet.status == 200
    assert not [form for form in sheet.root.all("form") if form.attributes.get("method") == "post"]
    assert not [one for one in sheet.root.all("input") if one.attributes["name"].endswith((".ok", ".found"))]
    assert "Found something?" not in sheet.text
    assert [one for one in sheet.main.all("li") if "check" in one.classes]
    workshop.store.close()


def test_every_answer_says_what_a_browser_may_do_with_it(client: TestClient) -> None:
    for path in ("/", "/nowhere", "/static/css/ground.css", "/health"):
        headers = client.get(path).headers
        assert "default-src 'none'" in headers["content-security-policy"]
        assert "unsafe" not in headers["content-security-policy"]
        assert headers["x-content-type-options"] == "nosniff"
        assert headers["referrer-policy"] == "same-origin"
    assert client.get("/").headers["cache-control"] == "no-store"


def test_what_people_type_is_shown_as_text(client: TestClient) -> None:
    typed = {**RUN, "noticed": "<script>alert(1)</script>"}
    for car, told in (('"><img src=x>', "&lt;img"), ("Quarry", "&lt;script&gt;")):
        shown = client.post("/runs", data={**typed, "car": car}).text
        assert "<script>" not in shown
        assert "<img" not in shown
        assert told in shown
