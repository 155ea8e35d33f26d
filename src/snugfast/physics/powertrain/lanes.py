"""One car, and what its driver does, as the compiled kernel keeps them: a column of numbers for each lane."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from snugfast.physics.packs.cells import GAS_J_PER_MOL_K
from snugfast.physics.powertrain import kernel as k
from snugfast.physics.powertrain.controller import BROWN_OUT
from snugfast.physics.powertrain.driving_styles import Does, Phase
from snugfast.physics.powertrain.heat import Cooling
from snugfast.physics.powertrain.powertrain import Action

if TYPE_CHECKING:
    from snugfast.physics.powertrain.runs import Entry

BRAKES_AT_SHARE_OF_GRIP = 0.6
"""How hard the driver counts on braking when he judges where to begin (elicited)."""


def column(entry: Entry) -> NDArray[np.float64]:
    """The parameters of one car as the kernel keeps them; divisions are done here, once."""
    car, place, limits = entry.car, entry.place, entry.limits
    m, b, p = car.motor, car.controller, car.pack
    can, fins = car.motor_heat.cooling, car.controller_heat.cooling
    weight_N = car.mass_kg * place.gravity_m_s2
    bound = car.tyre.growth_bound if car.tyre.growth_s2_m2 > 0.0 else 0.0
    c = np.zeros(k.PARAMETERS)
    c[k.WEIGHT] = weight_N
    c[k.GRIP_WEIGHT] = place.ground.grip * car.driven_share * weight_N
    c[k.CAR_KG] = car.mass_kg
    c[k.SPIN_KGM2] = car.inertia_at_wheel_kgm2
    c[k.DRAG] = 0.5 * place.air.density_kg_m3 * car.drag_area_m2
    c[k.WIND] = place.air.head_wind_m_s
    c[k.FINAL_DRIVE] = car.final_drive
    c[k.DRIVE_INV] = 1.0 / car.final_drive
    c[k.EFFICIENCY] = car.gear_efficiency
    c[k.EFFICIENCY_INV] = 1.0 / car.gear_efficiency
    c[k.ROLLING] = place.ground.rolling
    c[k.ROLLING_V] = place.ground.rolling_per_speed_s_m
    c[k.RADIUS] = car.tyre.radius_m
    c[k.GROWTH] = car.tyre.growth_s2_m2 if bound > 0.0 else 0.0
    c[k.GROWTH_BOUND] = bound
    c[k.GROWTH_INV] = 1.0 / bound if bound > 0.0 else 0.0
    c[k.CONSTANT] = m.constant_Vs
    c[k.MAGNET_K] = m.magnet_per_K
    c[k.FOLLOWS] = m.magnet_follows_winding
    c[k.WINDING_OHM] = m.resistance_ohm * (1.0 + place.ground.unsteady)
    c[k.COPPER_K] = m.copper_per_K
    c[k.HYSTERESIS] = m.hysteresis_torque_Nm
    c[k.EDDY] = m.eddy_torque_Nms
    c[k.BRUSH] = m.brush_drop_V
    c[k.BRIDGE_OHM] = b.resistance_ohm * (1.0 + place.ground.unsteady)
    c[k.BRIDGE_K] = b.resistance_per_K
    c[k.PART_V] = b.part_throttle_V
    c[k.SUPPLY_A] = b.supply_current_A
    c[k.SUPPLY_HEAT] = b.supply_heat_share
    c[k.MOTOR_MAX] = b.motor_limit_A
    c[k.BATTERY_MAX] = b.battery_limit_A
    c[k.BROWN_OUT_V] = BROWN_OUT * b.cutoff_V_per_cell * p.series_cells
    c[k.BRAKE_MAX] = b.brake_limit_A
    c[k.GIVEN_BACK] = b.given_back
    c[k.HOLDS] = float(b.holds)
    c[k.CELLS] = p.series_cells
    c[k.CHARGE_INV] = 1.0 / (3600.0 * entry.capacity_Ah)
    c[k.PACK_OHM] = p.resistance_ohm
    c[k.SLOW_OHM] = p.slow_resistance_ohm
    c[k.SLOW_F_INV] = 1.0 / p.slow_capacitance_F
    c[k.ACTIVATION] = p.activation_J_mol / GAS_J_PER_MOL_K
    c[k.PACK_COOLING] = p.cooling_W_K
    c[k.PACK_J_INV] = entry.hurry / p.heat_capacity_J_K
    c[k.WINDING_J_INV] = entry.hurry / car.motor_heat.winding_J_K
    c[k.CAN_J_INV] = entry.hurry / car.motor_heat.can_J_K
    c[k.BETWEEN_W_K] = 1.0 / car.motor_heat.winding_to_can_K_W
    c[k.IRON_SHARE] = car.motor_heat.iron_in_winding
    c[k.CAN_BASE : k.CAN_STILL2 + 1] = _cooling_rows(can)
    c[k.BRIDGE_J_INV] = entry.hurry / car.controller_heat.capacity_J_K
    c[k.BRIDGE_BASE : k.BRIDGE_STILL2 + 1] = _cooling_rows(fins)
    c[k.AIR_C] = place.air.temperature_degC
    c[k.RESERVE] = limits.reserve_share
    c[k.CUTOFF_V] = limits.cutoff_V_per_cell * p.series_cells
    c[k.WINDING_MAX] = limits.winding_degC
    c[k.CAN_MAX] = limits.can_degC
    c[k.BRIDGE_MAX] = limits.controller_degC
    c[k.PACK_MAX] = limits.pack_degC
    c[k.STOP_ON_CHARGE] = float(entry.stop_on_charge)
    c[k.STOP_ON_HEAT] = float(entry.stop_on_heat)
    c[k.GOAL_SPEED] = entry.goal_m_s
    c[k.MEAN_FROM] = entry.mean_from_s
    return c


def _cooling_rows(cooling: Cooling) -> tuple[float, ...]:
    return (
        cooling.base_W_K,
        cooling.flow_W_K,
        cooling.exponent / 2.0,
        cooling.ram_share**2,
        cooling.fan_air_m_s**2,
        cooling.still_air_m_s**2,
    )


def asked(phase: Phase, entry: Entry) -> NDArray[np.float64]:
    """One phase as the kernel keeps it, for this car on this ground."""
    a = np.zeros(k.PARAMETERS + k.ASKED)
    action, throttle, brake = _thumb(phase, entry.car.controller.drag_brake)
    a[k.ACTION] = action
    a[k.THROTTLE] = throttle
    a[k.BRAKE] = brake
    a[k.AIM] = phase.speed_m_s
    a[k.BAND_INV] = 1.0 / aim_band_m_s(phase.speed_m_s)
    angle = math.atan(phase.grade)
    a[k.GRADE_SIN] = math.sin(angle)
    a[k.GRADE_COS] = math.cos(angle)
    a[k.FAN] = entry.fan
    a[k.SPIN] = phase.wheel_spin
    a[k.PHASE_MAX_S] = phase.at_most_s
    a[k.PHASE_MAX_M] = phase.at_most_m
    a[k.UNTIL_ABOVE] = phase.until_faster_than_m_s
    a[k.UNTIL_BELOW] = phase.until_slower_than_m_s
    a[k.SLIDE] = phase.slide
    a[k.EXIT_V2] = phase.then_m_s**2
    grip = entry.place.ground.grip * entry.car.driven_share
    a[k.BRAKE_AHEAD] = 1.0 / (2.0 * BRAKES_AT_SHARE_OF_GRIP * grip * entry.place.gravity_m_s2)
    return a[k.FIRST_ASKED :]


def _thumb(phase: Phase, drag_brake: float) -> tuple[Action, float, float]:
    """What the transmitter and the controller make of a phase: action, throttle, brake."""
    if phase.does is Does.FULL:
        return Action.DRIVE, phase.throttle, 0.0
    if phase.does is Does.HOLD:
        return Action.HOLD_SPEED, phase.throttle, phase.brake
    if phase.does is Does.BRAKE:
        return Action.BRAKE, 0.0, phase.brake
    return (Action.BRAKE, 0.0, drag_brake) if drag_brake > 0.0 else (Action.DRIVE, 0.0, 0.0)


def aim_band_m_s(speed_m_s: float) -> float:
    """How far off a held speed the driver uses all he has: a fifth of it, at least 0.15 m/s (elicited)."""
    return max(0.15, 0.2 * speed_m_s)


def fresh_books(entry: Entry, *, alive: bool) -> NDArray[np.float64]:
    """What a lane brings: the state, and empty books."""
    t = np.zeros(k.FIRST_KEPT + k.KEPT)
    t[k.SPEED : k.SPEED + 7] = entry.start.as_array()
    t[k.ALIVE] = float(alive)
    t[k.PHASE] = -1.0
    t[k.AT_RESERVE : k.AT_GOAL + 1] = math.inf
    t[k.LOWEST_V] = math.inf
    t[[k.TOP_WINDING, k.TOP_CAN, k.TOP_BRIDGE, k.TOP_PACK]] = -math.inf
    return t[k.FIRST_STATE :]
