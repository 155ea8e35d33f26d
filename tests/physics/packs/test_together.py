"""Packs joined side by side or end to end. Authority: common practice, each rule seen to refuse (law)."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from snugfast.core.errors import BadInput
from snugfast.physics.packs.chemistry import Chemistry, NoTable
from snugfast.physics.packs.reasons import Level, Reason
from snugfast.physics.packs.together import PackToJoin, parallel_refusals, series_refusals
from snugfast.physics.packs.verdict import Cleared, Withheld
from tests.physics.pack_tables import AH_C, product_limits

LIMITS = product_limits().cell
ONE = PackToJoin(
    name="A",
    type_name="soft 5 Ah",
    chemistry=Chemistry.LITHIUM_POLYMER,
    cells=2,
    capacity_C=5 * AH_C,
    rest_V=(3.80, 3.81),
    verdict=Cleared(Level.USE, ()),
)
OTHER = replace(ONE, name="B", rest_V=(3.81, 3.80))


def test_like_packs_at_like_volts_agree() -> None:
    assert not parallel_refusals([ONE, OTHER], LIMITS)


@pytest.mark.parametrize(
    ("changes", "where"),
    [
        ({"cells": 3, "rest_V": (3.80, 3.80, 3.80)}, "cells"),
        ({"chemistry": Chemistry.HIGH_VOLTAGE_LITHIUM}, "chemistry"),
        ({"type_name": "hard 5 Ah"}, "type"),
        ({"capacity_C": 4 * AH_C}, "type"),
        ({"rest_V": (3.85, 3.85)}, "volts"),
        ({"verdict": Withheld(Level.RETIRE, (Reason(Level.RETIRE, "It is done.", "Hand it in."),))}, "B"),
    ],
)
def test_packs_that_do_not_agree_are_refused_with_the_reason(changes: dict[str, object], where: str) -> None:
    unlike = replace(OTHER, **changes)  # type: ignore[arg-type]
    assert [finding.where for finding in parallel_refusals([ONE, unlike], LIMITS)] == [where]


def test_end_to_end_volts_may_differ_but_types_may_not() -> None:
    assert not series_refusals([ONE, replace(OTHER, rest_V=(3.7, 3.7))])
    assert series_refusals([ONE, replace(OTHER, capacity_C=4 * AH_C)])


def test_one_pack_alone_is_not_joined() -> None:
    assert [finding.where for finding in parallel_refusals([ONE], LIMITS)] == ["packs"]


@given(st.floats(0.0, 0.3))
def test_the_gap_alone_decides_for_like_packs(gap_V: float) -> None:
    found = parallel_refusals([ONE, replace(ONE, rest_V=(3.80 + gap_V, 3.81 + gap_V))], LIMITS)
    assert bool(found) is (
        3.80 + gap_V - 3.80 > LIMITS.parallel_gap_V or 3.81 + gap_V - 3.81 > LIMITS.parallel_gap_V
    )


def test_missing_readings_are_refused() -> None:
    with pytest.raises(BadInput, match="One reading for two cells"):
        parallel_refusals([ONE, replace(OTHER, rest_V=(3.8,))], LIMITS)


def test_like_packs_of_a_chemistry_without_limits_are_not_compared() -> None:
    pair = [replace(pack, chemistry=Chemistry.HIGH_VOLTAGE_LITHIUM) for pack in (ONE, OTHER)]
    with pytest.raises(NoTable, match="high-voltage"):
        parallel_refusals(pair, LIMITS)
