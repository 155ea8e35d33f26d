"""Packs on the pages: all of them, one of them, every form; and harm that gets words alone.

Authority: the same rules as in the use-cases, seen through the door: cautions stand before the step, nothing
is kept that cannot be, and a damaged pack keeps its car's sheet shut.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from typing import Any
from uuid import UUID

import pytest
from starlette.testclient import TestClient

from snugfast.records.entries import (
    ChargerAdded,
    Entry,
    PackAdded,
    PackCharged,
    PackHarm,
    PackHurt,
    PackLooked,
    PackMeasured,
    PackStands,
    Stands,
)
from snugfast.usecases.journal.keeping import keep
from snugfast.usecases.packs.log import MeasuredSaid, draft_hurt, draft_measured, draft_stands
from snugfast.usecases.packs.register import ChargerSaid, PackSaid, draft_charger, draft_pack
from snugfast.usecases.shared.ledger import ledger_now
from snugfast.usecases.shared.workshop import Workshop
from tests.web.parsed import Page

Visit = Callable[[str], Page]

ANSWERS = {
    "found": "nothing",
    "warmth": "21",
    "set_cells": "3",
    "set_chemistry": "lithium-polymer",
    "attended": "yes",
    "hard_surface": "yes",
    "balance_plug": "yes",
    "target": "full",
    "volts": "3.75 3.75 3.75",
}


def last(workshop: Workshop) -> Entry:
    with workshop.store.reading() as reads:
        return reads.entries_after(reads.position() - 1)[0].entry


def position(workshop: Workshop) -> int:
    with workshop.store.reading() as reads:
        return reads.position()


def pack_id(workshop: Workshop, name: str = "Ember 1") -> UUID:
    with workshop.store.reading() as reads:
        found = ledger_now(reads).pack_named(name)
    assert found is not None
    return found.id


@pytest.fixture
def charger(workshop: Workshop) -> str:
    keep(workshop, draft_charger(workshop, ChargerSaid("Twin", "10 A", "200 W", "2")).entries)
    return "Twin"


@pytest.fixture
def path(workshop: Workshop) -> str:
    return f"/packs/{pack_id(workshop)}"


def send(client: TestClient, visit: Visit, address: str, **said: Any) -> Page:
    """Fill the form of a page in, send it, and go where it leads."""
    answer = visit(address).form(address.split("?")[0]).send(client, **said)
    return Page.of(client.get(answer.headers["location"]) if answer.status_code == 303 else answer)


def kept(client: TestClient, echo: Page) -> Page:
    """Say yes to “Save this?” and go where it leads."""
    if "Save this?" not in echo.text:  # saved at once
        assert echo.status == 200 and "Saved" in echo.text, echo.text
        return echo
    answer = echo.form("/keep").send(client)
    assert answer.status_code == 303
    return Page.of(client.get(answer.headers["location"]))


def test_all_packs_stand_on_one_page_with_what_they_ask_for(visit: Visit, workshop: Workshop) -> None:
    keep(workshop, draft_measured(workshop, MeasuredSaid("Ember 2", "3.80 3.79 3.81")).entries)
    keep(workshop, draft_stands(workshop, "Ember 2", "plugged", car="Bramble").entries)
    page = visit("/packs")
    assert page.status == 200
    for words in ("Ember 1", "Ember 2", "Unplug it from Bramble.", "The switch off is not unplugged"):
        assert words in page.text
    assert "Where published views and practice differ" in page.text


def test_one_pack_says_charge_times_cells_and_where_it_was_driven(visit: Visit, workshop: Workshop) -> None:
    said = MeasuredSaid("Ember 1", "3.80 3.79 3.81", resistances="3 3.1 3", instrument="meter", warmth="21")
    keep(workshop, draft_measured(workshop, said).entries)
    page = visit(f"/packs/{pack_id(workshop)}")
    for words in (
        "% (",
        "Unplugged",
        "Plugged in with the switch off",
        "5 mA (1 to 20), guessed",
        "Left switched on",
        "Danger from",
        "3.790 V",
        "3.1 mΩ",
        "55.5 Wh by its label",
        "ask the airline",
        "Bramble 6 runs",
    ):
        assert words in page.text, words


def test_a_pack_is_added_and_corrected(client: TestClient, visit: Visit, workshop: Workshop) -> None:
    echo = send(client, visit, "/packs/new", name="New", cells="2", capacity="6000 mAh", label="50C")
    assert "Pack New joined: LiPo, 2 cells, 6 Ah" in echo.text
    kept(client, echo)
    fact = last(workshop).fact
    assert isinstance(fact, PackAdded)
    address = f"/packs/{fact.pack}/change"
    assert visit(address).form(address).values["label"] == ["50C"]
    kept(client, send(client, visit, address, capacity="6200 mAh"))
    entry = last(workshop)
    assert isinstance(entry.fact, PackAdded)
    assert entry.fact.capacity_Ah == 6.2
    assert entry.replaces is not None
    assert "6.2 Ah" in visit(f"/packs/{fact.pack}").text


def test_a_charger_is_added(client: TestClient, visit: Visit, workshop: Workshop) -> None:
    echo = send(client, visit, "/chargers/new", name="Twin", amps="10", watts="200", channels="2")
    kept(client, echo)
    assert isinstance(last(workshop).fact, ChargerAdded)
    assert "2 × 10 A, 200 W, a storage function" in visit("/packs").text


STEPS = {
    "looked": ({"found": "nothing"}, PackLooked, "looked at, felt and smelled: nothing found"),
    "measured": ({"volts": "3.80 3.79 3.81"}, PackMeasured, "cells 3.8 / 3.79 / 3.81 V"),
    "charged": ({"put_in": "3900"}, PackCharged, "charged: full, 3900 mAh put in"),
    "away": ({"stands": "left switched on", "car": "Bramble"}, PackStands, "left switched on in Bramble"),
    "hurt": ({"found": "run over", "car": "Bramble"}, PackHurt, "in Bramble: run over"),
}


@pytest.mark.parametrize("step", STEPS)
def test_each_step_shows_its_cautions_first_is_saved_at_once_and_undone(
    client: TestClient, visit: Visit, workshop: Workshop, path: str, step: str
) -> None:
    said, kind, words = STEPS[step]
    page = visit(f"{path}/log/{step}")
    assert page.text.index("Caution") < page.text.index("Save")
    told = send(client, visit, f"{path}/log/{step}", **said)
    assert "Saved" in told.text and words in told.text and "Ember 1" in told.text
    entry = last(workshop)
    assert isinstance(entry.fact, kind)
    ways = [
        node.attributes.get("href", node.attributes.get("action", "")) for node in told.root.all("a", "form")
    ]
    assert any(str(entry.id) in way for way in ways), ways


@pytest.mark.parametrize(
    ("step", "said", "words"),
    [
        ("looked", {}, "what was found is missing"),
        ("measured", {"volts": "4.35 4.35 4.35"}, "full at 4.20 V"),
        ("measured", {"volts": "3.8 3.8"}, "Two readings for three cells"),
        ("measured", {"volts": "3.8 3.8 3.8", "rested": "4 min"}, "has rested 4 min"),
        ("measured", {"resistances": "3 3 3", "instrument": "meter"}, "compared at one warmth"),
        ("charged", {"when": "2027-01-01"}, "has not come yet"),
        ("hurt", {}, "what happened to it is missing"),
    ],
)
def test_what_cannot_be_is_said_on_the_form_and_nothing_is_kept(
    client: TestClient,
    visit: Visit,
    workshop: Workshop,
    path: str,
    step: str,
    said: dict[str, str],
    words: str,
) -> None:
    before = position(workshop)
    page = send(client, visit, f"{path}/log/{step}", **said)
    assert page.status == 422
    assert words in page.text
    assert position(workshop) == before


def test_a_second_tap_keeps_nothing_twice(
    client: TestClient, visit: Visit, workshop: Workshop, path: str
) -> None:
    for step, said in (("looked", {"found": "nothing"}), ("gone", {"words": "sold"})):
        form = visit(f"{path}/log/{step}").form(f"{path}/log/{step}")
        assert form.send(client, **said).status_code == 303
        once = position(workshop)
        form.send(client, **said)
        assert position(workshop) == once


def test_what_lets_a_damaged_pack_be_used_is_asked_first(
    client: TestClient, visit: Visit, workshop: Workshop, path: str
) -> None:
    keep(workshop, draft_hurt(workshop, "Ember 1", ["run over"], when="2026-05-02").entries)
    before = position(workshop)
    page = send(client, visit, f"{path}/log/cleared", by="looked over cold, outdoors", found="run over")
    assert "Save this?" in page.text or page.status == 422, page.text
    assert position(workshop) == before


def test_a_session_with_every_answer_says_amperes_and_minutes_under_its_cautions(
    client: TestClient, visit: Visit, path: str, charger: str
) -> None:
    plan = send(client, visit, f"{path}/charge", charger=charger, **ANSWERS)
    assert plan.status == 200
    assert "Set 5.0 A" in plan.text
    assert plan.text.index("Stay with a charging pack") < plan.text.index("Set 5.0 A")
    assert "4.20 V a cell" in plan.text


@pytest.mark.parametrize("left_out", [name for name in ANSWERS if name != "target"])
def test_a_session_with_an_answer_left_out_does_not_start(
    client: TestClient, visit: Visit, path: str, charger: str, left_out: str
) -> None:
    said = {name: "" if name == left_out else value for name, value in ANSWERS.items()}
    plan = send(client, visit, f"{path}/charge", charger=charger, **said)
    assert "Do not start this charge" in plan.text
    assert not re.search(r"Set \d", plan.text)


def test_harm_found_at_the_charger_is_kept_from_the_same_page(
    client: TestClient, visit: Visit, workshop: Workshop, path: str, charger: str
) -> None:
    plan = send(
        client, visit, f"{path}/charge", charger=charger, **{**ANSWERS, "found": "swollen", "volts": ""}
    )
    assert "Do not charge" in plan.text
    assert "hazardous-waste point" in plan.text
    answer = plan.form("/keep").send(client)
    assert answer.status_code == 303
    fact = last(workshop).fact
    assert isinstance(fact, PackLooked)
    assert fact.found == (PackHarm.SWOLLEN,)


def test_a_damaged_pack_is_shown_in_words_and_its_charge_is_not_offered(
    visit: Visit, workshop: Workshop, path: str
) -> None:
    keep(workshop, draft_measured(workshop, MeasuredSaid("Ember 1", "3.80 3.79 3.81")).entries)
    keep(workshop, draft_hurt(workshop, "Ember 1", ["under water"]).entries)
    page = visit(path)
    assert "do not charge" in page.text
    assert "Only the maker's own instructions can bring it back" in page.text
    assert not re.search(r"\d %|\d mA\b|\d V\b|Wh|\brecharge by\b", page.text)
    assert "Charge it" not in page.text
    assert "Way back walked" in page.text
    card = next(node for node in visit("/packs").main.all("details") if "Ember 1" in node.text)
    assert not re.search(r"\d %|recharge by", card.text)


def test_the_sheet_of_its_car_is_shut_and_leads_to_the_way_out(
    client: TestClient, visit: Visit, workshop: Workshop
) -> None:
    keep(workshop, draft_hurt(workshop, "Ember 1", ["dented"], car="Bramble").entries)
    sheet = visit("/sheet?car=Bramble&minutes=20&make=1")
    assert "No sheet for Bramble until it is out" in sheet.text
    assert "Drive." not in sheet.text
    assert not [node for node in sheet.main.all("li") if "card" in node.classes]
    home = visit("/")
    assert home.text.index("Take it out of Bramble") < home.text.index("Going out next")
    link = next(node for node in sheet.main.all("a") if node.text == "It is out of the car")
    kept(client, send(client, visit, link.attributes["href"], stands=Stands.UNPLUGGED.value))
    assert "No sheet for" not in visit("/sheet?car=Bramble&minutes=20&make=1").text


def test_the_countdown_and_what_to_do_stand_on_the_first_page(visit: Visit, workshop: Workshop) -> None:
    keep(workshop, draft_measured(workshop, MeasuredSaid("Ember 2", "3.80 3.79 3.81")).entries)
    keep(workshop, draft_stands(workshop, "Ember 2", "plugged", car="Bramble").entries)
    text = visit("/").text
    assert "Unplug it from Bramble." in text
    assert "Ember 2" in text


def test_until_the_next_outing_tells_both_views_and_every_way(
    visit: Visit, path: str, workshop: Workshop
) -> None:
    keep(workshop, draft_measured(workshop, MeasuredSaid("Ember 1", "4.10 4.10 4.10")).entries)
    page = visit(f"{path}/store?until=30+days")
    for words in ("Published figures", "Common practice", "They differ", "age faster", "Wh", "mAh out"):
        assert words in page.text, words
    assert "about 5 % from full" in page.text.casefold()
    assert visit(f"{path}/store?until=2026-01-01").status == 422


def test_fit_together_and_views_answer_in_words(visit: Visit, workshop: Workshop) -> None:
    assert "Where views differ about packs" in visit("/packs/views").text
    refused = visit("/packs/together?pack=Ember+1&pack=Ember+2")
    assert "must not be connected" in refused.text
    assert "Nobody booked which type" in refused.text
    asked = visit("/packs/fit?make=1&car=Bramble&pack=Ember+1&amps=30&shares=100&minutes=12")
    assert asked.status == 422
    assert "nobody booked its size" in asked.text
    booked = PackSaid(
        "Booked", "3", "5000", label="50C", plug="two flat blades", size_mm="139x47x25", mass_g="380"
    )
    keep(workshop, [draft_pack(workshop, booked)])
    fits = visit(
        "/packs/fit?make=1&car=Bramble&pack=Booked&amps=30&shares=100&minutes=12&tray_mm=140x48x26&cut_off=3.3"
    )
    assert "Booked fits Bramble." in fits.text
    assert "is guessed" in fits.text


def test_a_chemistry_without_a_table_has_notes_and_cautions_and_no_sums(
    visit: Visit, workshop: Workshop
) -> None:
    keep(workshop, [draft_pack(workshop, PackSaid("Nick", "7", "4200", "nickel-metal hydride"))])
    page = visit(f"/packs/{pack_id(workshop, 'Nick')}")
    assert "nothing is worked out: follow its label" in page.text
    assert "can catch fire" in page.text
    assert "%" not in page.text


def test_a_pack_that_is_not_here_is_a_page_that_says_so(visit: Visit) -> None:
    page = visit(f"/packs/{UUID(int=5)}")
    assert page.status == 404
    assert "There is no such pack here" in page.text
    assert visit("/packs/nonsense").status == 422 or "no page" in visit("/packs/nonsense").text


def test_a_way_out_in_words_of_commands_leads_to_a_page(visit: Visit, path: str) -> None:
    page = visit(f"{path}/charge")
    assert "snugfast packs" not in page.text
