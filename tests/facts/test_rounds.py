"""The rounds of the sheet and what is there before anybody looked: laws over the shipped tables.

Authority: laws of this project; the order of the rounds is common practice (power last, it proves the work).
"""

from __future__ import annotations

from pathlib import Path

import pytest

from snugfast.core.errors import WrongData
from snugfast.facts.load import load_facts
from snugfast.facts.model import Facts, Moment


@pytest.fixture(scope="module")
def facts() -> Facts:
    return load_facts()


def test_the_rounds_go_from_the_pack_inwards_and_power_comes_last(facts: Facts) -> None:
    at_home = [key for key in facts.rounds if key != "field"]
    assert at_home == [
        "warm", "rest", "feel", "hand", "underneath", "body_off", "deeper", "power"
    ]  # fmt: skip


def test_every_access_of_ours_is_named_by_a_round(facts: Facts) -> None:
    named = {access for one in facts.rounds.values() for access in one.access}
    assert named == {"", *facts.access}


def test_power_is_in_one_round_and_nothing_else_is_in_it(facts: Facts) -> None:
    for check in facts.checks.values():
        assert (facts.round_of(check).key == "power") == (check.moment is Moment.ON_STAND)


def test_a_check_behind_an_access_is_never_in_an_earlier_round_than_its_access(facts: Facts) -> None:
    order = list(facts.rounds)
    for check in facts.checks.values():
        if check.access and check.moment is Moment.COLD_BENCH:
            assert order.index(facts.round_of(check).key) >= order.index("body_off"), check.key


@pytest.mark.parametrize(
    ("check", "home"), [("wheel_nuts", "feel"), ("mesh_feel", "deeper"), ("pack_look", "rest")]
)
def test_where_a_check_is_done(facts: Facts, check: str, home: str) -> None:
    assert facts.round_of(facts.checks[check]).key == home


def test_every_caution_of_a_sheet_has_its_short_form(facts: Facts) -> None:
    used = {key for check in facts.checks.values() for key in check.cautions}
    used |= {key for access in facts.access.values() for key in access.cautions}
    used |= {
        key
        for check in facts.checks.values()
        for words in check.for_chemistry.values()
        for key in words.cautions
    }
    for key in sorted(used):
        short = facts.cautions[key].short
        assert short and len(short) < len(facts.cautions[key].text), key


def test_a_check_in_two_rounds_is_refused(tmp_path: Path) -> None:
    (tmp_path / "rounds.toml").write_text(
        "[porch]\nname = 'Porch'\nhands = 'outside'\nchecks = ['pack_look']\nsource = 'mine'\n", "utf-8"
    )
    with pytest.raises(WrongData) as wrong:
        load_facts(tmp_path)
    assert any("is in rest too" in found.problem for found in wrong.value.findings)


def test_a_new_truck_has_the_trades_presences(facts: Facts) -> None:
    """Trade judgement, no source: of what it finds on new trucks (second number) a share goes on to fail.

    Not less than a twentieth, and not more than half, but for a nut, which always goes on.
    """
    finds = {"mesh_shifted": 0.12, "motor_screw_loose": 0.12, "pinion_screw_dry": 0.20, "tyre_lifts": 0.10}
    for mode, found in {**finds, "steering_end_wrong": 0.25, "diff_low_oil": 0.20}.items():
        assert found / 25.0 <= facts.presence[mode].new <= found / 2.0, mode
    assert 0.015 <= facts.presence["wheel_nut_loose"].new <= 0.03
