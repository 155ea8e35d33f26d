"""Each formula gives the number of its worked example, which comes from a book or from a sum on paper."""

from __future__ import annotations

import pytest

from tests.house.tree import marked_formulas
from tests.house.worked import called, examples, worked_out

FORMULAS = {formula.path.removeprefix("snugfast."): formula for formula in marked_formulas()}


@pytest.mark.parametrize("path", examples())
def test_a_formula_gives_what_its_worked_example_says(path: str) -> None:
    """Worked, or by hand: which of the two is said in the example, and printed with it."""
    example = examples()[path]
    assert path in FORMULAS, "no formula has this name"
    assert example.sum or example.stands_in, "neither a sum nor a place says where the number is from"
    assert example.agrees(called(FORMULAS[path], example))
    if example.sum:
        assert example.agrees(worked_out(example.sum)), "the sum does not lead to the number"


def test_every_formula_has_a_worked_example() -> None:
    """None is let off: a formula nobody can work on paper is not understood yet."""
    assert sorted(set(FORMULAS) - set(examples())) == []
