"""A day out in one command, saved with undo; what it means now is said with it.

Authority: the words as `snugfast outing --help` tells them.
"""

from __future__ import annotations

import json

import pytest

from snugfast.core.errors import BadInput
from snugfast.facts.load import load_facts
from snugfast.records.ledger import Ledger
from snugfast.usecases.journal.outing import CarOut
from snugfast.usecases.journal.outing_words import read_outing
from snugfast.usecases.shared.ledger import ledger_now
from tests.cli.test_thread import marks
from tests.cli.typed import Typed
from tests.web.workshops import BEGAN, Clock, tell_story


@pytest.fixture(scope="module")
def ledger() -> Ledger:
    workshop = tell_story(Clock(BEGAN), runs=0)
    with workshop.store.reading() as reads:
        return ledger_now(reads)


def cars(ledger: Ledger, *words: str) -> tuple[CarOut, ...]:
    return read_outing(load_facts(), ledger, words, air="", when="", id=None).cars


def test_an_evening_of_two_cars_is_one_command_and_one_undo(thread: Typed) -> None:
    thread("car", "add", "Nettle", "--from", "truck-1-10-4wd-3s", "--yes")
    thread("packs", "add", "Ash 1", "--cells", "3", "--capacity", "5000mAh", "--yes")
    before = marks(thread)
    said = thread("outing", "Bramble", "Ember 1", "14", "many", "Nettle", "Ash 1", "20", "gravel", "mud")
    assert said.code == 0, said.err
    assert "Bramble ran 14 min with Ember 1 on gravel, mud, many hard hits" in said.out
    assert "Nettle ran 20 min with Ash 1 on gravel, mud" in said.out
    assert "What it means now:" in said.out
    assert "after wet" in said.out
    assert "Next: snugfast sheet Bramble Nettle" in said.out
    assert max(map(len, said.out.split("What it means now:")[1].splitlines())) <= 80
    assert len(marks(thread)) == len(before) + 2
    undone = thread("undo")
    assert undone.out.count("Undone") == 2
    assert thread("redo").out.count("Redone") == 2
    assert thread("undo", "--one").out.count("Undone") == 1


def test_plain_data_says_the_same(thread: Typed) -> None:
    said = json.loads(thread("outing", "Bramble:Ember 1", "14", "dirt", "--json").out)
    assert said["kept"] == len(said["marks"]) == 1
    assert "Ember 1" in said["told"][0]
    assert all(set(one) == {"what", "why", "by"} for one in said["now"])


def test_words_belong_to_the_car_they_follow(ledger: Ledger) -> None:
    bramble, quarry = cars(
        ledger,
        "bramble",
        "ember 1",
        "ember 2",
        "14,",
        "3 hits",
        "hot",
        "Quarry",
        "9",
        "few",
        "broke spur stripped",
    )
    assert bramble == CarOut("Bramble", ("Ember 1", "Ember 2"), ("14",), "3", noticed=("hot",))
    assert quarry == CarOut("Quarry", (), ("9",), "a few", broke=("spur stripped",))


def test_one_after_another_or_together_as_in_ran(ledger: Ledger) -> None:
    assert cars(ledger, "Bramble:Ember 1,Ember 2")[0].together is False
    together = cars(ledger, "Bramble:Ember 1+Ember 2")[0]
    assert (together.packs, together.together) == (("Ember 1", "Ember 2"), True)


def test_ground_and_wet_stand_anywhere(ledger: Ledger) -> None:
    said = read_outing(load_facts(), ledger, ("gravel", "Bramble", "14", "salt"), air="", when="", id=None)
    assert (said.ground, said.wet) == ("gravel", "salt water")


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (("Bramble", "gravle"), "Did you mean gravel"),
        (("Brambel", "14"), "Did you mean Bramble"),
        (("14", "Bramble"), "stands before any car"),
    ],
)
def test_an_unknown_word_offers_the_nearest(ledger: Ledger, words: tuple[str, ...], says: str) -> None:
    with pytest.raises(BadInput) as refused:
        cars(ledger, *words)
    assert says in f"{refused.value.sentence} {refused.value.way_out}"


def test_a_reading_names_its_car(thread: Typed) -> None:
    said = thread("outing", "Bramble", "Ember 1", "14", "--reading", "Bramble: motor can 68 °C 20 s")
    assert "motor can 68 °C, 20 s after stopping" in said.out
    refused = thread("outing", "Bramble", "14", "--reading", "Nobody: motor can 68 °C 20 s")
    assert refused.code == 2
    assert "Of which car" in refused.err


def test_minutes_without_end_are_refused(thread: Typed) -> None:
    """Found by the soak of lines: runs were laid apart by them before they were read."""
    said = thread("outing", "Bramble", "99999999999999999999999", "45")
    assert said.code == 2 and "minutes" in said.err
