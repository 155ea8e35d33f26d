"""Pack care on the command line, typed as an owner types it: nothing is saved unasked, harm gets no number.

Authority: what each command promises in its help, and the rules of pack care.
"""

from __future__ import annotations

import json
import re
import sys
from collections.abc import Callable
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest

from snugfast.cli.main import main


@dataclass(frozen=True)
class Said:
    """What the command answered, with its lines run together."""

    code: int
    out: str
    err: str

    @property
    def words(self) -> str:
        return re.sub(r"\s+", " ", self.out + self.err)

    @property
    def data(self) -> Any:
        return json.loads(self.out)


Typed = Callable[..., Said]
LONG_AGO = f"{datetime.now(UTC) - timedelta(days=40):%Y-%m-%d}"
ANSWERED = (
    *("--found", "nothing", "--warmth", "21", "--cells", "3", "--chemistry", "lithium-polymer"),
    *("--attended", "--hard-surface", "--balance-plug"),
)


@pytest.fixture
def type_(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> Typed:
    """A workshop with a truck, a pack and a charger; every command typed as a script would."""
    monkeypatch.setenv("SNUGFAST_WORKSHOP", str(tmp_path / "workshop.sqlite"))
    monkeypatch.setattr(sys, "stdin", open("/dev/null"))  # noqa: SIM115, PTH123

    def typed(*words: str) -> Said:
        monkeypatch.setattr(sys, "argv", ["snugfast", *words])
        code = 0
        try:
            main()
        except SystemExit as ended:
            code = int(ended.code or 0)
        said = capsys.readouterr()
        return Said(code, said.out, said.err)

    typed("begin", "--by", "Ada", "--zone", "UTC")
    typed("car", "add", "Bramble", "--from", "truck-1-10-4wd-3s", "--yes")
    added = ("--cells", "3", "--capacity", "5000mAh", "--type", "a 5000", "--when", LONG_AGO, "--yes")
    assert typed("packs", "add", "Ember 1", *added).code == 0
    assert typed("packs", "charger", "Twin", "--amps", "10", "--watts", "200", "--yes").code == 0
    return typed


def kept(type_: Typed, *words: str) -> Said:
    said = type_("packs", *words, "--yes")
    assert said.code == 0, said.err
    return said


def test_a_look_is_echoed_with_its_caution_and_kept_only_when_asked(type_: Typed) -> None:
    said = type_("packs", "looked", "Ember 1", "nothing")
    assert "smell it before every charge" in said.words
    assert "looked at, felt and smelled: nothing found" in said.words
    assert "Nothing was saved" in said.words
    assert type_("packs", "show", "Ember 1", "--json").data["looked"] is False
    kept(type_, "looked", "Ember 1", "nothing")
    assert type_("packs", "show", "Ember 1", "--json").data["verdict"] == "OK"


def test_one_pack_is_told_with_its_charge_its_times_and_its_energy(type_: Typed) -> None:
    kept(type_, "measured", "Ember 1", "--volts", "3.80 3.79 3.81")
    said = type_("packs", "show", "Ember 1").words
    for words in (
        "Charge left: 49 % (",
        "unplugged:",
        "plugged in with the switch off:",
        "drain 5 mA (1 to 20), guessed",
        "left switched on:",
        "55.5 Wh",
        "ask the airline",
        "The switch off is not unplugged",
    ):
        assert words in said


def test_a_session_with_every_answer_says_amperes_minutes_and_cautions(type_: Typed) -> None:
    kept(type_, "measured", "Ember 1", "--volts", "3.75 3.75 3.75")
    said = type_("packs", "charge", "Ember 1", "Twin", *ANSWERED).words
    assert "Set 5.0 A" in said
    assert "Stay with a charging pack" in said
    assert "Until 4.20 V a cell, about" in said
    plan = type_("packs", "charge", "Ember 1", "Twin", *ANSWERED, "--json").data
    assert plan["current"]["value"] == pytest.approx(5.0, rel=0.01)
    assert plan["minutes"]["unit"] == "s"


def test_a_session_with_answers_left_out_is_refused_and_says_which(type_: Typed) -> None:
    said = type_("packs", "charge", "Ember 1", "Twin", "--found", "nothing").words
    assert said.startswith("Do not start this charge.")
    for question in ("warmth", "attended", "surface", "chemistry", "cells"):
        assert f"✗ {question}: Nobody said." in said
    assert "Set 5.0 A" not in said


def test_harm_found_at_the_charger_is_kept_and_no_number_is_left(type_: Typed) -> None:
    swollen = tuple("swollen" if word == "nothing" else word for word in ANSWERED)
    said = type_("packs", "charge", "Ember 1", "Twin", *swollen, "--yes")
    assert said.words.startswith("Do not charge.")
    assert "Saved" in said.words
    state = type_("packs", "show", "Ember 1", "--json").data
    assert state["damaged"]
    assert state["charge"] is None
    assert state["cases"] == []
    assert state["energy"] is None
    text = type_("packs", "show", "Ember 1").words
    assert "hazardous-waste point" in text
    assert not re.search(r"\d+ %|recharge by|Wh", text)


def test_the_sheet_of_the_car_is_shut_until_the_pack_is_out(type_: Typed) -> None:
    assert type_("ran", "Bramble:Ember 1", "12", "--yes").code == 0
    kept(type_, "hurt", "Ember 1", "thrown out of the car", "--car", "Bramble")
    shut = type_("sheet", "Bramble").words
    assert "No sheet for Bramble until it is out" in shut
    assert 'snugfast packs away "Ember 1" unplugged' in shut
    assert type_("sheet", "Bramble", "--json").data["steps"] == []
    today = type_("packs").words
    assert "NOW" in today
    assert "Take it out of Bramble" in today
    kept(type_, "away", "Ember 1", "unplugged")
    assert "No sheet for" not in type_("sheet", "Bramble").words
    too_soon = type_("packs", "cleared", "Ember 1", "--by", "looked over", "--yes")
    assert too_soon.code == 2
    assert "at the soonest the next day" in too_soon.words


@pytest.mark.parametrize(
    ("typed", "words"),
    [
        (("measured", "Ember 1", "--volts", "4.35 4.35 4.35"), "full at 4.20 V"),
        (("measured", "Ember 1", "--volts", "3.8 3.8"), "Two readings for three cells"),
        (("measured", "Ember 1", "--volts", "3,80 3,80 3,80"), "Write 3.80"),
        (("charged", "Ember 1", "--began", "14:00", "--when", "yesterday"), "is before"),
        (("looked", "Ember 9", "nothing"), "The packs here are Ember 1"),
        (("looked", "Ember 1", "wobbly"), "not one of the words"),
        (("away", "Ember 1", "plugged"), "In which car"),
        (("drain", "Bramble", "40 A"), "cannot be"),
    ],
)
def test_what_cannot_be_is_one_clear_sentence_and_nothing_is_kept(
    type_: Typed, typed: tuple[str, ...], words: str
) -> None:
    before = type_("journal", "--json").out
    said = type_("packs", *typed, "--yes")
    assert said.code == 2
    assert words.casefold() in said.words.casefold()
    assert "Traceback" not in said.err
    assert type_("journal", "--json").out == before


def test_storing_tells_both_views_and_names_the_models(type_: Typed) -> None:
    kept(type_, "charged", "Ember 1")
    kept(type_, "charger-gone", "Twin")
    said = type_("packs", "store", "Ember 1", "--until", "14 days").words
    assert "They differ; the choice is yours." in said
    assert "full pack is better than a low one" in said
    assert "about 5 % from full" in said
    assert "% by the anode potential law" in said
    assert type_("packs", "store", "Ember 1", "--until", "2026-01-01").code == 2


def test_a_correction_names_only_what_was_wrong(type_: Typed) -> None:
    kept(type_, "change", "Ember 1", "--capacity", "5200 mAh", "--name", "Ember One")
    state = type_("packs", "show", "Ember One", "--json").data
    assert state["capacity_Ah"] == 5.2
    assert state["cells"] == 3
    assert state["details"]["type_name"] == "a 5000"


def test_a_measured_drain_replaces_the_guess(type_: Typed) -> None:
    kept(type_, "measured", "Ember 1", "--volts", "3.80 3.79 3.81")
    kept(type_, "drain", "Bramble", "2 mA")
    kept(type_, "away", "Ember 1", "plugged", "in", "with", "the", "switch", "off", "--car", "Bramble")
    said = type_("packs", "show", "Ember 1").words
    assert "drain 2 mA, measured" in said
    assert "Unplug it from Bramble" in type_("packs", "today").words


def test_lists_questions_and_views_answer_in_words_and_in_plain_data(type_: Typed) -> None:
    assert "Ember 1" in type_("packs", "list").words
    assert type_("packs", "list", "--json").data[0]["name"] == "Ember 1"
    assert "Twin" in type_("packs", "chargers").words
    assert type_("packs", "chargers", "--json").data[0]["most_A"] == 10.0
    assert (
        "a trend needs 6" in type_("packs", "trend", "Ember 1").words
        or "Nobody has read" in type_("packs", "trend", "Ember 1").words
    )
    assert "must not be connected" in type_("packs", "together", "Ember 1", "Ember 1").words
    assert "Without a storage function" in type_("packs", "views").words
    assert len(type_("packs", "views", "--json").data) == 9
    assert type_("packs", "today", "--json").data["todo"]
    refused = type_("packs", "fit", "Bramble", "Ember 1", "--amps", "30", "--shares", "100", "--min", "12")
    assert refused.code == 2
    assert "nobody booked its size" in refused.words


def test_a_pack_that_leaves_is_told_how_to_be_handed_in(type_: Typed) -> None:
    said = kept(type_, "gone", "Ember 1", "--why", "handed in")
    assert "Tape the plug" in said.words
    assert "No packs yet" in type_("packs", "list").words


def test_every_command_has_help(type_: Typed) -> None:
    listed = type_("packs", "--help").words
    for command in ("add", "charge", "looked", "measured", "store", "trend", "fit", "today", "views"):
        assert command in listed
        assert "Usage" in type_("packs", command, "--help").words


def test_the_same_job_for_several_packs_and_each_caution_are_said_once(type_: Typed) -> None:
    for name in ("Ember 7", "Ember 8"):
        kept(type_, "add", name, "--cells", "3S", "--capacity", "5000mah")
    said = type_("packs").words
    assert "Ember 7, Ember 8: Read its cells" in said
    assert said.count("bridged pins short the pack") == 1


def test_a_pack_is_added_as_its_label_says_it(type_: Typed) -> None:
    assert "LiPo, 4 cells, 5.2 Ah" in type_("packs", "add", "Blue", "4S", "5200mAh", "60C", "--yes").words
    refused = type_("packs", "add", "Red", "4S")
    assert refused.code == 2 and "3S 5000mAh" in refused.err
    assert "not read off a label" in type_("packs", "add", "Red", "big", "--yes").err


def test_a_command_typed_short_shows_how_it_goes(type_: Typed) -> None:
    said = type_("packs", "away", "Red")
    assert said.code == 2 and "Like: snugfast packs away “Ember 1” unplugged" in said.err
