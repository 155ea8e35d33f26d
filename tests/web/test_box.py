"""The pages of the spares box, as forms without script."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from starlette.testclient import TestClient

from snugfast.usecases.shared.workshop import Workshop
from snugfast.usecases.stock.box import box_list
from tests.web.parsed import Page

Visit = Callable[[str], Page]
PINION = "/box/new?car=Bramble&at=pinion"


def kept(client: TestClient, echo: Page) -> Page:
    assert "Save this?" in echo.text, echo.text
    answer = echo.form("/keep").send(client)
    assert answer.status_code == 303
    return Page.of(client.get(answer.headers["location"]))


def add_pinion(client: TestClient, visit: Visit, **said: Any) -> Page:
    """The second form of the page is the one that saves."""
    data = {**visit(PINION).forms("/box/new")[-1].values, "count": ["2"], **said}
    return kept(client, Page.of(client.post("/box/new", data=data)))


def test_a_part_is_added_counted_ordered_and_comes(
    client: TestClient, visit: Visit, workshop: Workshop
) -> None:
    page = add_pinion(client, visit, minimum=["3"], price=["4.20"])
    assert "2 × pinion" in page.text and "below 3" in page.text and "worth 8.40 CRD" in page.text
    (line,) = box_list(workshop).lines
    acts = {"part": line.item.hex, "act": "ordered", "pieces": "4", "spent": "16.80"}
    page = kept(client, Page.of(client.post("/box/act", data=acts)))
    assert "4 on the way" in page.text
    acts = {"part": line.item.hex, "act": "arrived"}
    page = kept(client, Page.of(client.post("/box/act", data=acts)))
    assert "6 × pinion" in page.text
    page = kept(client, Page.of(visit("/box").form("/box/count").send(client, pieces="5")))
    assert "5 × pinion" in page.text
    unchanged = Page.of(visit("/box").form("/box/count").send(client))
    assert unchanged.status == 422 and "No number was changed" in unchanged.text
    assert "pinion" in client.get("/box.csv").text


def test_will_it_fit_is_answered_with_the_reason(visit: Visit) -> None:
    page = visit(f"{PINION}&size_key=bore_mm&size=3.175")
    assert "No Bramble, Pinion (1): bore 3.175 mm, but the shaft diameter of the motor is 5 mm" in page.text
    assert "Yes Bramble, Pinion (1)" in visit(f"{PINION}&size_key=teeth_count&size=17").text


def test_what_cannot_be_is_said_on_the_page(client: TestClient, visit: Visit) -> None:
    refused = Page.of(client.post("/box/act", data={"part": "nothing", "act": "arrived", "pieces": "1"}))
    assert refused.status == 422 and "There is no part" in refused.text
    data = {**visit(PINION).forms("/box/new")[-1].values, "count": ["two and a half"]}
    refused = Page.of(client.post("/box/new", data=data))
    assert refused.status == 422 and "Pieces in the box" in refused.text


def test_what_to_carry_what_to_buy_and_money_stand_on_pages(client: TestClient, visit: Visit) -> None:
    add_pinion(client, visit, minimum=["9"], price=["4.20"])
    page = visit("/box/carry?money=0&trip=50")
    assert "pinion" in page.text and "Tools for these parts" in page.text
    assert "1 × " in client.get("/box/carry.csv?money=0&trip=50").text or "pinion" in page.text
    assert client.get("/box/carry.pdf?money=0").headers["content-type"] == "application/pdf"
    page = visit("/box/buy")
    assert "below the minimum of 9" in page.text
    order = page.form("/box/act").send(client)
    assert "Ordered: 7 × pinion" in Page.of(order).text
    assert visit("/box/carry?pieces=none").status == 422
    page = visit("/box/plan?car=Bramble&packs=3")
    assert "Cars and packs" in page.text and "To charge before" in page.text
    assert client.get("/box/plan.pdf").headers["content-type"] == "application/pdf"
    assert "Nothing was entered as paid" in visit("/money").text
    assert visit("/money?budget=much").status == 422
