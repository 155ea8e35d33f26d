"""What the cells of one chemistry bear: volts, warmth, wear. Values come from the tables."""

from __future__ import annotations

from dataclasses import dataclass

from snugfast.physics.packs.chemistry import Chemistry, NoTable


@dataclass(frozen=True, slots=True)
class CellLimits:
    """Volts per cell at rest, except `cut_off_low_V`, which is under load; and three charging habits.

    They hold for one chemistry and are refused for another. `charge_multiple_per_h` times the capacity is the
    largest usual charge current, `balance_multiple_per_h` the largest for cells that stand far apart;
    `end_current_share` is the share of that current at which a charge ends.
    """

    chemistry: Chemistry
    full_V: float
    long_life_V: float
    over_charged_V: float
    not_this_chemistry_V: float
    act_by_V: float
    danger_V: float
    empty_V: float
    ruined_V: float
    ever_ruined_V: float
    storage_V: float
    storage_low_V: float
    storage_high_V: float
    cut_off_low_V: float
    nominal_V: float
    spread_watch_V: float
    spread_stop_V: float
    spread_damaged_V: float
    parallel_gap_V: float
    charge_multiple_per_h: float
    balance_multiple_per_h: float
    end_current_share: float

    def require(self, chemistry: Chemistry) -> None:
        """Raise NoTable unless these are the limits of that chemistry."""
        if chemistry is not self.chemistry:
            raise NoTable(chemistry)


@dataclass(frozen=True, slots=True)
class WarmthLimits:
    """Temperatures of the pack: no charge below `cold_degC` or above `warm_degC`, no use above `hot_degC`.

    `coldest_charge_degC` is where a charge harms the cells at once, `very_hot_degC` where damage must be
    looked for, `hottest_shelf_degC` the warmest place a pack is stored in.
    """

    coldest_charge_degC: float
    cold_degC: float
    warm_degC: float
    hot_degC: float
    hottest_shelf_degC: float
    very_hot_degC: float


@dataclass(frozen=True, slots=True)
class WearLimits:
    """When a pack is watched, driven gently, done. Ratios are to the pack as new."""

    watch_resistance_ratio: float
    gentle_resistance_ratio: float
    done_resistance_ratio: float
    watch_capacity: float
    gentle_capacity: float
    done_capacity: float
    weak_cell_ratio: float
    gentle_age_years: float
    gentle_cycles: float


@dataclass(frozen=True, slots=True)
class PackLimits:
    """All limits of one chemistry."""

    cell: CellLimits
    warmth: WarmthLimits
    wear: WearLimits
