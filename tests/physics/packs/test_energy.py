"""Label energy and air bands. Authority: label arithmetic and the published bands at their edges."""

from __future__ import annotations

import pytest

from snugfast.core.errors import ImpossibleInput
from snugfast.physics.packs.energy import JOULES_PER_WH, AirBand, air_band, label_energy_J
from tests.physics.pack_tables import AH_C, product_limits, toml

NOMINAL_V = product_limits().cell.nominal_V
TABLE = toml("air.toml")
BANDS = [
    AirBand(name, TABLE[name].get("up_to_Wh"), TABLE[name]["says"])
    for name in ("within_100", "with_approval", "not_carried")
]


@pytest.mark.parametrize(
    ("cells", "amp_hours", "watt_hours"),
    [
        (1, 2.2, 8.14),
        (2, 5.0, 37.0),
        (3, 5.0, 55.5),
        (4, 8.0, 118.4),
        (6, 5.0, 111.0),
        (6, 8.0, 177.6),
        (8, 5.0, 148.0),
    ],
)
def test_label_energy_is_the_worked_one(cells: int, amp_hours: float, watt_hours: float) -> None:
    joules = label_energy_J(cells=cells, capacity_C=amp_hours * AH_C, nominal_V=NOMINAL_V)
    assert joules / JOULES_PER_WH == pytest.approx(watt_hours, abs=0.005)


@pytest.mark.parametrize(
    ("watt_hours", "name"),
    [
        (37.0, "within_100"),
        (100.0, "within_100"),
        (100.1, "with_approval"),
        (160.0, "with_approval"),
        (160.1, "not_carried"),
    ],
)
def test_the_bands_turn_over_just_above_their_edges(watt_hours: float, name: str) -> None:
    assert air_band(watt_hours * JOULES_PER_WH, BANDS).name == name


@pytest.mark.parametrize(("cells", "amp_hours"), [(2, 13.51), (3, 9.009), (4, 6.757), (8, 3.378)])
def test_the_largest_packs_within_a_hundred(cells: int, amp_hours: float) -> None:
    """Worked by division: a thousandth of an ampere-hour more is already too much or just at the edge."""
    below = label_energy_J(cells=cells, capacity_C=(amp_hours - 0.001) * AH_C, nominal_V=NOMINAL_V)
    above = label_energy_J(cells=cells, capacity_C=(amp_hours + 0.01) * AH_C, nominal_V=NOMINAL_V)
    assert air_band(below, BANDS).name == "within_100"
    assert air_band(above, BANDS).name == "with_approval"


def test_a_pack_without_cells_has_no_label() -> None:
    with pytest.raises(ImpossibleInput):
        label_energy_J(cells=0, capacity_C=1, nominal_V=NOMINAL_V)
