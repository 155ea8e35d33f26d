"""Whether a pack fits a car, from what is booked about both.

Authority: worked heat figures (two cells, 6 mΩ in all, 0.28 kg, 139 × 47 × 25 mm in still air, 60 A for 300 s
from 25 °C at half charge: 29.03 K with the reversible heat, 20.58 K without), label and sag arithmetic.
"""

from __future__ import annotations

from typing import Any

import pytest

from snugfast.core.errors import WrongData
from snugfast.usecases.packs.fit_car import FitAsked, FitShown, fit_of
from snugfast.usecases.packs.tables import pack_tables
from snugfast.usecases.twin.pack_in_car import leads_ohm
from tests.usecases.pack_bench import Bench

pytestmark = pytest.mark.slow  # through a whole use-case: not in make check

BOOKED = {
    "cells": "2",
    "label": "25C",
    "plug": "two flat blades",
    "size_mm": "139 x 47 x 25",
    "mass_g": "280",
}


def fit(packs: Bench, *names: str, **more: Any) -> FitShown:
    said = {
        "amps": "60",
        "shares": "100",
        "minutes": "5",
        "air": "25 °C",
        "tray_mm": "140 x 48 x 26",
        "cells": "2-3",
        "cut_off": "3.2 V",
        **more,
    }
    return fit_of(packs.workshop, FitAsked("Bramble", names or ("Two",), **said))


@pytest.fixture
def two(packs: Bench) -> Bench:
    packs.add_pack("Two", **BOOKED)
    packs.measured(resistances="3.0 3.0", pack="Two", instrument="meter", warmth="25")
    return packs


def test_the_worked_heat_of_a_hard_run(two: Bench) -> None:
    told = fit(two)
    assert told.fits
    assert told.rise is not None
    assert told.rise_resistive is not None
    assert told.rise.value == pytest.approx(29.03, abs=0.05)
    assert told.rise_resistive.value == pytest.approx(20.58, abs=0.02)
    assert told.hot_after is not None
    assert told.hot_after.value == pytest.approx(372.0, abs=1.0)  # +35 K


def test_label_and_sag_stand_side_by_side(two: Bench) -> None:
    """25C of 5 Ah claims 125 A; (3.7925 − 3.2) V over 3 mΩ and half of 4 mΩ of leads is 118.5 A."""
    told = fit(two, amps="0 20 60 120", shares="40 30 20 10")
    assert told.label is not None
    assert told.sag is not None
    assert told.asked_rms is not None
    assert told.label.value == pytest.approx(125.0)
    assert told.asked_rms.value == pytest.approx(47.75, abs=0.01)
    assert told.sag.value == pytest.approx((3.7925 - 3.2) / 0.005, rel=0.001)
    assert told.margin == pytest.approx(min(125 / 47.75, 118.5 / 120), rel=0.01)


@pytest.mark.parametrize(
    ("booked", "asked", "words"),
    [
        ({"plug": "bullets 4 mm"}, {}, "Its plug"),
        ({"size_mm": "150 x 47 x 25"}, {}, "Do not squeeze a pack"),
        ({"cells": "4"}, {}, "The car takes 2 to 3 cells"),
        ({}, {"cut_off": ""}, "does not stop at 3.00 V"),
        ({"chemistry": "lifepo4"}, {}, "does not know lithium iron phosphate"),
    ],
)
def test_what_does_not_fit_is_refused_with_its_reason(
    packs: Bench, booked: dict[str, Any], asked: dict[str, Any], words: str
) -> None:
    packs.add_pack("Two", **{**BOOKED, **booked})
    told = fit(packs, **asked)
    assert not told.fits
    assert told.margin is None
    assert words.casefold() in " ".join(f.sentence for f in told.refusals).casefold()


def test_unlike_packs_are_not_driven_end_to_end_or_side_by_side(two: Bench) -> None:
    two.add_pack("Other", **{**BOOKED, "capacity": "4000 mAh"})
    with pytest.raises(WrongData, match="compared cell by cell"):
        fit(two, "Two", "Other", joined="packs side by side")
    for name in ("Two", "Other"):
        two.measured("3.80 3.80", pack=name, rested="90")
    for joined in ("packs end to end", "packs side by side"):
        told = fit(two, "Two", "Other", joined=joined, cells="2-6")
        assert any("different types" in finding.problem for finding in told.refusals)
    like = fit(two, "Two", "Other")
    assert any("takes 1 and this is 2" in finding.problem for finding in like.refusals)


def test_a_damaged_pack_is_refused_before_anything_else_is_asked(two: Bench) -> None:
    two.hurt("dented", pack="Two")
    told = fit(two, amps="", tray_mm="")
    assert [finding.where for finding in told.refusals] == ["Two"]
    assert told.margin is None


def test_what_is_not_booked_is_asked_for_all_at_once(packs: Bench) -> None:
    packs.add_pack("Bare", cells="2")
    with pytest.raises(WrongData) as refused:
        fit(packs, "Bare", tray_mm="", amps="")
    told = str(refused.value)
    for words in ("its size and its weight and its plug", "the tray of Bramble", "what the car draws"):
        assert words in told


def test_a_guessed_resistance_is_named_as_a_guess(packs: Bench) -> None:
    packs.add_pack("Two", **BOOKED)
    told = fit(packs)
    assert any("is guessed" in note for note in told.rests_on)
    assert any("still air" in note for note in told.rests_on)


def test_a_cold_pack_sags_sooner_and_may_cut_off(two: Bench) -> None:
    """*worked*: at −10 °C exp(20000/8.314·(1/263.15 − 1/298.15)) = 2.93 times what it resists at 25 °C."""
    warm, cold = (fit(two, amps="60", peak="80", air=air) for air in ("25 °C", "-10 °C"))
    assert warm.sag is not None and cold.sag is not None
    assert cold.sag.value == pytest.approx((3.7925 - 3.2) / (0.003 * 2.925 + 0.002), rel=0.005)
    assert cold.cuts_off and not warm.cuts_off


def test_a_resistance_read_cold_is_not_counted_cold_twice(two: Bench) -> None:
    """*law*: the same pack read at 0 °C and at 25 °C fits alike (8 mΩ at 0 °C are 3.8 at 25 °C)."""
    warm = fit(two)
    two.clock.on(days=1)
    two.measured(resistances="6.275 6.275", pack="Two", instrument="meter", warmth="0")  # 3.0 × 2.09
    again = fit(two)
    assert warm.sag is not None and again.sag is not None
    assert again.sag.value == pytest.approx(warm.sag.value, rel=0.01)


def test_leads_are_one_figure_for_packs_and_cars() -> None:
    assert pack_tables().leads_ohm.likely == leads_ohm().value
