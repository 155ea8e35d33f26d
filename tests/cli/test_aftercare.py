"""After wet, on the command line: what is due and by when, the sheet before a wet run, a learner's sheet."""

from __future__ import annotations

import json

import pytest

from tests.cli.typed import Typed


@pytest.fixture
def wet(thread: Typed) -> Typed:
    """A truck that just came out of the mud."""
    assert thread("ran", "Bramble:Ember 1", "12", "gravel", "mud", "--yes").code == 0
    return thread


def test_a_wet_run_says_by_when_and_treat_lists_and_settles_it(wet: Typed) -> None:
    said = wet("ran", "Bramble", "3", "fresh")
    assert "Dry and oil after fresh water: by " in said.out
    assert "Bramble: Wash, dry and oil after mud, due by " in wet("treat").out
    shown = wet("treat", "Bramble")
    assert shown.code == 1
    assert "1. With dry hands unplug the battery" in shown.out
    assert "Adults only." in shown.out
    assert "Nothing was saved" in shown.err
    done = wet("treat", "Bramble", "--min", "20", "--yes")
    assert "done: Wash, dry and oil after mud, 20 min." in done.out
    assert [due["treatment"] for due in json.loads(wet("treat", "--json").out)] == ["open_electrics"]
    assert wet("treat", "Bramble", "open_electrics", "--yes").code == 0
    assert wet("treat").out == "Nothing is to be cleaned or dried.\n"
    assert "done: Dry the receiver box and the connectors" in wet("journal").out


def test_on_the_printed_sheet_it_stands_before_anything_is_plugged_in(wet: Typed) -> None:
    """Drying begins with the pack taken out, wiped and looked over, so it stands before the first round."""
    full = wet("sheet", "--minutes", "60", "--full").out
    screen = wet("sheet", "--minutes", "60").out
    for out in (full, screen):
        at = [
            out.index("Wash, dry and oil after mud, due by"),
            out.casefold().index("battery and radio"),
            out.index("Look, feel and smell before charging"),
            out.index("Failsafe: transmitter off"),
        ]
        assert at == sorted(at)
    assert full.index("Before anything else is opened or plugged in") < full.index("Wash, dry and oil")
    assert "With dry hands unplug the battery and take it out" in full
    assert "31 of the minutes are due after wet" in full
    before = " ".join(screen[: screen.index("BATTERY AND RADIO")].split())
    assert "Nothing plugged in before it is dry." in before
    assert "31 after wet" in screen
    assert "Wash, dry and oil after mud, due by" in wet("sheet", "--short").out


def test_before_a_wet_run_the_sheet_says_what_is_not_rated(thread: Typed) -> None:
    for length in ((), ("--full",)):
        out = thread("sheet", "Bramble", "--wet", "salt water", *length).out
        assert "!! Bramble, salt water: No salt water unless everything is rated" in out
        assert "Not rated: " in out
        assert "receiver plugs, ESC switch, ESC fan, motor connectors" in " ".join(out.split())
        assert "Rinse out salt, open, dry and oil, within 2 h, 45 min." in " ".join(out.split())
    assert "Not rated: " not in thread("sheet", "Bramble", "--wet", "dry").out


def test_a_learners_sheet_marks_what_is_done_with_a_grown_up(wet: Typed) -> None:
    for length, mark in ((("--full",), "[together with a grown-up]"), ((), "[grown-up]")):
        assert mark not in wet("sheet", "--minutes", "60", *length).out
        learner = wet("sheet", "--minutes", "60", "--learner", *length).out
        marked = [line for line in learner.splitlines() if mark in line]
        assert any("Look, feel and smell before charging" in line for line in marked)
        assert any("Wash, dry and oil after mud" in line for line in marked)
        assert "Check the transmitter batteries" in learner
        assert not any("Check the transmitter batteries" in line for line in marked)


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (("treat", "Bramble", "--yes"), "Nothing is due on Bramble"),
        (("treat", "Brumble"), "There is no car called “Brumble”"),
        (("treat", "Bramble", "wash_mudd", "--yes"), "Did you mean"),
        (("treat", "Bramble", "wash_mud", "--min", "-4", "--yes"), "-4"),
        (("treat", "Bramble", "wash_mud", "--when", "2099-01-01", "--yes"), "has not come yet"),
    ],
)
def test_what_cannot_be_is_refused_and_nothing_is_kept(
    thread: Typed, words: tuple[str, ...], says: str
) -> None:
    before = thread("journal", "--json").out
    said = thread(*words)
    assert said.code == 2
    assert says in said.err
    assert thread("journal", "--json").out == before


def test_a_second_hand_car_gets_a_sheet_of_its_own_with_minutes_and_price(thread: Typed) -> None:
    added = thread("car", "add", "Barn", "--from", "truck-1-10-4wd-3s", "--history", "second-hand", "--yes")
    assert added.code == 0
    out = thread("car", "arrive", "Barn").out
    assert "Second-hand or unknown" in out
    assert "Needs: 4 × M4 flanged nylon locknut, 2.40 EUR" in out
    assert "minutes in all" in out
    assert "Adults only." in out
    short = thread("car", "arrive", "Barn", "--short", "--learner").out
    assert "Adults only." not in short
    assert "[together with a grown-up]" in short
    assert thread("found", "Barn", "wheel_nuts", "sound", "--yes").code == 0
    sheet = json.loads(thread("car", "arrive", "Barn", "--json").out)
    assert [check["check"] for check in sheet["checks"] if check["done_at"]] == ["wheel_nuts"]
    assert "done: Second-hand or unknown" in thread("car", "arrive", "Barn", "--done", "--yes").out
    assert "Worked through on" in thread("car", "arrive", "Barn", "--short").out


def test_putting_away_and_waking(thread: Typed) -> None:
    shown = thread("lay-up", "Bramble")
    assert "Batteries to storage voltage" in shown.out
    assert "Nothing was saved" in shown.err
    kept = thread("lay-up", "Bramble", "--words", "top shelf", "--yes")
    assert "Bramble was laid up: top shelf." in kept.out
    assert "laid up already" in thread("lay-up", "Bramble", "--yes").err
    assert "Bramble was woken up." in thread("wake-up", "Bramble", "--yes").out
    assert "Bring back into use" in thread("car", "arrive", "Bramble", "--short").out
    assert thread("wake-up", "Bramble", "--yes").code == 2
