"""Logging runs: shown in full before it is kept, all mistakes at once, a double tap is one entry."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from starlette.testclient import TestClient

from snugfast.records.entries import CaughtUp, Entry, Failed, Ran
from snugfast.records.standing import standing
from snugfast.usecases.shared.workshop import Workshop
from tests.web.parsed import Page

Visit = Callable[[str], Page]


def stands(workshop: Workshop) -> tuple[Entry, ...]:
    with workshop.store.reading() as reads:
        return standing(row.entry for row in reads.entries_after(0)).entries


def position(workshop: Workshop) -> int:
    with workshop.store.reading() as reads:
        return reads.position()


def test_the_short_form_is_echoed_then_kept_and_told_on_the_first_page(
    client: TestClient, visit: Visit, workshop: Workshop
) -> None:
    before = position(workshop)
    echoed = Page.of(
        visit("/runs/new?car=Bramble")
        .form("/runs")
        .send(client, car="Quarry", pack="Ember 2", minutes="about 12")
    )
    assert "Quarry ran about 12 min with Ember 2" in echoed.text
    assert position(workshop) == before, "an echo keeps nothing"
    kept = echoed.form("/keep").send(client)
    assert kept.status_code == 303
    home = visit(kept.headers["location"])
    assert "Saved. " in home.text
    assert "Quarry ran about 12 min with Ember 2" in home.text
    last = max(stands(workshop), key=lambda entry: entry.id)
    assert isinstance(last.fact, Ran)
    assert last.fact.about


def test_a_double_tap_is_one_entry(client: TestClient, visit: Visit, workshop: Workshop) -> None:
    short = visit("/runs/new?car=Bramble").form("/runs")
    first = Page.of(short.send(client, car="Quarry", minutes="9"))
    second = Page.of(short.send(client, car="Quarry", minutes="9"))  # the first page was sent twice
    before = position(workshop)
    assert first.form("/keep").send(client).status_code == 303
    assert first.form("/keep").send(client).status_code == 303  # and so was the echo
    assert second.form("/keep").send(client).status_code == 303
    assert position(workshop) == before + 1


def test_a_form_sent_again_with_something_else_in_it_is_refused(
    client: TestClient, visit: Visit, workshop: Workshop
) -> None:
    short = visit("/runs/new?car=Bramble").form("/runs")
    Page.of(short.send(client, car="Quarry", minutes="9")).form("/keep").send(client)
    before = position(workshop)
    refused = Page.of(Page.of(short.send(client, car="Quarry", minutes="10")).form("/keep").send(client))
    assert refused.status == 409
    assert position(workshop) == before


@pytest.mark.parametrize(
    ("field", "typed", "said"),
    [
        ("minutes", "-5", "-5 cannot be"),
        ("minutes", "1,5", "Write 1.5"),
        ("minutes", "a while", "is not a quantity"),
        ("when", "2031-01-01", "has not come yet"),
        ("when", "2020-01-01", "has been here only since"),
        ("hits_number", "plenty", "none, a few, many or a number"),
        ("reading", "hot", "is not a reading"),
    ],
)
def test_what_cannot_be_is_said_in_one_sentence_and_the_form_stays_filled_in(
    client: TestClient, visit: Visit, workshop: Workshop, field: str, typed: str, said: str
) -> None:
    before = position(workshop)
    typed_in = {"car": "Bramble", "minutes": "12", "noticed": "a squeak", field: typed}
    refused = Page.of(visit("/runs/new?car=Bramble").form("/runs").send(client, **typed_in))
    assert refused.status == 422
    alert = refused.main.where("div", role="alert")
    assert said in alert.text
    assert position(workshop) == before
    again = refused.form("/runs").values
    assert again["noticed"] == ["a squeak"]
    assert typed in again[field]


def test_all_mistakes_are_said_at_once(client: TestClient, visit: Visit) -> None:
    refused = Page.of(
        visit("/runs/new?car=Bramble")
        .form("/runs")
        .send(client, minutes="x", when="y", ambient="warm", car="Bramble")
    )
    assert len(list(refused.main.where("div", role="alert").all("li"))) == 3


def test_a_pack_in_two_cars_at_once_is_refused_before_the_echo(client: TestClient, visit: Visit) -> None:
    said = {"pack": "Ember 1", "minutes": "10", "when": "2026-05-06 12:00"}
    first = Page.of(visit("/runs/new?car=Bramble").form("/runs").send(client, car="Bramble", **said))
    first.form("/keep").send(client)
    refused = Page.of(visit("/runs/new?car=Bramble").form("/runs").send(client, car="Quarry", **said))
    assert refused.status == 422
    assert "Ember 1 was in Bramble" in refused.text


def test_change_it_gives_the_form_back_as_it_was_typed(client: TestClient, visit: Visit) -> None:
    typed = {
        "car": "Quarry",
        "pack": ["Ember 2"],
        "minutes": "11",
        "wet": "mud",
        "motor": "68",
        "after": "20",
        "new_broke": "wheel_nut_loose",
        "new_at": ["front left"],
        "new_did": "renewed",
    }
    echoed = Page.of(visit("/runs/new?car=Bramble").form("/runs").send(client, **typed))
    again = Page.of(echoed.form("/runs").send(client, "Change it")).form("/runs").values
    assert again["car"] == ["Quarry"]
    assert again["pack"] == ["Ember 2"]
    assert again["wet"] == ["mud"]
    assert (again["motor"], again["after"]) == (["68"], ["20"])
    assert (again["new_broke"], again["new_at"]) == (["wheel_nut_loose"], ["front left"])
    assert "motor can 68 °C, 20 s after stopping" in echoed.text


def test_a_corrected_run_replaces_the_first_version(
    client: TestClient, visit: Visit, workshop: Workshop
) -> None:
    run = next(entry for entry in stands(workshop) if isinstance(entry.fact, Ran))
    form = visit(f"/journal/{run.id}/correct").form(f"/journal/{run.id}/correct")
    assert form.values["minutes"] == ["13"]
    assert form.values["pack"] == ["Ember 1"]
    assert form.values["hits"] == ["a few"]
    Page.of(form.send(client, minutes="14")).form("/keep").send(client)
    runs = [entry for entry in stands(workshop) if isinstance(entry.fact, Ran)]
    assert [entry.fact.running_min for entry in runs if entry.replaces == run.id] == [14.0]
    assert run not in runs
    assert "corrected" in visit(f"/journal/{run.id}").text
    assert visit(f"/journal/{run.id}/correct").status == 409


def test_running_remembered_in_bulk_is_kept(client: TestClient, visit: Visit, workshop: Workshop) -> None:
    form = visit("/catch-up").form("/catch-up")
    echoed = Page.of(form.send(client, car="Quarry", packs="about six", since="2026-05-02", wet_packs="1"))
    assert "about 6 packs since 2026-05-02" in echoed.text
    echoed.form("/keep").send(client)
    assert any(isinstance(entry.fact, CaughtUp) for entry in stands(workshop))


def test_something_found_broken_is_picked_and_saved(
    client: TestClient, visit: Visit, workshop: Workshop
) -> None:
    """The car first, then what, where and what was done; nothing is typed in a grammar."""
    assert "Which car?" in visit("/broke").text
    form = visit("/broke?car=Bramble").form("/broke")
    asked = Page.of(form.send(client, broke="wheel_nut_loose", at=["front left"]))
    assert asked.status == 422
    assert "what did you do about it?" in asked.text
    assert form.send(client, broke="wheel_nut_loose", at=["front left"], did="renewed").status_code == 303
    failed = [entry.fact for entry in stands(workshop) if isinstance(entry.fact, Failed)]
    assert [(one.broke.mode, one.broke.spot) for one in failed] == [("wheel_nut_loose", "front left")]


def test_what_broke_without_a_known_cause_can_be_saved(
    client: TestClient, visit: Visit, workshop: Workshop
) -> None:
    form = visit("/broke?car=Bramble").form("/broke")
    assert form.send(client, broke="unknown", did="left as it is").status_code == 303
    assert any(isinstance(entry.fact, Failed) and entry.fact.broke.mode is None for entry in stands(workshop))


def test_where_to_go_after_keeping_is_always_here(client: TestClient, visit: Visit) -> None:
    echoed = Page.of(visit("/runs/new?car=Bramble").form("/runs").send(client, car="Quarry", minutes="9"))
    kept = echoed.form("/keep").send(client, then="//elsewhere.example/")
    assert kept.headers["location"].startswith("/?kept=")


def test_an_echo_that_was_tampered_with_is_refused(client: TestClient, visit: Visit) -> None:
    echoed = Page.of(visit("/runs/new?car=Bramble").form("/runs").send(client, car="Quarry", minutes="9"))
    for entry in ("", "no json", "{}", '{"kind": "ran"}'):
        refused = Page.of(echoed.form("/keep").send(client, entry=entry))
        assert refused.status == 422, entry


def test_what_broke_is_picked_and_asks_for_its_place(client: TestClient, visit: Visit) -> None:
    form = visit("/runs/new?car=Bramble").form("/runs")
    refused = Page.of(form.send(client, minutes="9", new_broke="wheel_nut_loose"))
    assert (refused.status, "where?" in refused.text) == (422, True)


def test_what_was_said_broken_is_kept_or_unticked_when_a_run_is_corrected(
    client: TestClient, visit: Visit, workshop: Workshop
) -> None:
    said = {"minutes": "9", "new_broke": "wheel_nut_loose", "new_at": ["front left"], "new_did": "renewed"}
    echoed = Page.of(visit("/runs/new?car=Bramble").form("/runs").send(client, **said))
    echoed.form("/keep").send(client)
    run = next(entry for entry in stands(workshop) if isinstance(entry.fact, Ran) and entry.fact.broke)
    path = f"/journal/{run.id}/correct"
    form = visit(path).form(path)
    assert len(form.values["broke"]) == 1
    told = Page.of(form.send(client, minutes="10"))
    assert "front left" in told.text.partition("Save")[2]
    Page.of(form.send(client, minutes="10", broke=[])).form("/keep").send(client)
    [after] = [entry.fact for entry in stands(workshop) if entry.replaces == run.id]
    assert isinstance(after, Ran)
    assert after.broke == ()


def test_no_page_asks_for_a_typed_grammar(visit: Visit) -> None:
    for path in ("/runs/new?car=Bramble", "/outing", "/broke?car=Bramble"):
        assert "@" not in visit(path).text
        assert "=" not in visit(path).text


def test_a_car_that_is_not_there_is_refused_with_those_that_are(client: TestClient, visit: Visit) -> None:
    form = visit("/runs/new?car=Bramble").form("/runs")
    refused = Page.of(form.send(client, car="Bramlbe", minutes="12"))
    assert refused.status == 422
    assert "no car called “Bramlbe”" in refused.text
    assert "Quarry" in refused.text
