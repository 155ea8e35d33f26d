"""Pages of wires, connectors and the receiver's supply: what they answer, a picture, kind refusals."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from starlette.testclient import TestClient

from snugfast.usecases.leads.wiring import Wiring, WiringSaid
from snugfast.usecases.shared.ledger import ledger_now
from snugfast.usecases.shared.workshop import Workshop
from snugfast.usecases.twin.how_to_run import HowToRun
from tests.web.parsed import Page

Visit = Callable[[str], Page]


@pytest.fixture
def car(workshop: Workshop) -> str:
    with workshop.store.reading() as reads:
        record = ledger_now(reads).car_named("Bramble")
    assert record is not None
    return f"/cars/{record.id}"


def test_the_rail_is_answered_drawn_and_tried_on_the_stand(visit: Visit, car: str) -> None:
    page = visit(f"{car}/rail?stall=5A&gives=2A")
    assert page.status == 200
    for words in ("This servo can reset this receiver", "restarts", "Hands off", "never two supplies", "µF"):
        assert words in page.main.text
    drawn = next(svg for svg in page.main.all("svg") if "bars" in svg.classes)
    assert "Servo stalled at full lock 2.3 V" in drawn.attributes["aria-label"]
    assert "Where the figures come from" in page.main.text


def test_what_no_supply_can_give_is_refused_and_the_form_stays(visit: Visit, car: str) -> None:
    page = visit(f"{car}/rail?supply=12V")
    assert page.status == 422
    assert "5 to 8.4 V" in page.main.text
    assert next(field for field in page.main.all("input") if field.attributes.get("name") == "supply")


def test_the_car_and_its_servo_lead_to_it(visit: Visit, car: str) -> None:
    assert f"{car}/rail" in [node.attributes.get("href") for node in visit(car).main.all("a")]
    assert f"{car}/rail" in [
        node.attributes.get("href") for node in visit(f"{car}/places/servo").main.all("a")
    ]


def test_wires_are_drawn_and_their_upgrades_told(visit: Visit, car: str) -> None:
    page = visit(f"{car}/wires?wire=16AWG&plug_ohm=2+mohm")
    assert page.status == 200
    for words in ("Battery wires", "What better ones buy", "solder joints", "Don’t lengthen battery wires"):
        assert words in page.main.text
    drawn = next(svg for svg in page.main.all("svg") if "bars" in svg.classes)
    assert "Hottest in the run: Battery wires" in drawn.attributes["aria-label"]
    refused = visit(f"{car}/wires?wire=12")
    assert refused.status == 422 and "12AWG or 3.3 mm2" in refused.main.text


def test_soldering_stands_behind_a_grown_up(visit: Visit, car: str) -> None:
    closed = visit(f"{car}/solder")
    assert "an adult who has done it" in closed.main.text and "strands" not in closed.main.text
    opened = visit(f"{car}/solder?adult=true&iron=25W")
    for words in ("adults only", "ONE wire", "too weak", "wash your hands"):
        assert words in opened.main.text


def test_a_motor_is_read_told_and_saved_first_then_held_against_itself(
    visit: Visit, client: TestClient, car: str
) -> None:
    page = visit(f"{car}/motor")
    assert "Spin it with a drill" in page.main.text and "adults only" in page.main.text
    told = client.post(f"{car}/motor", data={"drill_rpm": "1000", "pairs": "0.270, 0.268, 0.241"})
    assert told.status_code == 200
    assert "C–A is the odd pair" in told.text and "Save this?" in told.text
    refused = client.post(f"{car}/motor", data={"ohms": "210, 212, 211"})
    assert refused.status_code == 422 and "millivolts over amperes" in refused.text


def test_fluids_and_one_rebuild_are_told_with_their_cautions(visit: Visit, car: str) -> None:
    page = visit(f"{car}/fluids")
    for words in ("Front shocks", "cSt", "Which grease where", "What attacks what", "slipper clutch pads"):
        assert words in page.main.text
    assert any("bars" in svg.classes for svg in page.main.all("svg"))
    links = [node.attributes.get("href") for node in page.main.all("a")]
    assert f"{car}/rebuild/shock" in links
    job = visit(f"{car}/rebuild/shock")
    for words in ("Bleed", "Silicone oil on the floor", "It uses up", "likely now"):
        assert words in job.main.text
    assert visit(f"{car}/rebuild/gearbox").status == 404


def test_a_page_of_wires_opened_again_drives_nothing_anew(
    visit: Visit, car: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Driving takes a second or two; another question is driven of its own."""
    from snugfast.web.leads import wires

    driven: list[str] = []
    before = wires.wiring_of

    def counted(workshop: Workshop, said: WiringSaid, how: HowToRun) -> Wiring:
        driven.append(said.ambient)
        return before(workshop, said, how)

    monkeypatch.setattr(wires, "wiring_of", counted)
    for air in ("5C", "5C", "9C", "5C"):
        assert visit(f"{car}/wires?ambient={air}").status == 200
    assert driven == ["5C", "9C"]
