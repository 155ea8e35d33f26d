"""The bench sheet on the pages: rounds of lines, answered a round at a time; every line can be taken back."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest
from starlette.testclient import TestClient

from snugfast.records.entries import Checked, Done, SheetDone
from snugfast.records.standing import standing
from snugfast.records.store.engines import file_url
from snugfast.usecases.journal.bench_answers import FoundSaid, draft_found
from snugfast.usecases.journal.keeping import keep, kept_together
from snugfast.usecases.journal.run_log import RunSaid, draft_runs
from snugfast.usecases.shared.workshop import Workshop
from snugfast.web.app import create_for
from tests.web.parsed import Form, Node, Page
from tests.web.workshops import BEGAN, Clock, log_runs, tell_story

Visit = Callable[[str], Page]
ASKED = "/sheet?car=Bramble&minutes=12&make=1"


def answers(workshop: Workshop) -> list[Checked]:
    with workshop.store.reading() as reads:
        entries = standing(row.entry for row in reads.entries_after(0)).entries
    return [entry.fact for entry in entries if isinstance(entry.fact, Checked)]


def lines(sheet: Page) -> list[Node]:
    return [node for node in sheet.main.all("li") if "check" in node.classes]


def line(sheet: Page, name: str) -> Node:
    return next(node for node in lines(sheet) if name in node.text)


def number_of(sheet: Page, name: str) -> str:
    """The number under which the fields of a line are sent."""
    box = next(one for one in line(sheet, name).all("input") if one.attributes["name"].endswith(".ok"))
    return box.attributes["name"].partition(".")[0]


def rounds(sheet: Page) -> list[Form]:
    return [form for form in sheet.forms("/sheets/") if "/rounds/" in form.action]


def round_of(sheet: Page, name: str) -> Form:
    """The form of the round that a line is in."""
    field = f"{number_of(sheet, name)}.ok"
    here = str(sheet.response.url)
    for form in sheet.root.all("form"):
        if any(one.attributes.get("name") == field for one in form.all("input")):
            return Form(form, here)
    raise AssertionError(name)


def test_rounds_stand_in_the_order_of_the_bench_and_power_comes_last(visit: Visit) -> None:
    sheet = visit(ASKED)
    assert sheet.status == 200
    names = [node.text for node in sheet.main.all("h2") if node.attributes.get("id", "").startswith("h-")]
    assert names[0] == "Battery and radio"
    assert names[-1] == "On the stand, powered"
    assert "Saves about" in sheet.text


def test_a_step_never_stands_without_its_cautions(visit: Visit) -> None:
    for node in lines(visit(ASKED)):
        assert "Caution" in node.text, node.text


def test_packs_that_get_the_same_look_share_a_line(visit: Visit, workshop: Workshop) -> None:
    keep(workshop, draft_runs(workshop, (RunSaid("Bramble", ("Ember 2",), "9"),)).entries)
    sheet = visit("/sheet?car=Bramble&minutes=40&packs=2&make=1")
    looks = [next(node.all("summary")).text for node in lines(sheet) if "Look, feel and smell" in node.text]
    assert len(looks) == 1
    assert all(name in looks[0] for name in ("Ember 1", "Ember 2"))


def test_a_round_is_one_button_and_leads_to_the_next(
    client: TestClient, visit: Visit, workshop: Workshop
) -> None:
    sheet = visit(ASKED)
    first, second = rounds(sheet)[:2]
    count = len([node for node in first.node.all("li") if "check" in node.classes])
    sent = first.send(client, "OK")
    assert sent.headers["location"].endswith("#r-" + second.action.partition("/rounds/")[2].partition("?")[0])
    after = visit(sent.headers["location"])
    assert f"{count} OK" in after.text
    kept = answers(workshop)
    assert len(kept) >= count
    assert all(fact.looked and not fact.answers for fact in kept)


def test_two_people_answer_one_sheet_and_nothing_twice_without_a_word(
    client: TestClient, visit: Visit, workshop: Workshop
) -> None:
    """Both have the round open; the second is told what the first said, and the journal holds it once."""
    address = client.get(ASKED, follow_redirects=False).headers["location"]
    first, second = rounds(visit(address))[0], rounds(visit(address))[0]
    named = [one.attributes["name"] for one in first.node.all("input")]
    ok = next(name for name in named if name.endswith(".ok"))
    first.send(client, "OK")
    held = len(answers(workshop))
    assert "Answered before" not in visit(first.send(client, "OK", **{ok: "1"}).headers["location"]).text
    told = visit(second.send(client, "OK", **{ok: "1"}).headers["location"])
    assert "Answered before, so what you sent for it was not saved" in told.text
    assert len(answers(workshop)) == held


def test_what_was_skipped_is_kept_as_not_looked_at(
    client: TestClient, visit: Visit, workshop: Workshop
) -> None:
    rounds(visit(ASKED))[0].send(client, "Skipped")
    assert answers(workshop)
    assert not any(fact.looked for fact in answers(workshop))


def test_the_sheet_stays_as_it_was_made_while_it_is_worked_through(client: TestClient, visit: Visit) -> None:
    sheet = visit(ASKED)
    before = len(lines(sheet))
    rounds(sheet)[0].send(client, "Skipped")
    assert len(lines(visit(str(sheet.response.url)))) == before


def test_what_was_found_goes_to_the_journal_with_its_place(
    client: TestClient, visit: Visit, workshop: Workshop
) -> None:
    sheet = visit("/sheet?car=Bramble&minutes=60&make=1")
    n = number_of(sheet, "wheel nuts")
    said = {
        f"{n}.found": ["loose"],
        f"{n}.at": ["front left", "rear right"],
        f"{n}.did": Done.RENEWED.value,
        f"{n}.minutes": "2",
        f"{n}.spent": "1.20",
    }
    sent = round_of(sheet, "wheel nuts").send(client, "OK", **said)
    assert sent.status_code == 303, Page.of(sent).text
    [fact] = [fact for fact in answers(workshop) if fact.answers]
    assert [(one.word, one.mode, one.spot, one.done) for one in fact.answers] == [
        ("loose", "wheel_nut_loose", "front left", Done.RENEWED),
        ("loose", "wheel_nut_loose", "rear right", Done.RENEWED),
    ]
    assert fact.minutes == 2.0
    assert fact.spent is not None
    assert fact.spent.minor == 120
    assert "Loose, front left" in line(visit(sent.headers["location"]), "wheel nuts").text


@pytest.mark.slow
def test_every_answer_a_line_offers_can_be_read(visit: Visit, client: TestClient, workshop: Workshop) -> None:
    """Each round once with the last word of every line found, at every place it offers."""
    sheet = visit("/sheet?car=Bramble&minutes=300&just_ran=true&in_field=true&make=1")
    read = 0
    for form in rounds(sheet):
        said: dict[str, object] = {}
        for node in form.node.all("li"):
            if "check" not in node.classes:
                continue
            fields = [one.attributes for one in node.all("input")]
            words = [one for one in fields if one["name"].endswith(".found")]
            if not words:
                continue
            plain = [one["value"] for one in words if "|" not in one["value"]] or [words[-1]["value"]]
            n = words[0]["name"].partition(".")[0]
            said[f"{n}.found"] = [plain[-1]]
            said[f"{n}.at"] = [one["value"] for one in fields if one["name"] == f"{n}.at"]
            said[f"{n}.pack"] = [one["value"] for one in fields if one["name"] == f"{n}.pack"][:1]
            said[f"{n}.did"] = Done.LEFT.value
            read += 1
        sent = form.send(client, "OK", **said)
        assert sent.status_code == 303, Page.of(sent).text[:600]
    found = [fact for fact in answers(workshop) if fact.answers]
    assert len(found) == read > 20
    assert {one.done for fact in found for one in fact.answers} == {Done.LEFT}


@pytest.mark.parametrize(
    ("said", "asked"),
    [
        ({"found": ["loose"], "at": ["front left"]}, "what did you do about it?"),
        ({"found": ["loose"], "did": "put right"}, "where is it loose?"),
        ({"found": ["loose"], "at": ["front left"], "did": "put right", "spent": "3,5"}, "Write 3.5"),
    ],
)
def test_a_finding_that_lacks_something_asks_back_and_loses_nothing(
    client: TestClient, visit: Visit, workshop: Workshop, said: dict[str, object], asked: str
) -> None:
    """“Fixed” is never assumed."""
    sheet = visit("/sheet?car=Bramble&minutes=60&make=1")
    n = number_of(sheet, "wheel nuts")
    sent = round_of(sheet, "wheel nuts").send(
        client, "OK", **{f"{n}.{key}": one for key, one in said.items()}
    )
    page = Page.of(sent)
    assert page.status == 422
    assert asked in page.text
    assert answers(workshop) == []
    again = round_of(page, "wheel nuts").values
    assert again[f"{n}.found"] == ["loose"]
    assert again.get(f"{n}.at", []) == said.get("at", [])
    assert again.get(f"{n}.spent") == [said.get("spent", "")]


def test_what_was_found_beats_ok(client: TestClient, visit: Visit, workshop: Workshop) -> None:
    sheet = visit("/sheet?car=Bramble&minutes=60&make=1")
    n = number_of(sheet, "wheel nuts")
    said = {f"{n}.ok": "ok", f"{n}.found": ["loose"], f"{n}.at": ["rear left"], f"{n}.did": "put right"}
    round_of(sheet, "wheel nuts").send(client, "Skipped", **said)
    facts = {fact.check: fact for fact in answers(workshop)}
    assert [one.spot for one in facts["wheel_nuts"].answers] == ["rear left"]
    assert all(not fact.looked for key, fact in facts.items() if key != "wheel_nuts")


def test_a_second_tap_on_a_round_keeps_it_once(client: TestClient, visit: Visit, workshop: Workshop) -> None:
    form = rounds(visit(ASKED))[0]
    for _ in range(3):
        assert form.send(client, "OK").status_code == 303
        kept = len(answers(workshop))
    assert kept == len({(fact.check, fact.pack) for fact in answers(workshop)})


def test_a_line_taken_back_is_open_again(client: TestClient, visit: Visit, workshop: Workshop) -> None:
    sheet = visit(ASKED)
    rounds(sheet)[0].send(client, "OK")
    kept = len(answers(workshop))
    after = visit(str(sheet.response.url))
    undo = next(form for form in after.forms("/sheets/") if "/undo" in form.action)
    back = len(undo.values["entry"])
    assert undo.send(client).status_code == 303
    assert len(answers(workshop)) == kept - back
    assert len(rounds(visit(str(sheet.response.url)))) == len(rounds(sheet))


def test_when_all_is_answered_the_sheet_says_ready(client: TestClient, visit: Visit) -> None:
    sheet = visit(ASKED)
    for form in rounds(sheet):
        form.send(client, "OK")
    done = visit(str(sheet.response.url))
    assert "Ready" in done.text
    assert "Nothing found" in done.text
    assert not rounds(done)


def test_start_and_finish_of_a_sheet_are_kept_and_undone_with_its_last_round(
    client: TestClient, visit: Visit, workshop: Workshop
) -> None:
    for form in rounds(visit(ASKED)):
        form.send(client, "OK")
    together = kept_together(workshop)
    done = together[-1]
    assert isinstance(done.fact, SheetDone)
    assert done.fact.asked_min == 12
    assert 0 < (done.fact.planned_min or 0) <= 12.5
    assert done.fact.began_at < done.happened_at
    assert "sheet of 12 min done in" in visit("/journal?kind=checks").text
    assert any(isinstance(entry.fact, Checked) for entry in together)


def test_what_was_found_and_left_is_on_the_list_to_buy(
    client: TestClient, visit: Visit, workshop: Workshop
) -> None:
    sheet = visit(ASKED)
    for form in rounds(sheet):
        form.send(client, "OK")
    lost = FoundSaid("Bramble", "wheel_nuts", ("lost @ front left: left as it is",))
    keep(workshop, draft_found(workshop, lost).entries)
    done = visit(str(sheet.response.url))
    assert "Still to fix Wheel nut loose" in done.text
    assert "To buy 1 × M4 flanged nylon locknut" in done.text


def test_a_sheet_the_server_has_forgotten_is_made_anew_from_its_question(
    visit: Visit, workshop: Workshop
) -> None:
    address = str(visit(ASKED).response.url)
    restarted = TestClient(create_for(workshop), base_url="http://127.0.0.1")
    again = Page.of(restarted.get(address))
    assert again.status == 200
    assert "12 minutes" in again.text
    assert str(again.response.url).split("?")[0] != address.split("?")[0]


def test_a_sheet_for_all_cars_names_the_car_at_each_round(visit: Visit) -> None:
    sheet = visit("/sheet?minutes=20&make=1")
    heads = [node.text for node in sheet.main.all("h2") if node.attributes.get("id", "").startswith("h-")]
    assert heads
    assert all("Bramble" in head or "Quarry" in head for head in heads)


def test_too_few_minutes_for_what_must_be_done_are_said_at_the_top(visit: Visit) -> None:
    sheet = visit("/sheet?car=Bramble&minutes=1&make=1")
    assert "do these or leave this car home" in sheet.main.where("div", role="alert").text


@pytest.mark.parametrize(
    ("query", "said"),
    [("minutes=-3", "-3 cannot be"), ("minutes=x", "is not a quantity"), ("packs=99", "99 cannot be")],
)
def test_a_question_that_cannot_be_is_refused_and_kept(visit: Visit, query: str, said: str) -> None:
    refused = visit(f"/sheet?car=Bramble&{query}&make=1")
    assert refused.status == 422
    assert said in refused.text
    assert refused.form("/sheet").values["car"] == ["Bramble"]


def test_everything_can_be_opened_for_printing(visit: Visit) -> None:
    sheet = visit(ASKED)
    link = next(a for a in sheet.main.all("a") if "to print" in a.text)
    opened = visit(link.attributes["href"])
    assert all("open" in next(node.all("details")).attributes for node in lines(opened))


@pytest.mark.slow
def test_the_queries_of_the_pages_do_not_grow_with_runs(tmp_path: Path) -> None:
    """A law of ours: a page asks as many questions for thirty runs as for two."""
    counts = []
    for runs in (2, 30):
        clock = Clock(BEGAN)
        workshop = tell_story(clock, file_url(tmp_path / f"{runs}.sqlite"), runs=runs)
        workshop.now = lambda clock=clock: clock.at  # it stands: no minute ends between two looks
        app = create_for(workshop)
        client = TestClient(app, base_url="http://127.0.0.1")
        car = next(a for a in Page.of(client.get("/")).main.all("a") if a.text == "Bramble")
        asked = {}
        for path in ("/", car.attributes["href"], "/journal", "/runs/new", ASKED):
            client.get(path)  # what was told is remembered
            app.state.bench.memo.clear()  # what the page was made of is not
            with workshop.store.counting() as count:
                client.get(path)
            asked[path if "cars" not in path else "car"] = count.statements
        log_runs(workshop, clock, 1)
        with workshop.store.counting() as count:
            client.get("/")
        asked["a run later"] = count.statements
        counts.append(asked)
        workshop.store.close()
    assert counts[0] == counts[1]
    assert max(counts[0].values()) < 60


def test_what_is_due_after_wet_stands_on_the_sheet_and_is_answered_there(
    client: TestClient, visit: Visit, workshop: Workshop
) -> None:
    said = RunSaid("Bramble", ("Ember 1",), "9", wet="mud")
    keep(workshop, draft_runs(workshop, (said,)).entries)
    assert "after wet" in visit("/").text
    sheet = visit(ASKED)
    with workshop.store.reading() as reads:
        sheet_position = reads.position()
    treatments = [
        node
        for node in sheet.main.all("section")
        if node.attributes.get("aria-labelledby", "").startswith("wet-")
    ]
    assert treatments
    for due in treatments:
        assert "due by" in due.text
        assert "cautions" in [one.classes[0] for one in due.all("ul", "ol") if one.classes]
        for _ in range(2):  # a second tap changes nothing
            Form(next(due.all("form")), str(sheet.response.url)).send(client)
    with workshop.store.reading() as reads:
        kinds = [type(row.entry.fact).__name__ for row in reads.entries_after(sheet_position)]
    assert kinds == ["TreatmentDone"] * len(treatments)
    after = visit(str(sheet.response.url))
    assert "due by" not in after.text
    assert "after wet" not in visit("/").text


def test_a_sheet_for_the_wet_says_first_whether_the_car_is_rated_for_it(visit: Visit) -> None:
    assert "Into the wet" in visit("/sheet?car=Bramble&minutes=12&wet=salt+water&make=1").text


def test_a_learner_is_told_what_to_do_with_a_grown_up(visit: Visit) -> None:
    sheet = visit("/sheet?car=Bramble&minutes=12&learner=true&make=1")
    assert "with a grown-up" in sheet.text


def test_what_was_ticked_in_another_round_is_saved_with_the_round_that_is_sent(
    client: TestClient, visit: Visit, workshop: Workshop
) -> None:
    """Without script all rounds are one form: a tick of a round that was not sent is not lost."""
    sheet = visit(ASKED)
    (work,) = [node for node in sheet.root.all("form") if node.attributes.get("id") == "work"]
    boxes = [one for one in sheet.root.all("input") if one.attributes.get("name", "").endswith(".ok")]
    assert boxes and all(one.attributes.get("form") == "work" for one in boxes)
    own_id = next(one.attributes["value"] for one in work.all("input"))
    first, second = rounds(sheet)[:2]
    ticked = [
        name
        for name in (one.attributes.get("name", "") for one in first.node.all("input"))
        if name.endswith(".ok")
    ]
    kept_one = ticked[-1]
    sent = client.post(
        second.action.split("#")[0], data={"id": own_id, kept_one: "ok", "rest": "ok"}, follow_redirects=False
    )
    assert sent.status_code == 303
    after = visit(sent.headers["location"])
    open_now = {
        one.attributes["name"]
        for one in after.root.all("input")
        if one.attributes.get("name", "").endswith(".ok")
    }
    assert kept_one not in open_now
    assert set(ticked[:-1]) <= open_now  # “the rest” is that of the round that was sent, never of another
    assert all(fact.looked for fact in answers(workshop))


def test_a_finding_of_another_round_that_lacks_its_remedy_is_asked_back_and_nothing_is_lost(
    client: TestClient, visit: Visit, workshop: Workshop
) -> None:
    sheet = visit(ASKED)
    first, second = rounds(sheet)[:2]
    found = next(
        one.attributes for one in first.node.all("input") if one.attributes.get("name", "").endswith(".found")
    )
    data = {"id": first.values["id"][0], found["name"]: found["value"], "rest": "ok"}
    refused = Page.of(client.post(second.action.split("#")[0], data=data))
    assert refused.status == 422 and not answers(workshop)
    chosen = [one for one in refused.root.all("input") if "checked" in one.attributes]
    assert [one.attributes["name"] for one in chosen] == [found["name"]]
