"""Cars, packs, builds and parts on the pages."""

from __future__ import annotations

from collections.abc import Callable
from uuid import UUID

import pytest
from starlette.testclient import TestClient

from snugfast.records.entries import BuildChanged, CameBack, Entry, PartFitted, PartMoved, WorkDone
from snugfast.records.ledger import CarRecord
from snugfast.usecases.shared.ledger import ledger_now
from snugfast.usecases.shared.workshop import Workshop
from tests.web.parsed import Page

Visit = Callable[[str], Page]


def car(workshop: Workshop, name: str = "Bramble") -> CarRecord:
    with workshop.store.reading() as reads:
        record = ledger_now(reads).car_named(name)
    assert record is not None
    return record


def last(workshop: Workshop) -> Entry:
    with workshop.store.reading() as reads:
        return reads.entries_after(reads.position() - 1)[0].entry


def keep(client: TestClient, echoed: Page) -> str:
    """Where a form leads that is saved: at once, or after “Save this?”."""
    if echoed.status == 303:
        return str(echoed.response.headers["location"])
    assert echoed.status == 200, echoed.text
    sent = echoed.form("/keep").send(client)
    assert sent.status_code == 303, Page.of(sent).text
    return sent.headers["location"]


@pytest.mark.parametrize("history", ["new", "second-hand", "unknown"])
def test_a_car_is_added_from_a_starter_build(
    client: TestClient, visit: Visit, workshop: Workshop, history: str
) -> None:
    form = visit("/cars/new").form("/cars/new")
    sent = form.send(client, name="Old Tin", history=history, starter="truck-1-10-4wd-3s")
    page = visit(sent.headers["location"])
    assert page.main.where("h1").text.startswith("Old Tin")
    assert len(workshop.build(car(workshop, "Old Tin").build).places) > 60


def test_a_car_without_its_kind_is_asked_for_it(client: TestClient, visit: Visit) -> None:
    refused = Page.of(visit("/cars/new").form("/cars/new").send(client, name="Old Tin"))
    assert (refused.status, "Which kind of car" in refused.text) == (422, True)


def test_a_name_that_is_taken_is_refused_with_the_form_filled_in(client: TestClient, visit: Visit) -> None:
    said = {"name": "bramble", "history": "unknown", "starter": "truck-1-10-4wd-3s"}
    refused = Page.of(visit("/cars/new").form("/cars/new").send(client, **said))
    assert refused.status == 422
    assert "already a car called" in refused.text
    assert refused.form("/cars/new").values["name"] == ["bramble"]
    assert refused.form("/cars/new").values["history"] == ["unknown"]


def test_a_pack_is_added(client: TestClient, visit: Visit) -> None:
    form = visit("/packs/new").form("/packs/new")
    keep(client, Page.of(form.send(client, name="Ember 3", cells="3", capacity="5 Ah")))
    assert "Ember 3" in visit("/").text
    refused = Page.of(form.send(client, name="Ember 4", cells="3", capacity="lots"))
    assert refused.status == 422


def test_the_page_of_a_car_goes_from_pack_to_corners(visit: Visit, workshop: Workshop) -> None:
    page = visit(f"/cars/{car(workshop).id}")
    strip = page.main.where("div", class_="strip")
    labels = [node.text for node in strip.all("span") if "label" in node.classes]
    named = ["ESC" if notch == "controller" else notch for notch in workshop.facts.notches]
    assert [label.replace("\u00ad", "") for label in labels] == named
    places = [node.text for node in page.main.all("h3")]
    for place in workshop.build(car(workshop).build).places:
        assert place.name in places
    assert "M4 flanged nylon locknut" in page.text
    assert "practice" in page.text


def test_a_notch_of_the_strip_leads_to_its_places(visit: Visit, workshop: Workshop) -> None:
    page = visit(f"/cars/{car(workshop).id}")
    targets = {node.attributes["id"] for node in page.main.all("ul") if "id" in node.attributes}
    for link in page.main.where("div", class_="strip").all("a"):
        assert link.attributes["href"].removeprefix("#") in targets


def test_every_mistake_in_a_build_is_listed_beside_the_text(
    client: TestClient, visit: Visit, workshop: Workshop
) -> None:
    path = f"/cars/{car(workshop).id}/build"
    form = visit(path).form(path)
    [text] = form.values["build"]
    broken = text
    for right, wrong in (
        ('currency = "CRD"', 'currency = "coins"'),
        ('role = "motor"', 'role = "engine"'),
        ('thread = "M4"', 'thread = "M4.3"'),
    ):
        assert right in broken
        broken = broken.replace(right, wrong, 1)
    refused = Page.of(form.send(client, build=broken))
    assert refused.status == 422
    assert len(list(refused.main.where("div", role="alert").all("li"))) >= 3
    assert refused.form(path).values["build"] == [broken]


def test_an_edited_build_is_kept_and_a_stale_one_is_not(
    client: TestClient, visit: Visit, workshop: Workshop
) -> None:
    path = f"/cars/{car(workshop).id}/build"
    form = visit(path).form(path)
    [text] = form.values["build"]
    edited = text.replace("M4 flanged nylon locknut", "M4 serrated nylon locknut")
    echoed = Page.of(form.send(client, build=edited))
    run = visit("/runs/new?car=Bramble").form("/runs").send(client, car="Bramble", minutes="9")
    keep(client, Page.of(run))
    stale = Page.of(echoed.form("/keep").send(client))
    assert stale.status == 409
    assert "grew after you opened" in stale.text
    fresh = visit(path).form(path)
    page = visit(keep(client, Page.of(fresh.send(client, build=edited))))
    assert "M4 serrated nylon locknut" in page.text
    assert isinstance(last(workshop).fact, BuildChanged)


def test_a_part_is_fitted(client: TestClient, visit: Visit, workshop: Workshop) -> None:
    path = f"/cars/{car(workshop).id}/places/wheel_nuts"
    form = visit(path).form(f"{path}/fitted")
    keep(client, Page.of(form.send(client, spot=["front left"], spent="0.80")))
    fact = last(workshop).fact
    assert isinstance(fact, PartFitted)
    assert fact.spots == ("front left",)
    assert fact.spent is not None
    assert fact.spent.minor == 80


def test_a_size_that_differs_is_taken_from_its_field(
    client: TestClient, visit: Visit, workshop: Workshop
) -> None:
    path = f"/cars/{car(workshop).id}/places/pinion"
    form = visit(path).form(f"{path}/fitted")
    sizes = [value.replace("15", "17") for value in form.values["size"]]
    assert sizes != form.values["size"]
    keep(client, Page.of(form.send(client, size=sizes)))
    place = workshop.build(car(workshop).build).place("pinion")
    assert place is not None
    assert place.sizes["teeth_count"] == 17


def test_a_part_is_moved_to_another_car(client: TestClient, visit: Visit, workshop: Workshop) -> None:
    path = f"/cars/{car(workshop).id}/places/motor"
    form = visit(path).form(f"{path}/moved")
    keep(client, Page.of(form.send(client, to_car="Quarry")))
    fact = last(workshop).fact
    assert isinstance(fact, PartMoved)
    assert fact.to_car == car(workshop, "Quarry").id


def test_work_and_a_return_from_a_loan_are_logged(
    client: TestClient, visit: Visit, workshop: Workshop
) -> None:
    path = f"/cars/{car(workshop).id}"
    work = visit(f"{path}/work").form(f"{path}/work")
    keep(client, Page.of(work.send(client, event="radio work", words="new receiver")))
    assert isinstance(last(workshop).fact, WorkDone)
    back = visit(f"{path}/back").form(f"{path}/back")
    assert Page.of(back.send(client, packs_low="8", packs_high="3")).status == 422
    keep(client, Page.of(back.send(client, packs_low="3", packs_high="8")))
    assert isinstance(last(workshop).fact, CameBack)


@pytest.mark.parametrize("path", ["", "/build", "/places/wheel_nuts", "/work", "/back"])
def test_a_car_that_is_not_here_has_a_way_out(visit: Visit, path: str) -> None:
    lost = visit(f"/cars/{UUID(int=5)}{path}")
    assert lost.status == 404
    assert list(lost.main.all("a"))
