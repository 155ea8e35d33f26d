"""The fault hunt on a page: without script, one tap an answer, undone, answered by two, ended.

Authority: laws of this project.
"""

from __future__ import annotations

from collections.abc import Callable

from starlette.testclient import TestClient

from snugfast.records.entries import Hunted
from snugfast.usecases.hunt.hunt import HuntView, hunt_of, hunt_view, hunts_of
from snugfast.usecases.shared.ledger import ledger_now
from snugfast.usecases.shared.workshop import Workshop
from tests.usecases.bench import facts
from tests.web.parsed import Page

Visit = Callable[[str], Page]


def path_of(workshop: Workshop) -> str:
    with workshop.store.reading() as reads:
        car = ledger_now(reads).car_named("Bramble")
    assert car is not None
    return f"/cars/{car.id}/hunt"


def tap(client: TestClient, path: str, page: Page, answer: str, **more: str) -> int:
    """Touch an answer of the page as it stands."""
    hidden = {
        node.attributes["name"]: node.attributes["value"]
        for node in page.root.all("input")
        if node.attributes.get("type") == "hidden"
    }
    sent = client.post(path, data={**hidden, "answer": answer, **more}, follow_redirects=False)
    return sent.status_code


def test_a_hunt_from_the_symptom_to_the_cause(client: TestClient, visit: Visit, workshop: Workshop) -> None:
    path = path_of(workshop)
    asked = visit(path)
    assert "What does it do?" in asked.text and "battery out if that is safe" in asked.text
    assert client.post(path, data={"answer": ""}).status_code == 422
    assert client.post(path, data={"does": "wheels_still"}, follow_redirects=False).status_code == 303
    for _ in range(8):
        page, view = visit(path), hunt_view(workshop, "Bramble")
        assert view is not None and len(list(page.root.where("ol", class_="likely").all("li"))) == 5
        if view.test is None:
            break
        slips = {
            "touch_throttle": "Motor turns, spur stands still",
            "mesh_play": "Pinion turns or slides on its shaft",
        }
        word = slips.get(view.test.key)
        assert tap(client, path, page, f"shown:{word}" if word else "good") == 303
    assert "pinion loose on the motor shaft" in page.text and "Ruled out" in page.text
    assert "hread-lock" in page.text and "N·m" in page.text
    assert tap(client, path, page, "undo") == 303 and hunt_view(workshop, "Bramble") != view
    assert tap(client, path, page, "fixed") == 409  # somebody took an answer back meanwhile
    page = visit(path)
    assert tap(client, path, page, "give-up") == 303
    assert "What does it do?" in visit(path).text
    assert [one.fact.end.value for one in hunts_of(workshop) if isinstance(one.fact, Hunted)] == ["given up"]


def test_smoke_stops_first_and_goes_no_further_while_it_is_hot(
    client: TestClient, visit: Visit, workshop: Workshop
) -> None:
    path = path_of(workshop)
    assert client.post(path, data={"does": "smoke"}, follow_redirects=False).status_code == 303
    for hot in ("shown:Still hot, smoking or hissing", "cannot-tell"):
        assert tap(client, path, visit(path), hot) == 422
    page = visit(path)
    said = ("Stop. Battery out", "call the fire service", "everything cold?")
    assert [page.text.index(one) for one in said] == sorted(page.text.index(one) for one in said)
    assert tap(client, path, page, "good") == 303
    assert "Look at the battery all round" in visit(path).text


def shows(view: HuntView, cause: str) -> str:
    """The answer that a test of this hunt gives when this is the cause."""
    assert view.test is not None
    known = facts().hunt_tests[view.test.key]
    return next((f"shown:{one.word}" for one in known.answers if cause in one.links), "good")


def test_where_it_is_is_touched_on_a_drawing_of_the_car(
    client: TestClient, visit: Visit, workshop: Workshop
) -> None:
    path = path_of(workshop)
    client.post(path, data={"does": "one_wheel"}, follow_redirects=False)
    while (view := hunt_view(workshop, "Bramble")) is not None and view.test is not None:
        assert tap(client, path, visit(path), shows(view, "shaft_out")) == 303
    page = visit(path)
    assert view is not None and view.mending is not None and view.mending.cause == "shaft_out"
    radios = [n for n in page.root.all("input") if n.attributes.get("type") == "radio"]
    assert {n.attributes["name"] for n in radios} == {"at"}
    assert {n.attributes["value"] for n in radios} == {"", *view.mending.at}
    assert [n.attributes["value"] for n in radios if "checked" in n.attributes] == [""]
    wheels = [n for n in page.root.all("label") if "wheel" in n.attributes.get("class", "").split()]
    assert len(wheels) == 8, "four corners for each of two parts"
    at = next(one for one in view.mending.at if one.endswith(", rear left"))
    assert tap(client, path, page, "left", at=at) == 303
    ended = hunt_of(hunts_of(workshop)[0])
    assert ended.broke is not None and ended.broke.spot == "rear left"
