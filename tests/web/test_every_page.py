"""What holds for every page: headings in order, every field labelled, only our own script and styles."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from datetime import timedelta
from itertools import pairwise
from pathlib import Path

import pytest
from starlette.testclient import TestClient

from snugfast.records.entries import Ran
from snugfast.records.store.engines import file_url
from snugfast.usecases.shared.ledger import ledger_now
from snugfast.usecases.shared.workshop import Workshop
from tests.web.parsed import Node, Page
from tests.web.workshops import BEGAN, Clock, reopened

Visit = Callable[[str], Page]
PATHS = [
    "/",
    "/runs/new",
    "/catch-up",
    "/broke",
    "/sheet",
    "/sheet?car=Bramble&minutes=20&make=1",
    "/sheet?minutes=1&wet=mud&just_ran=true&make=1",
    "/journal",
    "/journal?words=gravel",
    "/more",
    "/box",
    "/box/new",
    "/box/carry",
    "/box/carry?car=Bramble&pieces=4&money=0&trip=10",
    "/box/plan",
    "/box/plan?car=Bramble&packs=3&wet=mud",
    "/box/buy",
    "/money",
    "/money?since=2026-05-01&budget=20",
    "/box/buy?money=3",
    "/box/new?car=Bramble",
    "/box/new?car=Bramble&at=pinion&size_key=bore_mm&size=3.175&size_key=teeth_count&size=17",
    "/outing",
    "/outing/done",
    "/cars/{car}/change",
    "/settings",
    "/sources",
    "/sources/wheel_nut_loose",
    "/sources/wheel_nuts",
    "/sources/common-practice",
    "/sources/bench_minute_minor",
    "/sources/power-off",
    "/sources/body_off",
    "/sources/wash_mud",
    "/sources/wake_up",
    "/sources/salt%20water",
    "/cars/new",
    "/cars/{car}",
    "/cars/{car}/build",
    "/cars/{car}/hunt",
    "/cars/{car}/work",
    "/cars/{car}/back",
    "/cars/{car}/arrive",
    "/cars/{car}/lay-up",
    "/cars/{car}/wake-up",
    "/cars/{car}/places/wheel_nuts",
    "/cars/{car}/places/wheel_nuts/joint",
    "/cars/{car}/places/pinion_screw/joint",
    "/cars/{car}/joints",
    "/cars/{car}/mesh?shift=0.2",
    "/cars/{car}/drag",
    "/cars/{car}/rail",
    "/cars/{car}/fluids",
    "/cars/{car}/rebuild/shock",
    "/cars/{car}/motor",
    "/cars/{car}/steering",
    "/cars/{car}/wires",
    "/cars/{car}/solder?adult=true",
    "/cars/{car}/radio",
    "/cars/{car}/setup",
    "/cars/{car}/setup?against=today",
    "/cars/{car}/setup?back=today",
    "/cars/{car}/setup?air=3&tried=spring+front+0.65&drop=20&steer=30&mix=300%2B500%3D400",
    "/cars/{car}/gearing?style=speed_passes&pinions=14-16",
    "/cars/{car}/gearing/fan?style=speed_passes",
    "/cars/{car}/gearing/tyres?tyre=135",
    "/bearings",
    "/kit",
    "/phones",
    "/dates",
    "/field/notes",
    "/labels",
    "/packs/new",
    "/journal/{run}",
    "/journal/{run}/withdraw",
    "/journal/{run}/correct",
    "/nowhere",
    "/sources/nothing",
]


def labelled(page: Page) -> Iterator[Node]:
    """Fields that a label, or an own name, speaks for."""
    named = {label.attributes.get("for") for label in page.root.all("label")}
    inside = [field for label in page.root.all("label") for field in label.all("input", "select", "textarea")]
    for field in page.root.all("input", "select", "textarea"):
        if field.attributes.get("id") in named or "aria-label" in field.attributes or field in inside:
            yield field


@pytest.fixture(scope="module")
def workshop(story: Path) -> Iterator[Workshop]:
    """One for all: nothing is written here."""
    workshop = reopened(file_url(story), Clock(BEGAN + timedelta(days=8)))
    yield workshop
    workshop.store.close()


@pytest.fixture
def address(workshop: Workshop) -> Callable[[str], str]:
    with workshop.store.reading() as reads:
        car = ledger_now(reads).car_named("Bramble")
        run = next(row.entry for row in reads.entries_after(0) if isinstance(row.entry.fact, Ran))
    assert car is not None
    return lambda path: path.format(car=car.id, run=run.id)


@pytest.mark.parametrize("path", PATHS)
def test_a_page_is_sound(visit: Visit, address: Callable[[str], str], path: str) -> None:
    page = visit(address(path))
    assert page.status == (404 if path in ("/nowhere", "/sources/nothing") else 200)
    assert page.root.where("html").attributes["lang"] == "en"
    assert next(page.root.all("title")).text.endswith("· Snugfast")

    levels = [int(node.tag[1]) for node in page.main.all("h1", "h2", "h3", "h4")]
    assert levels.count(1) == 1
    assert levels[0] == 1
    assert all(below - above <= 1 for above, below in pairwise(levels)), levels

    spoken = list(labelled(page))
    for field in page.root.all("input", "select", "textarea"):
        assert field.attributes.get("type") == "hidden" or field in spoken, field.attributes

    ids = [node.attributes["id"] for node in page.root.all(*ANY) if "id" in node.attributes]
    assert len(ids) == len(set(ids))
    for node in page.root.all(*ANY):
        assert "style" not in node.attributes
        assert not any(name.startswith("on") for name in node.attributes)
    assert not list(page.root.all("style"))
    assert {script.attributes.get("src") for script in page.root.all("script")} <= {"/static/snugfast.js"}


ANY = (
    *("a", "article", "aside", "body", "button", "dd", "details", "div", "dl", "dt", "fieldset", "footer"),
    *("form", "h1", "h2", "h3", "header", "input", "label", "li", "main", "nav", "ol", "option", "p", "path"),
    *("rect", "section", "select", "span", "summary", "svg", "table", "td", "textarea", "th", "ul"),
)


@pytest.mark.slow
def test_every_link_leads_somewhere(client: TestClient, visit: Visit, address: Callable[[str], str]) -> None:
    links: dict[str, str] = {}
    for path in PATHS:
        page = visit(address(path))
        ids = {node.attributes["id"] for node in page.root.all(*ANY) if "id" in node.attributes}
        for node in page.root.all("a"):
            target, _, fragment = node.attributes["href"].partition("#")
            assert target or fragment in ids, (path, fragment)
            # One of each kind is enough: identities, keys and what is asked are left out of the comparison.
            links.setdefault(
                re.sub(r"[0-9a-f-]{36}|(?<=sources/)\w.*|(?<=places/)\w+|(?<==)[^&]*", "*", target), target
            )
    for target in filter(None, links.values()):
        assert client.get(target, follow_redirects=False).status_code in (200, 303), target


def test_an_error_page_has_a_sentence_and_a_way_out(visit: Visit) -> None:
    lost = visit("/sources/wheel_nut_los")
    assert lost.status == 404
    assert "Did you mean" in lost.text
    assert any(a.attributes["href"] == "/" for a in lost.main.all("a"))


def test_a_fault_of_ours_is_said_as_such(workshop: Workshop, monkeypatch: pytest.MonkeyPatch) -> None:
    from snugfast.web.app import create_for
    from snugfast.web.home import page as home

    def broken(workshop: Workshop) -> None:
        raise ZeroDivisionError

    monkeypatch.setattr(home, "overview", broken)
    client = TestClient(create_for(workshop), base_url="http://127.0.0.1", raise_server_exceptions=False)
    page = Page.of(client.get("/"))
    assert page.status == 500
    assert "broke on our side" in page.text
    assert "ZeroDivision" not in page.response.text
