"""The rest voltage of a nickel cell. Authority: arithmetic of the published law, and laws."""

from __future__ import annotations

import itertools

import pytest

from snugfast.physics.powertrain.nickel_cells import NickelLaw, nickel_rest_V
from snugfast.usecases.twin import tables

LAW = NickelLaw(1.2848, 0.01875, 0.144, 15.0)


@pytest.mark.parametrize(
    ("charge", "volts"),
    [(1.0, 1.41005), (0.5, 1.24738), (0.1, 1.0973)],  # E0 − K/z + A·exp(−15·(1 − z)), by hand
)
def test_the_law_by_hand(charge: float, volts: float) -> None:
    assert nickel_rest_V(charge_share=charge, law=LAW) == pytest.approx(volts, abs=5e-5)


def test_it_is_flat_for_most_of_the_way_and_never_rises_as_it_empties() -> None:
    """Law: less than a tenth of a volt between 0.2 and 0.8, a knee below, nothing without end at the end."""
    volts = [nickel_rest_V(charge_share=n / 100, law=LAW) for n in range(101)]
    assert all(low <= high for low, high in itertools.pairwise(volts))
    assert volts[80] - volts[20] < 0.1 < volts[20] - volts[5]
    assert volts[0] == volts[2] > 0.0


def test_the_curve_of_the_kernel_is_the_law() -> None:
    curve = tables.nickel_curve()
    for charge in (0.1, 0.33, 0.5, 0.9, 1.0):
        assert curve.voltage_V(charge) == pytest.approx(nickel_rest_V(charge_share=charge, law=LAW), abs=2e-3)
