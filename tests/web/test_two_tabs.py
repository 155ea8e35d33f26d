"""Two tabs, two people: what was opened before the other kept something is refused, with both versions.

Authority: laws of this project.
"""

from __future__ import annotations

import re

from starlette.testclient import TestClient

from snugfast.usecases.journal.keeping import keep
from snugfast.usecases.journal.run_log import RunSaid, draft_runs
from snugfast.usecases.settings import draft_settings, judgement
from snugfast.usecases.shared.ledger import ledger_now
from snugfast.usecases.shared.workshop import Workshop


def fields(page: str) -> dict[str, str]:
    """What a form on a page would send, its hidden fields and those filled in."""
    found: dict[str, str] = {}
    for tag in re.findall(r"<input[^>]*>", page):
        name, value = re.search(r'name="([^"]*)"', tag), re.search(r'value="([^"]*)"', tag)
        if name:
            found[name[1]] = value[1] if value else ""
    return found


def pack_called(workshop: Workshop, name: str) -> str:
    with workshop.store.reading() as reads:
        pack = ledger_now(reads).pack_named(name)
    assert pack is not None
    return str(pack.id)


def test_settings_that_another_tab_changed_are_refused(client: TestClient) -> None:
    first, second = (fields(client.get("/settings").text) for _ in range(2))
    kept = client.post("/settings", data={**first, "bench_minute": "0.31"}, follow_redirects=False)
    assert kept.status_code == 303
    late = client.post("/settings", data={**second, "running_minute": "0.77"}, follow_redirects=False)
    assert late.status_code == 409
    assert "0.31" in late.text and "0.77" in late.text


def test_a_pack_that_another_tab_corrected_is_refused(client: TestClient, workshop: Workshop) -> None:
    path = f"/packs/{pack_called(workshop, 'Ember 2')}/change"
    first, second = (fields(client.get(path).text) for _ in range(2))
    echo = client.post(path, data={**first, "capacity": "4700 mAh"}).text
    assert client.post("/keep", data=_unescaped(fields(echo)), follow_redirects=False).status_code == 303
    late = client.post(path, data={**second, "name": "Ember Two"}, follow_redirects=False)
    assert late.status_code == 409
    assert "4.7 Ah" in late.text and "Ember Two" in late.text


def test_a_withdrawal_of_what_was_corrected_meanwhile_is_refused(
    client: TestClient, workshop: Workshop
) -> None:
    (run,) = draft_runs(workshop, (RunSaid("Bramble", ("Ember 2",), "9"),)).entries
    keep(workshop, [run])
    form = fields(client.get(f"/journal/{run.id}/withdraw").text)
    keep(workshop, draft_runs(workshop, (RunSaid("Bramble", ("Ember 2",), "11"),), replaces=run).entries)
    late = client.post(f"/journal/{run.id}/withdraw", data=form, follow_redirects=False)
    assert late.status_code == 409
    assert "11 min" in late.text
    again = fields(client.get(f"/journal/{run.id}/withdraw").text)
    assert client.post(f"/journal/{run.id}/withdraw", data=again, follow_redirects=False).status_code == 303


def test_a_withdrawal_of_what_more_rests_on_is_refused(client: TestClient, workshop: Workshop) -> None:
    with workshop.store.reading() as reads:
        car = next(
            row.entry for row in reads.entries_after(0) if getattr(row.entry.fact, "name", "") == "Bramble"
        )
    form = fields(client.get(f"/journal/{car.id}/withdraw").text)
    keep(workshop, draft_runs(workshop, (RunSaid("Bramble", ("Ember 2",), "8"),)).entries)
    late = client.post(f"/journal/{car.id}/withdraw", data=form, follow_redirects=False)
    assert late.status_code == 409
    assert "8 min" in late.text


def test_running_pages_see_a_zone_that_a_command_changed(client: TestClient, workshop: Workshop) -> None:
    before = client.get("/settings").text
    assert 'value="UTC"' in before
    keep(workshop, [draft_settings(workshop, judgement(zone="Pacific/Auckland"))])
    assert 'value="Pacific/Auckland"' in client.get("/settings").text
    assert client.app.state.bench.workshop().zone == "Pacific/Auckland"  # type: ignore[attr-defined]


def _unescaped(form: dict[str, str]) -> dict[str, str]:
    from html import unescape

    return {name: unescape(value) for name, value in form.items() if name in ("entry", "then", "seen")}
