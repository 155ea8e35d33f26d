"""The page of the set-up: corners as a table, changes told before they are kept, side by side, the way "
"back."""

from __future__ import annotations

import html
import re

import pytest
from starlette.testclient import TestClient

from snugfast.usecases.shared.ledger import ledger_now
from snugfast.usecases.shared.workshop import Workshop


@pytest.fixture
def car(workshop: Workshop) -> str:
    with workshop.store.reading() as reads:
        record = ledger_now(reads).car_named("Bramble")
    assert record is not None
    return f"/cars/{record.id}"


def test_a_change_is_told_kept_and_taken_back_as_jobs(client: TestClient, car: str) -> None:
    path = f"{car}/setup"
    assert "450 cSt" in client.get(path).text
    form = {
        "changes": "camber front -2",
        "why": "nervous",
        "camber/rear left": "-1",
        "shock oil/front left": "450",
    }
    told = client.post(path, data=form)
    assert "camber front −2, camber rear left −1; why: nervous" in html.unescape(told.text)
    entries = [html.unescape(one) for one in re.findall(r'name="entry" value="([^"]*)"', told.text)]
    client.post("/keep", data={"entry": entries, "then": path})
    page = client.get(path).text
    assert "−2°" in page and "Why: nervous" in page and "Camber, rear: entered on one side only" in page
    refused = client.post(path, data={"changes": "shock oil front 35wt"})
    assert refused.status_code == 422 and "from the bottle" in refused.text
    assert client.get(f"{path}?against=nowhere").status_code == 422
    assert "Against" in client.get(f"{path}?against=yesterday").text
    assert "Not known of that day" in client.get(f"{path}?back=yesterday").text
    paper = client.get(f"/paper/setup/{car.rsplit('/', 1)[1]}")
    assert paper.content.startswith(b"%PDF")
    journal = client.get("/journal").text  # its kind of entry is found there under a word of its own
    assert "camber front −2, camber rear left −1" in html.unescape(journal) and "set-up" in journal
