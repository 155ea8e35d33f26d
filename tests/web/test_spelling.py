"""Pages as their owner writes: nothing is left in our units, and what is typed there means what it says."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable

import pytest
from starlette.testclient import TestClient

from snugfast.core.spelling import CHOICES
from snugfast.records.entries import Ran
from snugfast.usecases.shared.ledger import ledger_now
from snugfast.usecases.shared.workshop import Workshop
from tests.web.parsed import Page

OTHERS = {name: choices[-1] for name, choices in CHOICES.items()} | {"decimal": "point"}
PAGES = (
    "/",
    "/outing",
    "/runs/new",
    "/sheet?car=Bramble&minutes=20&air=30&make=1",
    "/journal",
    "/cars/{car}",
    "/cars/{car}/drag",
    "/dates",
    "/packs/new",
    "/sources/wheel_nuts",
)
STUDIES = (
    "/cars/{car}/gearing?style=speed_passes&pinions=14-15",
    "/cars/{car}/gearing/fan?style=speed_passes",
    "/cars/{car}/wires",
)
OURS = re.compile(r"°C|km/h|\b20\d\d-\d\d-\d\d\b|\b(?:1[3-9]|2[0-3]):[0-5]\d\b")


def test_no_page_is_left_in_our_units(
    client: TestClient, visit: Callable[[str], Page], workshop: Workshop
) -> None:
    with workshop.store.reading() as reads:
        car = ledger_now(reads).car_named("Bramble")
    assert car is not None
    run = {"car": "Bramble", "pack": "Ember 1", "minutes": "9", "ambient": "77", "motor": "140"}
    assert client.post("/settings", data=OTHERS, follow_redirects=False).status_code == 303
    kept = visit("/settings")
    options = [one for select in kept.root.all("select") for one in select.all("option")]
    chosen = {node.text.strip() for node in options if "selected" in node.attributes}
    assert {node.text.strip() for node in options} >= {one for several in CHOICES.values() for one in several}
    assert set(OTHERS.values()) <= chosen
    echo = Page.of(client.post("/runs", data=run))
    assert "air 77 °F" in echo.text and "140 °F" in echo.text
    entry = next(n.attributes["value"] for n in echo.root.all("input") if n.attributes.get("name") == "entry")
    assert client.post("/keep", data={"entry": entry}, follow_redirects=False).status_code == 303
    with workshop.store.reading() as reads:
        ran = [row.entry.fact for row in reads.entries_after(0) if isinstance(row.entry.fact, Ran)][-1]
    assert ran.ambient_degC == pytest.approx(25.0) and ran.readings[0].value == pytest.approx(60.0)
    read_through(visit, (path.format(car=car.id) for path in PAGES))


@pytest.mark.soak
def test_no_study_is_left_in_our_units(
    client: TestClient, visit: Callable[[str], Page], workshop: Workshop
) -> None:
    with workshop.store.reading() as reads:
        car = ledger_now(reads).car_named("Bramble")
    assert car is not None
    client.post("/settings", data=OTHERS)
    read_through(visit, (path.format(car=car.id) for path in STUDIES))


def read_through(visit: Callable[[str], Page], paths: Iterable[str]) -> None:
    for path in paths:
        page = visit(path)
        assert page.status == 200, path
        left = [page.text[max(0, found.start() - 40) : found.end()] for found in OURS.finditer(page.text)]
        assert not left, (path, left)
