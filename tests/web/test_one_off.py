"""A car that comes or goes, on the pages: its one-off sheet worked through, put away, woken up."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from starlette.testclient import TestClient

from snugfast.facts.load import load_facts
from snugfast.records.entries import Checked, Done, Entry, LaidUp, TreatmentDone, WokenUp
from snugfast.records.ledger import CarRecord
from snugfast.usecases.shared.ledger import ledger_now
from snugfast.usecases.shared.workshop import Workshop
from tests.web.parsed import Form, Page

Visit = Callable[[str], Page]


def last(workshop: Workshop) -> Entry:
    with workshop.store.reading() as reads:
        return reads.entries_after(reads.position() - 1)[0].entry


@pytest.fixture
def car(workshop: Workshop) -> CarRecord:
    with workshop.store.reading() as reads:
        found = ledger_now(reads).car_named("Bramble")
    assert found is not None
    return found


@pytest.fixture
def path(car: CarRecord) -> str:
    return f"/cars/{car.id}"


def answers(page: Page) -> Form:
    """The one form of the list."""
    return page.form(page.response.url.path)


def test_the_sheet_says_minutes_and_price_and_every_step_has_its_cautions(visit: Visit, path: str) -> None:
    page = visit(f"{path}/arrive")
    assert page.status == 200
    assert "in all" in page.text and "Parts it uses up" in page.text
    cards = [node for node in page.main.all("li") if "card" in node.classes]
    assert len(cards) > 10
    pinion = next(node for node in cards if "Check the pinion and its set screw" in node.text)
    step = load_facts().checks["pinion_screw"].steps[0].split("{")[0][:30]
    assert pinion.text.index("Caution") < pinion.text.index(step)
    assert "adults only" in pinion.text


def test_a_learners_sheet_says_with_a_grown_up(visit: Visit, path: str) -> None:
    assert "with a grown-up" not in visit(f"{path}/arrive").text
    assert "with a grown-up" in visit(f"{path}/arrive?learner=true").text


def checked(workshop: Workshop) -> dict[str, Checked]:
    """What was answered last of each check."""
    with workshop.store.reading() as reads:
        facts = [row.entry.fact for row in reads.entries_after(0)]
    return {fact.check: fact for fact in facts if isinstance(fact, Checked)}


def test_many_checks_are_answered_in_one_save_and_what_nobody_looked_at_is_left(
    client: TestClient, visit: Visit, workshop: Workshop, path: str
) -> None:
    said = {"pinion_screw.found": "loose", "pinion_screw.done": "renewed", "wheel_nuts.found": "sound"}
    before = checked(workshop)
    sent = answers(visit(f"{path}/arrive")).send(client, "Save what I answered", **said)
    assert sent.status_code == 303
    told = {key: fact for key, fact in checked(workshop).items() if fact is not before.get(key)}
    new = {key: fact for key, fact in told.items() if fact != before.get(key)}
    assert set(new) == {"pinion_screw", "wheel_nuts"}
    assert [(answer.word, answer.spot, answer.done) for answer in new["pinion_screw"].answers] == [
        ("loose", "", Done.RENEWED)
    ]
    assert new["wheel_nuts"].looked and not new["wheel_nuts"].answers
    again = visit(f"{path}/arrive")
    pinion = next(node for node in again.main.all("li") if node.attributes.get("id") == "pinion_screw")
    assert "Answered" in pinion.text
    assert not list(pinion.all("select"))


def test_the_rest_looked_at_is_ok_in_one_tap(
    client: TestClient, visit: Visit, workshop: Workshop, path: str
) -> None:
    form = answers(visit(f"{path}/arrive"))
    open_checks = form.values["check"]
    assert len(open_checks) > 5
    form.send(client, "Looked at the rest: OK", **{"pinion_screw.found": "loose"})
    facts = checked(workshop)
    assert all(facts[check].looked for check in open_checks)
    assert facts["pinion_screw"].answers and not facts["wheel_nuts"].answers


def test_a_second_tap_keeps_nothing_twice(
    client: TestClient, visit: Visit, workshop: Workshop, path: str
) -> None:
    form = answers(visit(f"{path}/arrive"))
    form.send(client, "Save what I answered", **{"pinion_screw.found": "sound"})
    with workshop.store.reading() as reads:
        position = reads.position()
    assert form.send(client, "Save", **{"pinion_screw.found": "sound"}).status_code == 303
    with workshop.store.reading() as reads:
        assert reads.position() == position


def test_a_wrong_answer_is_refused_beside_its_check_and_the_others_stay_as_chosen(
    client: TestClient, visit: Visit, workshop: Workshop, path: str
) -> None:
    before = checked(workshop)
    said = {"pinion_screw.found": "wobbly", "wheel_nuts.found": "sound"}
    refused = Page.of(answers(visit(f"{path}/arrive")).send(client, "Save what I answered", **said))
    assert refused.status == 422
    pinion = next(node for node in refused.main.all("li") if node.attributes.get("id") == "pinion_screw")
    assert "is no answer to" in pinion.text
    assert refused.form(f"{path}/arrive").values["wheel_nuts.found"] == ["sound"]
    assert checked(workshop) == before


def test_nothing_answered_is_said(client: TestClient, visit: Visit, path: str) -> None:
    refused = Page.of(answers(visit(f"{path}/arrive")).send(client, "Save what I answered"))
    assert refused.status == 422 and "Nothing was answered" in refused.text


def test_all_of_it_is_done(client: TestClient, visit: Visit, workshop: Workshop, path: str) -> None:
    sent = visit(f"{path}/arrive").form(f"{path}/arrive/done").send(client)
    assert sent.status_code == 303
    assert isinstance(last(workshop).fact, TreatmentDone)
    assert "Worked through" in visit(f"{path}/arrive").text


def test_a_car_is_put_away_and_woken(client: TestClient, visit: Visit, workshop: Workshop, path: str) -> None:
    ask = visit(f"{path}/lay-up")
    assert "Batteries to storage voltage" in ask.text
    sent = ask.form(f"{path}/lay-up").send(client, words="top shelf")
    assert "was laid up: top shelf" in visit(sent.headers["location"]).text
    assert isinstance(last(workshop).fact, LaidUp)
    assert "It is stored." in visit(path).text
    assert "It is stored. Bring it back into use" in visit(f"{path}/arrive").text
    twice = Page.of(visit(f"{path}/lay-up").form(f"{path}/lay-up").send(client))
    assert twice.status == 422 and "laid up already" in twice.text
    assert "snugfast" not in twice.main.text.replace("Snugfast", "")
    visit(f"{path}/wake-up").form(f"{path}/wake-up").send(client)
    assert isinstance(last(workshop).fact, WokenUp)
    assert visit(f"{path}/arrive").main.where("h1").text == "Bramble: bring back into use"
