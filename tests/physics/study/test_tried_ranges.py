"""Beyond what formulas were tried for: said once a run, by its extremes. Authority: law, from the marks."""

from __future__ import annotations

from dataclasses import replace

import pytest

from snugfast.core.units import ZERO_CELSIUS_K
from snugfast.physics.packs.cells import resistance_factor
from snugfast.physics.powertrain.runs import Run, drive
from snugfast.physics.study.gearing import sprint
from snugfast.physics.study.tried_ranges import WATCHED, beyond_tried
from tests.physics.truck_twin import question

QUESTION = question()


@pytest.fixture(scope="module")
def run() -> Run:
    return drive([sprint(QUESTION, QUESTION.car)], for_s=3.0)[0]


def test_a_run_within_all_spans_says_nothing(run: Run) -> None:
    assert beyond_tried(QUESTION, [run]) == ()


def test_a_pack_hotter_than_its_law_was_tried_for_is_said_once(run: Run) -> None:
    """Law: the limit is the mark's own, and two runs alike say it once."""
    most_degC = resistance_factor.mark.spans["temperature_K"].high - ZERO_CELSIUS_K
    hot = replace(run, top_pack_degC=most_degC + 12.0)
    said = beyond_tried(QUESTION, [hot, hot])
    assert len(said) == 1
    assert f"the pack gets to {most_degC + 12.0:.0f} °C" in said[0]
    assert f"was tried to {most_degC:.0f} °C" in said[0]


def test_air_colder_than_a_law_was_tried_for_is_said(run: Run) -> None:
    cold = replace(
        QUESTION, place=replace(QUESTION.place, air=replace(QUESTION.place.air, temperature_degC=-28.0))
    )
    assert any("the pack starts at -28 °C" in one for one in beyond_tried(cold, [run]))


def test_what_is_watched_is_an_argument_with_a_span() -> None:
    for one in WATCHED:
        assert one.argument in one.formula.mark.spans
