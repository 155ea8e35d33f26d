"""Rules over the tables of the fault hunt, and what the loader refuses in them.

Authority: laws of this project; that a powered drivetrain is not touched is common practice.
"""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from snugfast.core.errors import WrongData
from snugfast.facts.hunts import STRENGTHS, WhereSafe
from snugfast.facts.load import load_facts
from snugfast.facts.model import Facts

POWERS = re.compile(r"(?i)touch of throttle|battery in[,.]|switch(?:ed)? (?:the car )?on\b|plug in\b")
HAND = re.compile(r"(?i)\b(?:hold|press|finger|by hand|feel)\b")
BOTH = re.compile(r"(?i)^battery out")  # a powered test that begins unplugged says so


@pytest.fixture(scope="module")
def facts() -> Facts:
    return load_facts()


def test_there_is_enough_to_hunt_with(facts: Facts) -> None:
    assert len(facts.hunt_symptoms) >= 12 and len(facts.hunt_causes) >= 60 and len(facts.hunt_tests) >= 45


def test_stronger_words_stand_for_higher_chances(facts: Facts) -> None:
    chances = [facts.hunt_strengths[word].chance for word in STRENGTHS]
    assert chances == sorted(chances, reverse=True)


def test_nothing_powered_is_held_and_nothing_is_powered_with_the_battery_out(facts: Facts) -> None:
    for test in facts.hunt_tests.values():
        text = " ".join(test.steps)
        if test.where is WhereSafe.PACK_OUT:
            assert not POWERS.search(text), test.key
        elif not BOTH.search(text):
            assert not HAND.search(text), test.key


def test_smoke_stops_everything(facts: Facts) -> None:
    (smoke,) = [symptom for symptom in facts.hunt_symptoms.values() if symptom.stops]
    assert {"pack-fire", "damaged-pack"} <= set(smoke.cautions)
    assert all(facts.hunt_tests[key].where is WhereSafe.PACK_OUT for key in smoke.first)


def test_a_symptom_has_something_to_try_with_the_battery_out(facts: Facts) -> None:
    for symptom in facts.hunt_symptoms.values():
        tests = [
            test
            for test in facts.hunt_tests.values()
            if not test.where.is_powered and any(set(one.links) & set(symptom.links) for one in test.answers)
        ]
        assert tests, symptom.key


SHORT = """
[rattle_check]
name = 'Shake it'
where_safe = 'on the stand'
seconds = 5
steps = ['Shake it.']
good = 'Quiet'
source = 'mine'
[[rattle_check.answers]]
word = 'Quiet'
means = 'Quiet.'
almost_always = ['pack_loose', 'no_such_cause']
[[rattle_check.answers]]
word = 'It rattles'
means = 'Loose.'
usually = ['pack_loose']
"""


def test_an_owners_test_is_judged_whole(tmp_path: Path) -> None:
    (tmp_path / "hunt_tests.toml").write_text(SHORT, "utf-8")
    with pytest.raises(WrongData) as wrong:
        load_facts(tmp_path)
    told = str(wrong.value)
    assert "has the caution “stand-clear”" in told
    assert "“Quiet” is an answer twice" in told
    assert "no cause is called “no_such_cause”" in told
    assert "“pack_loose” gives its answers more than always" in told
