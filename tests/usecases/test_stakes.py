"""What is left at stake after a look. Authority: law."""

from __future__ import annotations

from uuid import UUID

from hypothesis import given
from hypothesis import strategies as st

from snugfast.usecases.beliefs.stakes import AtRisk
from snugfast.usecases.beliefs.story import Mark
from tests.usecases.bench import facts

chances = st.floats(0.0, 1.0)


def at_risk(presence: float, fail_chance: float, delay: float) -> AtRisk:
    """A risk of which only these three numbers matter here."""
    return AtRisk(
        car=UUID(int=1),
        pack=None,
        mode=facts().modes["wheel_nut_loose"],
        place=None,
        mark=Mark(),
        since_look=0.0,
        presence=presence,
        fail_chance=fail_chance,
        sudden_chance=0.0,
        avoidable_chance=0.0,
        rate=1 / 200,
        multiplier=1.0,
        delay=delay,
        sudden_share=0.0,
        exposure=30.0,
    )


@given(presence=chances, fail_chance=chances, delay=st.floats(1.0, 1000.0), detection=chances)
def test_a_look_leaves_a_chance_between_none_and_what_it_was(
    presence: float, fail_chance: float, delay: float, detection: float
) -> None:
    after = at_risk(presence, fail_chance, delay).fail_chance_after(detection)
    assert 0.0 <= after <= fail_chance


def test_a_defect_that_is_all_but_certain_leaves_a_chance_too() -> None:
    """The mean delay is not the whole belief, so a sound part's share came out below zero by billions."""
    after = at_risk(1.0 - 1e-14, 0.12, 180.0).fail_chance_after(0.5)
    assert 0.0 < after < 0.12
