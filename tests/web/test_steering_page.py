"""The page of steering: the job in order, end points kept after an echo, lengths drawn and refused kindly."""

from __future__ import annotations

import html
import re

import pytest
from starlette.testclient import TestClient

from snugfast.records.entries import Checked, SteeringSet
from snugfast.usecases.shared.ledger import ledger_now
from snugfast.usecases.shared.workshop import Workshop
from snugfast.web.chassis.steering import EXAMPLE
from tests.web.test_mechanics_pages import Visit


@pytest.fixture
def path(workshop: Workshop) -> str:
    with workshop.store.reading() as reads:
        record = ledger_now(reads).car_named("Bramble")
    assert record is not None
    return f"/cars/{record.id}/steering"


def test_the_job_stands_in_order_with_what_to_hear(visit: Visit, path: str) -> None:
    text = visit(path).main.text
    places = [
        text.index(words) for words in ("Right model", "Horn square", "Left end point", "Throttle: neutral")
    ]
    assert places == sorted(places)
    assert "stalled" in text and "Good" in text


def test_lengths_are_drawn_and_tabled(visit: Visit, path: str) -> None:
    page = visit(f"{path}?{EXAMPLE}")
    assert page.status == 200
    assert "Left: about 1750 µs (50 %)" in page.main.text
    drawn = [svg for svg in page.main.all("svg") if "linkage" in svg.classes]
    assert len(drawn) == 2 and all(next(svg.all("title")).text for svg in drawn)
    assert any("chart" in svg.classes for svg in page.main.all("svg"))
    assert "Where the figures come from" in page.main.text


def test_lengths_that_cannot_close_are_refused_on_the_page(visit: Visit, path: str) -> None:
    page = visit(f"{path}?{EXAMPLE}&drag=5")
    assert page.status == 422
    assert "cannot close" in page.main.text and "measure again" in page.main.text
    typed = {field.attributes.get("name"): field.attributes.get("value") for field in page.main.all("input")}
    assert (typed["wheelbase"], typed["drag"]) == ("280", "5")  # what was typed is still there


def test_end_points_are_told_and_then_kept(client: TestClient, workshop: Workshop, path: str) -> None:
    form = {
        "radio": "pistol",
        "left": "92 %",
        "right": "88",
        "heard": "hummed, quiet now",
        "done": ["model", "horn"],
    }
    told = client.post(path, data=form)
    assert told.status_code == 200 and "left 92 %, right 88 %" in told.text
    refused = client.post(path, data={**form, "right": ""})
    assert refused.status_code == 422 and "Both end points" in refused.text and 'value="92 %"' in refused.text
    before = len(kept(workshop))
    entries = [html.unescape(one) for one in re.findall(r'name="entry" value="([^"]*)"', told.text)]
    assert len(entries) == 2
    client.post("/keep", data={"entry": entries, "then": path})
    facts = kept(workshop)[before:]
    assert isinstance(facts[0], SteeringSet) and facts[0].done == ("model", "horn")
    assert isinstance(facts[1], Checked)
    assert "pistol, left 92 %, right 88 %" in client.get(path).text


def test_lengths_are_kept_from_the_page(client: TestClient, path: str) -> None:
    fields = dict(pair.split("=") for pair in EXAMPLE.split("&"))
    told = client.post(f"{path}/lengths", data=fields)
    assert told.status_code == 200 and "steering linkage measured" in told.text
    wrong = client.post(f"{path}/lengths", data={**fields, "nonsense": "3"})
    assert wrong.status_code == 422


def kept(workshop: Workshop) -> list[object]:
    with workshop.store.reading() as reads:
        return [row.entry.fact for row in reads.entries_after(0)]
