"""A page that fails says so in words, keeps nothing half, and sends nobody elsewhere.

Authority: laws of this project.
"""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from starlette.testclient import TestClient

from snugfast.app.unforeseen import log_file
from snugfast.records.codec import canonical, entry_to_document
from snugfast.usecases.journal.keeping import keep, withdraw
from snugfast.usecases.journal.run_log import RunSaid, draft_runs
from snugfast.usecases.shared.workshop import Workshop
from snugfast.web.app import create_for
from tests.web.conftest import HERE


def a_run(workshop: Workshop) -> str:
    """A run as the echo carries it."""
    (entry,) = draft_runs(workshop, (RunSaid("Bramble", ("Ember 2",), "9"),)).entries
    return canonical(entry_to_document(entry))


@pytest.mark.parametrize(
    "then",
    [
        "/\\evil",
        "//evil",
        "/\t/evil",
        "\\\\evil",
        "https://evil",
        "/\n/evil",
        "/\r\\evil",
        " //evil",
        "/ok/\\evil",
        "",
    ],
)
def test_a_form_leads_only_to_pages_of_here(client: TestClient, workshop: Workshop, then: str) -> None:
    kept = client.post("/keep", data={"entry": a_run(workshop), "then": then}, follow_redirects=False)
    assert kept.status_code == 303
    assert kept.headers["location"].startswith("/?kept=")


def test_a_form_leads_to_the_page_it_names(client: TestClient, workshop: Workshop) -> None:
    kept = client.post(
        "/keep", data={"entry": a_run(workshop), "then": "/packs?a=b#c"}, follow_redirects=False
    )
    assert kept.headers["location"].startswith("/packs?a=b&kept=")


@pytest.mark.parametrize(
    "entry",
    [
        "[" * 100_000,
        '{"a":' * 5_000 + "1" + "}" * 5_000,
        "9" * 500_000,
        "{",
        "null",
        "[]",
        '"x"',
        "1e999",
        '{"id":1}',
    ],
)
def test_what_a_form_carries_is_bounded_before_it_is_read(client: TestClient, entry: str) -> None:
    assert client.post("/keep", data={"entry": entry}).status_code == 422


def test_a_form_of_many_entries_is_refused(client: TestClient) -> None:
    assert client.post("/keep", data={"entry": ["{}"] * 200}).status_code == 422


def test_a_fault_has_a_number_and_is_written_down(
    workshop: Workshop, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path / "data"))

    def broken(*_: object, **__: object) -> None:
        raise ZeroDivisionError("nobody saw this coming")

    monkeypatch.setattr("snugfast.web.journal.page.journal_page", broken)
    client = TestClient(create_for(workshop), base_url=HERE, raise_server_exceptions=False)
    page = client.get("/journal")
    assert page.status_code == 500
    number = page.text.split("(fault ")[1][:8]
    assert number in log_file().read_text()
    assert "Traceback" not in page.text


def test_what_the_system_answers_is_a_sentence(workshop: Workshop, monkeypatch: pytest.MonkeyPatch) -> None:
    def full(*_: object, **__: object) -> None:
        raise OSError(28, "No space left on device", "/somewhere")

    monkeypatch.setattr("snugfast.web.journal.page.journal_page", full)
    client = TestClient(create_for(workshop), base_url=HERE, raise_server_exceptions=False)
    page = client.get("/journal")
    assert page.status_code == 503
    assert "disk is full" in page.text


def test_a_correction_of_what_another_tab_took_back_is_not_kept(
    client: TestClient, workshop: Workshop
) -> None:
    (run,) = draft_runs(workshop, (RunSaid("Bramble", ("Ember 2",), "9"),)).entries
    keep(workshop, [run])
    (better,) = draft_runs(workshop, (RunSaid("Bramble", ("Ember 2",), "11"),), replaces=run).entries
    withdraw(workshop, run.id)
    late = client.post("/keep", data={"entry": canonical(entry_to_document(better))}, follow_redirects=False)
    assert late.status_code == 409
    assert "taken back meanwhile" in late.text
    with workshop.store.reading() as reads:
        assert reads.entry(better.id) is None


def test_two_corrections_of_one_run_do_not_both_count(client: TestClient, workshop: Workshop) -> None:
    (run,) = draft_runs(workshop, (RunSaid("Bramble", ("Ember 2",), "9"),)).entries
    keep(workshop, [run])
    drafts = [
        draft_runs(workshop, (RunSaid("Bramble", ("Ember 2",), minutes),), replaces=run).entries[0]
        for minutes in ("10", "11")
    ]
    sent = [
        client.post("/keep", data={"entry": json.dumps(entry_to_document(one))}, follow_redirects=False)
        for one in drafts
    ]
    assert [answer.status_code for answer in sent] == [303, 409]
