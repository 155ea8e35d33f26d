"""Pages of mechanics: opened from a place and a check, worked out anew by their forms, refused kindly."""

from __future__ import annotations

import re
from collections.abc import Callable

import pytest
from starlette.testclient import TestClient

from snugfast.usecases.mechanics.drag_test import past_trials
from snugfast.usecases.shared.ledger import ledger_now
from snugfast.usecases.shared.workshop import Workshop
from tests.web.parsed import Page

Visit = Callable[[str], Page]


@pytest.fixture
def car(workshop: Workshop) -> str:
    with workshop.store.reading() as reads:
        record = ledger_now(reads).car_named("Bramble")
    assert record is not None
    return f"/cars/{record.id}"


def links(page: Page) -> list[str]:
    return [node.attributes["href"] for node in page.main.all("a")]


@pytest.mark.parametrize(
    ("path", "words"),
    [
        ("/mesh", ("As it should be", "contact ratio", "Setting it", "strips first")),
        ("/joints", ("Motor screws", "Wheel nuts")),
        ("/places/motor_screws/joint", ("gives first", "hex driver 2.5 mm", "Medium strength", "24 h")),
        ("/places/wheel_nuts/joint", ("spins freely", "Fit a new one")),
        ("/places/pinion_screw/joint", ("What it holds", "peak torque", "flat")),
        ("/drag", ("Roll the car both ways", "Spin a wheel by hand", "Never spin it by the motor")),
    ],
)
def test_a_page_says_what_is_asked_and_where_it_comes_from(
    visit: Visit, car: str, path: str, words: tuple[str, ...]
) -> None:
    page = visit(f"{car}{path}")
    assert page.status == 200
    for word in words:
        assert word.casefold() in page.main.text.casefold(), word
    if path not in ("/joints", "/drag"):
        assert "Where the figures come from" in page.main.text
        assert "from memory" in page.main.text or "the text itself was read" in page.main.text


@pytest.mark.parametrize("path", ["/bearings", "/kit", "/bearings?car=Bramble", "/kit?car=Bramble"])
def test_lists_over_cars_open(visit: Visit, path: str) -> None:
    page = visit(path)
    assert page.status == 200
    assert "Bramble" in page.main.text
    assert list(page.main.all("table"))


def test_the_mesh_is_drawn_now_and_as_it_should_be(visit: Visit, client: TestClient, car: str) -> None:
    page = visit(f"{car}/mesh?shift=0.3+mm")
    drawings = [svg for svg in page.main.all("svg") if "mesh" in svg.classes]
    assert len(drawings) == 3
    assert all(next(svg.all("title")).text for svg in drawings)
    assert "nearer" in page.main.text
    file = client.get(f"{car}/mesh.svg?shift=0.3+mm")
    assert file.headers["content-type"].startswith("image/svg+xml")
    assert file.text.startswith("<svg")
    css = client.get("/static/css/pieces.css").text
    assert re.search(r"\.mesh \{[^}]*overflow: hidden", css)  # or the gears run over the page


@pytest.mark.parametrize(
    ("path", "status", "helps"),
    [
        ("/mesh?pinion=4", 422, "Did you mean 14"),
        ("/mesh?pitch=48", 422, "48 DP"),
        ("/places/motor_screws/joint?head_width=0.22", 422, "0.22 in"),
        ("/places/nothing/joint", 404, "no place"),
        ("/places/body/joint", 422, "no screwed joint"),
    ],
)
def test_what_cannot_be_is_refused_with_a_suggestion(
    visit: Visit, car: str, path: str, status: int, helps: str
) -> None:
    page = visit(f"{car}{path}")
    assert page.status == status
    assert helps in page.main.text
    assert list(page.main.all("form"))


def test_bearings_refuse_a_load_of_nothing(visit: Visit) -> None:
    page = visit("/bearings?load=0+N")
    assert page.status == 422 and "above zero" in page.main.text


def test_a_place_and_a_check_lead_to_the_joint(visit: Visit, client: TestClient, car: str) -> None:
    assert f"{car}/places/wheel_nuts/joint" in links(visit(f"{car}/places/wheel_nuts"))
    assert f"{car}/mesh" in links(visit(f"{car}/places/pinion"))
    assert f"{car}/drag" in links(visit(f"{car}/places/wheels"))
    one = client.get(f"{car}/joints?check=wheel_nuts", follow_redirects=False)
    assert one.headers["location"] == f"{car}/places/wheel_nuts/joint"
    several = visit(f"{car}/joints?check=gearbox_heads")
    assert "Front gearbox screws" in several.main.text and "Wheel nuts" not in several.main.text


def test_a_sheet_leads_from_how_tight_to_the_joint(visit: Visit) -> None:
    sheet = visit("/sheet?car=Bramble&minutes=60&make=1")
    ways = [href for href in links(sheet) if "/joints?check=" in href]
    assert ways
    assert visit(ways[0]).status == 200


def test_rolls_are_told_then_kept_then_listed(
    visit: Visit, client: TestClient, workshop: Workshop, car: str
) -> None:
    form = visit(f"{car}/drag").form(f"{car}/drag/roll")
    asked = Page.of(form.send(client, there="2.1, 2.2, 2.0", back="2.3, 2.2, 2.3"))
    assert "Save this?" in asked.text and "Rolling resistance" in asked.text
    assert past_trials(workshop, "Bramble") == ()
    kept = asked.form("/keep").send(client)
    assert kept.status_code == 303
    assert len(past_trials(workshop, "Bramble")) == 1
    assert "Timed before" in visit(f"{car}/drag").main.text


def test_a_driven_wheel_is_refused_until_its_shaft_is_out(visit: Visit, client: TestClient, car: str) -> None:
    form = visit(f"{car}/drag").form(f"{car}/drag/spin")
    refused = Page.of(form.send(client, corner="front left", times="5.2, 5.3"))
    assert refused.status == 422 and "turns the drivetrain" in refused.text
    asked = Page.of(form.send(client, corner="front left", times="5.2, 5.3", runs_free="true"))
    assert "This is the baseline" in asked.text


def test_a_car_that_is_not_here_is_a_page_that_is_not_here(visit: Visit) -> None:
    for path in ("mesh", "joints", "drag"):
        assert visit(f"/cars/00000000-0000-7000-8000-000000000000/{path}").status == 404
