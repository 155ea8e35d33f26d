"""The journal on the pages: newest first, found again, taken back, brought back."""

from __future__ import annotations

from collections.abc import Callable

from starlette.testclient import TestClient

from snugfast.usecases.journal.bench_answers import FoundSaid, draft_found
from snugfast.usecases.journal.keeping import keep, kept_together, last_standing
from snugfast.usecases.shared.workshop import Workshop
from tests.web.parsed import Node, Page

Visit = Callable[[str], Page]


def lines(page: Page) -> list[Node]:
    return [node for day in page.main.all("ol") if "journal" in day.classes for node in day.all("li")]


def test_the_newest_entry_stands_first(visit: Visit) -> None:
    told = [node.text for node in lines(visit("/journal"))]
    assert "Bramble ran 13 min" in told[0]
    assert "joined" in told[-2]
    assert "Settings" in told[-1]


def test_words_car_and_kind_narrow_it_down(visit: Visit) -> None:
    assert len(lines(visit("/journal?words=gravel"))) == 6
    assert len(lines(visit("/journal?kind=cars+and+packs"))) == 4
    about = visit("/journal").form("/journal").node.where("select", name="about")
    quarry = next(one for one in about.all("option") if one.text == "Quarry")
    assert len(lines(visit(f"/journal?about={quarry.attributes['value']}"))) == 1
    assert "Nothing in the journal fits that" in visit("/journal?words=submarine").text


def test_a_withdrawal_says_first_what_rests_on_the_entry(
    client: TestClient, visit: Visit, workshop: Workshop
) -> None:
    joined = next(node for node in lines(visit("/journal?words=bramble")) if "joined" in node.text)
    entry = next(joined.all("a")).attributes["href"]
    asked = visit(f"{entry}/withdraw")
    assert "rest 6 later entries" in asked.text
    with workshop.store.reading() as reads:
        before = reads.position()
    sent = asked.form(entry).send(client, why="a mistake")
    assert "Undone" in visit(sent.headers["location"]).text
    with workshop.store.reading() as reads:
        assert reads.position() == before + 1
    assert "withdrawn" in visit(entry).text
    assert "Bramble" not in [a.text for a in visit("/").main.all("a")]


def test_undo_asks_and_redo_brings_back(client: TestClient, visit: Visit) -> None:
    asked = visit("/undo")
    assert "Bramble ran 13 min" in asked.text
    asked.form("/journal/").send(client)
    journal = visit("/journal")
    assert "withdrawn" in " ".join(node.text for node in lines(journal))
    sent = journal.form("/redo").send(client)
    again = visit(sent.headers["location"])
    assert "Redone" in again.text
    assert "withdrawn" not in lines(visit("/journal?kind=runs"))[0].text


def test_an_entry_shows_what_became_of_it(client: TestClient, visit: Visit) -> None:
    visit("/undo").form("/journal/").send(client)
    visit("/journal").form("/redo").send(client)
    run = next(lines(visit("/journal?kind=runs"))[0].all("a")).attributes["href"]
    chain = [node.text for node in visit(run).main.where("ol", class_="chain").all("li")]
    assert ["first said" in chain[0], "taken back" in chain[1], "brought back" in chain[2]] == [True] * 3


def test_days_narrow_it_down(visit: Visit) -> None:
    every = len(lines(visit("/journal")))
    assert len(lines(visit("/journal?since=2020-01-01&until=2099-12-31"))) == every
    assert "Nothing in the journal fits that" in visit("/journal?until=2020-01-01").text
    assert visit("/journal?since=soon").status == 422


def test_redo_with_nothing_undone_says_so(client: TestClient, visit: Visit) -> None:
    refused = Page.of(visit("/journal").form("/redo").send(client))
    assert refused.status == 404
    assert "nothing to redo" in refused.text


def test_an_unknown_entry_has_a_way_out(visit: Visit) -> None:
    lost = visit("/journal/01890000-0000-7000-8000-000000000000")
    assert lost.status == 404
    assert "Look in the journal" in lost.text
    assert visit("/journal/not-an-entry").status == 404


def test_a_long_journal_comes_a_page_at_a_time(client: TestClient, visit: Visit, workshop: Workshop) -> None:
    from snugfast.usecases.journal.keeping import keep
    from snugfast.usecases.journal.run_log import RunSaid, draft_runs

    said = tuple(RunSaid("Quarry", minutes=str(n)) for n in range(1, 46))
    keep(workshop, draft_runs(workshop, said).entries)
    first = visit("/journal?kind=runs")
    older = next(a for a in first.main.all("a") if a.text == "Older")
    second = visit(older.attributes["href"])
    seen = [next(node.all("a")).attributes["href"] for page in (first, second) for node in lines(page)]
    assert len(seen) == len(set(seen)) == 51


def test_what_was_saved_together_is_undone_and_redone_together(
    client: TestClient, visit: Visit, workshop: Workshop
) -> None:
    out = {"car": ["Bramble"], "Bramble.pack": ["Ember 1", "Ember 2"], "Bramble.minutes": "12"}
    visit("/outing").form("/outing").send(client, **out)
    entry = last_standing(workshop)
    ask = visit(f"/journal/{entry.id}/withdraw")
    assert "Undo all 2" in ask.text
    before = len(kept_together(workshop))
    undone = ask.form(f"/journal/{entry.id}/withdraw").send(client, all="1")
    assert len(kept_together(workshop, entry.id)) == 0
    assert "Undone" in visit(undone.headers["location"]).text
    client.post("/redo")
    assert len(kept_together(workshop, entry.id)) == before == 2


def test_one_of_them_can_be_undone_alone(client: TestClient, visit: Visit, workshop: Workshop) -> None:
    out = {"car": ["Bramble"], "Bramble.pack": ["Ember 1", "Ember 2"], "Bramble.minutes": "12"}
    visit("/outing").form("/outing").send(client, **out)
    first, second = kept_together(workshop)
    visit(f"/journal/{second.id}/withdraw").form("/journal").send(client, "Undo only this")
    assert [entry.id for entry in kept_together(workshop, first.id)] == [first.id]


def test_the_nut_of_a_check_says_whether_anybody_looked(
    client: TestClient, visit: Visit, workshop: Workshop
) -> None:
    for word in ("ok", "ticked", "loose @ front left: left as it is"):
        keep(workshop, draft_found(workshop, FoundSaid("Bramble", "wheel_nuts", (word,))).entries)
    icons = [next(node.all("span")).classes[1] for node in lines(visit("/journal?kind=checks"))]
    assert icons == ["is-found", "is-skipped", "is-ok"]
