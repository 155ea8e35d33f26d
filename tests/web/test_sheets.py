"""The bench sheet on the pages: asked for, worked through, answered; what is answered is marked in words."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest
from starlette.testclient import TestClient

from snugfast.records.entries import Checked, Done
from snugfast.records.standing import standing
from snugfast.records.store.engines import file_url
from snugfast.usecases.bench.bench_sheet import bench_sheet
from snugfast.usecases.bench.sheet import Asked
from snugfast.usecases.journal.bench_answers import draft_found
from snugfast.usecases.journal.keeping import keep
from snugfast.usecases.journal.run_log import RunSaid, draft_runs
from snugfast.usecases.shared.workshop import Workshop
from snugfast.web.app import create_for
from snugfast.web.sheet.form import FoundForm
from tests.web.parsed import Form, Node, Page
from tests.web.workshops import BEGAN, Clock, log_runs, tell_story

Visit = Callable[[str], Page]
ASKED = "/sheet?car=Bramble&minutes=12&make=1"


def answers(workshop: Workshop) -> list[Checked]:
    with workshop.store.reading() as reads:
        entries = standing(row.entry for row in reads.entries_after(0)).entries
    return [entry.fact for entry in entries if isinstance(entry.fact, Checked)]


def cards(sheet: Page) -> list[Node]:
    return [node for node in sheet.main.all("li") if "card" in node.classes]


def card(sheet: Page, name: str) -> Node:
    return next(node for node in cards(sheet) if name in next(node.all("h2")).text)


def answer_form(sheet: Page, name: str) -> Form:
    return Form(next(card(sheet, name).all("form")), str(sheet.response.url))


def test_a_sheet_puts_fail_safe_and_look_first_and_says_its_balance(visit: Visit) -> None:
    sheet = visit(ASKED)
    assert sheet.status == 200
    first_free = next(n for n, node in enumerate(cards(sheet)) if "always first" not in node.text)
    gates = [node for node in cards(sheet) if "always first" in node.text]
    assert first_free == len(gates) >= 3
    balance = sheet.main.where("aside").text
    for words in ("of 12 min", "Loss avoided", "as it stands", "after this sheet", "Left out, and why"):
        assert words in balance


def test_a_step_never_stands_without_its_cautions(visit: Visit) -> None:
    for node in cards(visit(ASKED)):
        how = next(one for one in node.all("details") if "how" in one.classes)
        inside = [one for one in how.all("ul", "ol") if {"cautions", "steps"} & set(one.classes)]
        assert [one.classes[0] for one in inside] == ["cautions", "steps"], next(node.all("h2")).text


def test_the_first_open_check_is_unfolded_and_the_others_are_not(visit: Visit) -> None:
    unfolded = [
        "open" in next(one for one in node.all("details") if "how" in one.classes).attributes
        for node in cards(visit(ASKED))
    ]
    assert unfolded[0]
    assert not any(unfolded[1:])


def test_sound_is_one_tap_and_leads_to_the_next_check(
    client: TestClient, visit: Visit, workshop: Workshop
) -> None:
    sheet = visit(ASKED)
    sent = answer_form(sheet, "Fail-safe").send(client, "Sound")
    number = next(n for n, node in enumerate(cards(sheet), 1) if node is card(sheet, "Fail-safe"))
    assert sent.headers["location"].endswith(f"#check-{number + 1}")
    after = visit(sent.headers["location"])
    assert "Sound" in card(after, "Fail-safe").text
    assert "answered" in card(after, "Fail-safe").classes
    assert not list(card(after, "Fail-safe").all("form"))
    assert f"1 of {len(cards(sheet))}" in after.text
    assert [(fact.check, fact.answers, fact.looked) for fact in answers(workshop)] == [
        ("fail_safe", (), True)
    ]


def test_the_sheet_stays_as_it_was_made_while_it_is_worked_through(client: TestClient, visit: Visit) -> None:
    sheet = visit(ASKED)
    names = [next(node.all("h2")).text for node in cards(sheet)]
    for name in names[:3]:
        answer_form(sheet, name).send(client, "Ticked")
    assert [next(node.all("h2")).text for node in cards(visit(str(sheet.response.url)))] == names


def test_what_was_found_goes_to_the_journal_with_its_place(
    client: TestClient, visit: Visit, workshop: Workshop
) -> None:
    sheet = visit("/sheet?car=Bramble&minutes=60&make=1")
    form = answer_form(sheet, "Try the wheel nuts")
    sent = form.send(
        client,
        "Keep what was found",
        found=["loose @ front left", "loose @ rear right"],
        done="renewed",
        minutes="2",
        spent="1.20",
    )
    assert sent.status_code == 303, Page.of(sent).text
    [fact] = answers(workshop)
    assert [(one.word, one.mode, one.spot, one.done) for one in fact.answers] == [
        ("loose", "wheel_nut_loose", "front left", Done.RENEWED),
        ("loose", "wheel_nut_loose", "rear right", Done.RENEWED),
    ]
    assert fact.minutes == 2.0
    assert fact.spent is not None
    assert fact.spent.minor == 120
    assert "Loose, front left" in card(visit(sent.headers["location"]), "Try the wheel nuts").text


@pytest.mark.slow
def test_every_answer_a_form_offers_can_be_read(visit: Visit, workshop: Workshop) -> None:
    asked = Asked(("Bramble",), minutes=300.0, just_ran=True, in_field=True)
    checks = {check.name: check for check in bench_sheet(workshop, asked).checks}
    read = 0
    for node in cards(visit("/sheet?car=Bramble&minutes=300&just_ran=true&in_field=true&make=1")):
        check = checks[next(node.all("h2")).text]
        found, _, failed = node.all("select")
        for select, field in ((found, "found"), (failed, "failed")):
            options = [one.attributes.get("value", one.text) for one in select.all("option")][1:]
            for option in options[:: max(1, len(options) // 3)]:
                form = FoundForm(**{field: [option] if field == "found" else option, "done": "renewed"})
                draft = draft_found(workshop, form.said(check, workshop.new_id()))
                fact = draft.entries[0].fact
                assert isinstance(fact, Checked)
                assert [answer.done for answer in fact.answers] == [Done.RENEWED], option
                read += 1
    assert read > 100


def test_a_refused_answer_keeps_what_was_typed_beside_its_check(
    client: TestClient, visit: Visit, workshop: Workshop
) -> None:
    sheet = visit("/sheet?car=Bramble&minutes=60&make=1")
    form = answer_form(sheet, "Try the wheel nuts")
    refused = Page.of(
        form.send(
            client, "Keep what was found", found=["lost @ front left", ""], done="left as it is", spent="3,5"
        )
    )
    assert refused.status == 422
    assert "Write 3.5" in card(refused, "Try the wheel nuts").text
    again = answer_form(refused, "Try the wheel nuts").values
    assert again["found"][0] == "lost @ front left"
    assert again["done"] == ["left as it is"]
    assert again["spent"] == ["3,5"]
    assert not answers(workshop)


@pytest.mark.parametrize(
    ("button", "said", "refused"),
    [
        ("Sound", {"found": ["loose @ front left", ""]}, "“loose @ front left” was said too"),
        ("Ticked", {"found": ["loose @ front left", ""]}, "“ticked” says that nobody looked"),
        (
            "Keep what was found",
            {"found": ["loose @ front left", ""], "failed": "wheel_nut_loose|failed @ rear left"},
            "“loose @ front left” and “failed @ rear left” were both chosen",
        ),
    ],
)
def test_two_answers_that_do_not_go_together_are_asked_back(
    client: TestClient, visit: Visit, workshop: Workshop, button: str, said: dict[str, object], refused: str
) -> None:
    """Otherwise one of them is dropped without a word."""
    form = answer_form(visit("/sheet?car=Bramble&minutes=60&make=1"), "Try the wheel nuts")
    page = Page.of(form.send(client, button, **said))
    assert page.status == 422
    assert refused in card(page, "Try the wheel nuts").text
    assert answers(workshop) == []


def test_an_answer_without_a_finding_is_asked_again(client: TestClient, visit: Visit) -> None:
    sheet = visit(ASKED)
    refused = Page.of(answer_form(sheet, "Fail-safe").send(client, "Keep what was found"))
    assert refused.status == 422
    assert "Nobody said what was found" in card(refused, "Fail-safe").text


def test_a_second_tap_on_an_answer_keeps_it_once(
    client: TestClient, visit: Visit, workshop: Workshop
) -> None:
    form = answer_form(visit(ASKED), "Fail-safe")
    for _ in range(3):
        assert form.send(client, "Sound").status_code == 303
    assert len(answers(workshop)) == 1


def test_an_answer_taken_back_opens_its_check_again(client: TestClient, visit: Visit) -> None:
    sheet = visit(ASKED)
    answer_form(sheet, "Fail-safe").send(client, "Sound")
    after = visit(str(sheet.response.url))
    back = next(a for a in card(after, "Fail-safe").all("a") if "Take back" in a.text)
    visit(back.attributes["href"]).form("/journal/").send(client)
    assert list(card(visit(str(sheet.response.url)), "Fail-safe").all("form"))


def test_a_sheet_the_server_has_forgotten_is_made_anew_from_its_question(
    visit: Visit, workshop: Workshop
) -> None:
    address = str(visit(ASKED).response.url)
    restarted = TestClient(create_for(workshop), base_url="http://127.0.0.1")
    again = Page.of(restarted.get(address))
    assert again.status == 200
    assert "of the 12 min" in again.text
    assert str(again.response.url).split("?")[0] != address.split("?")[0]


def test_a_sheet_for_all_cars_names_the_car_at_each_check(visit: Visit) -> None:
    sheet = visit("/sheet?minutes=20&make=1")
    assert all("Bramble" in node.text or "Quarry" in node.text for node in cards(sheet))


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
    assert all("open" in one.attributes for one in opened.main.all("details") if "how" in one.classes)


@pytest.mark.slow
def test_the_queries_of_the_pages_do_not_grow_with_runs(tmp_path: Path) -> None:
    """A law of ours: a page asks as many questions for thirty runs as for two."""
    counts = []
    for runs in (2, 30):
        clock = Clock(BEGAN)
        workshop = tell_story(clock, file_url(tmp_path / f"{runs}.sqlite"), runs=runs)
        client = TestClient(create_for(workshop), base_url="http://127.0.0.1")
        car = next(a for a in Page.of(client.get("/")).main.all("a") if a.text == "Bramble")
        asked = {}
        for path in ("/", car.attributes["href"], "/journal", "/runs/new", ASKED):
            client.get(path)  # what was told is remembered
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
    assert "After wet" in visit("/").text
    sheet = visit(ASKED)
    with workshop.store.reading() as reads:
        sheet_position = reads.position()
    treatments = [node for node in cards(sheet) if "treatment" in node.classes]
    for due in treatments:
        assert "due by" in due.text
        assert "cautions" in [one.classes[0] for one in due.all("ul", "ol") if one.classes]
        for _ in range(2):  # a second tap changes nothing
            Form(next(due.all("form")), str(sheet.response.url)).send(client)
    with workshop.store.reading() as reads:
        kinds = [type(row.entry.fact).__name__ for row in reads.entries_after(sheet_position)]
    assert kinds == ["TreatmentDone"] * len(treatments)
    after = visit(str(sheet.response.url))
    assert all("answered" in node.classes for node in cards(after) if "treatment" in node.classes)
    assert "After wet" not in visit("/").text


def test_a_sheet_for_the_wet_says_first_whether_the_car_is_rated_for_it(visit: Visit) -> None:
    assert "Into the wet" in visit("/sheet?car=Bramble&minutes=12&wet=salt+water&make=1").text


def test_a_learner_is_told_what_to_do_with_a_grown_up(visit: Visit) -> None:
    sheet = visit("/sheet?car=Bramble&minutes=12&learner=true&make=1")
    assert "with a grown-up" in sheet.text
