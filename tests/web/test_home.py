"""The first page says what needs somebody now; a car's page has its tools; parts are changed by a form."""

from __future__ import annotations

from collections.abc import Callable
from uuid import UUID

import pytest
from starlette.testclient import TestClient

from snugfast.records.entries import Done
from snugfast.usecases.journal.bench_answers import FoundSaid, draft_found
from snugfast.usecases.journal.keeping import keep
from snugfast.usecases.journal.run_log import RunSaid, draft_runs
from snugfast.usecases.shared.ledger import ledger_now
from snugfast.usecases.shared.workshop import Workshop
from tests.web.parsed import Page

Visit = Callable[[str], Page]


@pytest.fixture
def car(workshop: Workshop) -> UUID:
    with workshop.store.reading() as reads:
        found = ledger_now(reads).car_named("Bramble")
    assert found is not None
    return found.id


def needs(visit: Visit) -> str:
    return visit("/").main.where("section", **{"aria-labelledby": "needs"}).text


def test_a_wet_car_and_a_known_defect_are_needed_now(visit: Visit, workshop: Workshop) -> None:
    assert "after wet" not in needs(visit)
    keep(workshop, draft_runs(workshop, (RunSaid("Quarry", ("Ember 2",), "9", wet="mud"),)).entries)
    said = FoundSaid("Bramble", "wheel_nuts", (f"loose @ front left: {Done.LEFT.value}",))
    keep(workshop, draft_found(workshop, said).entries)
    told = needs(visit)
    assert "Quarry after wet" in told
    assert "due by" in told
    assert "front left" in told


def test_what_was_looked_at_and_left_is_not_called_unlooked_at(visit: Visit, workshop: Workshop) -> None:
    said = FoundSaid("Bramble", "wheel_nuts", (f"loose @ front left: {Done.LEFT.value}",))
    keep(workshop, draft_found(workshop, said).entries)
    told = needs(visit)
    assert "Wheel nut loose, front left" in told and "Don’t drive before it is fixed." in told
    assert "Wheel nut loose: not looked at" not in told


def test_the_page_of_a_car_has_its_tools_with_a_figure_each(visit: Visit, car: UUID) -> None:
    tools = visit(f"/cars/{car}").main.where("section", **{"aria-labelledby": "tools"}).text
    for words in ("15T/54T", "module 0.8", "joints", "Bearings", "Free roll"):
        assert words in tools


def test_a_pinion_is_changed_in_its_form_and_the_rest_is_left_alone(
    client: TestClient, visit: Visit, workshop: Workshop, car: UUID
) -> None:
    form = visit(f"/cars/{car}/change").form(f"/cars/{car}/change")
    assert form.values["pinion.teeth_count"] == ["15"]
    sent = form.send(client, "Save", **{"pinion.teeth_count": "17"})
    assert sent.status_code == 303, Page.of(sent).text
    after = visit(sent.headers["location"])
    assert "17T/54T" in after.text
    with workshop.store.reading() as reads:
        build = workshop.build(ledger_now(reads).cars[car].build)
    pinion = build.place("pinion")
    assert pinion is not None
    assert "17 teeth" in pinion.part
    assert form.send(client, "Save", **{"pinion.teeth_count": "17"}).status_code in (303, 422)


def test_a_form_in_which_nothing_differs_says_so(client: TestClient, visit: Visit, car: UUID) -> None:
    refused = Page.of(visit(f"/cars/{car}/change").form(f"/cars/{car}/change").send(client, "Save"))
    assert refused.status == 422
    assert "Nothing is different" in refused.text


def test_a_size_that_cannot_be_is_refused_and_kept_as_typed(
    client: TestClient, visit: Visit, car: UUID
) -> None:
    form = visit(f"/cars/{car}/change").form(f"/cars/{car}/change")
    refused = Page.of(form.send(client, "Save", **{"pinion.teeth_count": "many"}))
    assert refused.status == 422
    assert refused.form(f"/cars/{car}/change").values["pinion.teeth_count"] == ["many"]
