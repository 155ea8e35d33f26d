"""Back from the field on the pages: one form, saved with undo, then what it means now."""

from __future__ import annotations

from collections.abc import Callable

from starlette.testclient import TestClient

from snugfast.records.entries import Done, Ran
from snugfast.records.standing import standing
from snugfast.usecases.shared.workshop import Workshop
from tests.web.parsed import Page

Visit = Callable[[str], Page]


def ran(workshop: Workshop) -> list[Ran]:
    with workshop.store.reading() as reads:
        entries = standing(row.entry for row in reads.entries_after(0)).entries
    return [entry.fact for entry in entries if isinstance(entry.fact, Ran)]


def test_an_outing_is_saved_at_once_and_taken_back_whole(
    client: TestClient, visit: Visit, workshop: Workshop
) -> None:
    before = len(ran(workshop))
    form = visit("/outing").form("/outing")
    said = {"car": ["Bramble", "Quarry"], "Bramble.pack": ["Ember 1", "Ember 2"], "Quarry.minutes": "9"}
    sent = form.send(client, "Save", **said, wet="mud")
    assert sent.status_code == 303, Page.of(sent).text
    assert len(ran(workshop)) == before + 3
    done = visit(sent.headers["location"])
    assert "What it means now" in done.text
    assert "Bramble" in done.text
    assert "by " in done.text  # what mud asks for has a deadline
    assert form.send(client, "Save", **said, wet="mud").status_code == 303  # a double tap is one outing
    assert len(ran(workshop)) == before + 3
    assert done.form("/outing/undo").send(client).status_code == 303
    assert len(ran(workshop)) == before


def test_it_is_filled_in_as_last_time(visit: Visit) -> None:
    values = visit("/outing").form("/outing").values
    assert values["Bramble.minutes"] == ["13"]
    assert values["Bramble.hits"] == ["a few"]
    assert values["ground"] == ["gravel"]
    assert "car" not in values


def test_what_broke_is_picked_and_asks_for_place_and_remedy(
    client: TestClient, visit: Visit, workshop: Workshop
) -> None:
    form = visit("/outing").form("/outing")
    said = {"car": ["Bramble"], "Bramble.broke": "wheel_nut_loose"}
    refused = Page.of(form.send(client, "Save", **said))
    assert refused.status == 422
    assert "where?" in refused.text
    said["Bramble.at"] = ["front left"]
    assert "what did you do about it?" in Page.of(form.send(client, "Save", **said)).text
    sent = form.send(client, "Save", **said, **{"Bramble.did": Done.LEFT.value})
    assert sent.status_code == 303, Page.of(sent).text
    [broke] = ran(workshop)[-1].broke
    assert (broke.mode, broke.spot, broke.done) == ("wheel_nut_loose", "front left", Done.LEFT)
    assert "Fix first" in visit(sent.headers["location"]).text


def test_temperatures_and_words_are_kept(client: TestClient, visit: Visit, workshop: Workshop) -> None:
    said = {
        "car": ["Bramble"],
        "Bramble.motor": "61",
        "Bramble.after": "20",
        "Bramble.noticed": ["noise"],
        "Bramble.words": "clicks in turns",
    }
    sent = visit("/outing").form("/outing").send(client, "Save", **said)
    assert sent.status_code == 303, Page.of(sent).text
    last = ran(workshop)[-1]
    assert [(one.spot, one.value, one.seconds_after_stop) for one in last.readings] == [
        ("motor can", 61.0, 20.0)
    ]
    assert last.noticed == ("noise", "clicks in turns")


def test_nothing_chosen_is_asked_back(client: TestClient, visit: Visit) -> None:
    refused = Page.of(visit("/outing").form("/outing").send(client, "Save"))
    assert refused.status == 422
    assert "Choose the cars" in refused.text
