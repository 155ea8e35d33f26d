"""The power train compiled: the same model as `powertrain.moment`, for sixteen cars at a time.

All compiled code stands in this one file, because a compiled function kept on disk does not notice a change
in another file. Where the installed package cannot be written to, set NUMBA_CACHE_DIR before this module is
imported. Importing it costs the compiler's own import, so it is imported late; the first call compiles (some
seconds, once), later processes load the result from the cache.

How it is laid out, and why: numbers stand as (field, car), a block of sixteen cars is copied into one local
array, time runs outside and the cars inside, and the body has no branches. Then one instruction serves
eight cars. The exponential and the logarithm are written out below for the same reason. The interpreter's
lock is released: threads scale.
"""

# The compiler infers the types of what follows; it does not read annotations.
# mypy: disable-error-code="no-untyped-def, no-untyped-call, call-arg, import-untyped, unreachable"

from __future__ import annotations

import math
from typing import Any

import numpy as np
from llvmlite import ir
from numba import njit, types
from numba.extending import intrinsic

LANES = 16

# Constants of the rooms, repeated: a change in another file would not reach what is already compiled. A test
# holds them equal.
STOP_SPEED_m_s = 0.05
HOLD_GAIN = 4.0
ZERO_CELSIUS_K = 273.15
REFERENCE_K = 298.15
STRIPS = 200

# Rows of the work array. First what the car is (constant), then what the driver asks, then the state.
(
    WEIGHT, GRIP_WEIGHT, CAR_KG, SPIN_KGM2, DRAG, WIND, FINAL_DRIVE, DRIVE_INV, EFFICIENCY, EFFICIENCY_INV,
    ROLLING, ROLLING_V, RADIUS, GROWTH, GROWTH_BOUND, GROWTH_INV,
    CONSTANT, MAGNET_K, FOLLOWS, WINDING_OHM, COPPER_K, HYSTERESIS, EDDY, BRUSH,
    BRIDGE_OHM, BRIDGE_K, PART_V, SUPPLY_A, SUPPLY_HEAT,
    MOTOR_MAX, BATTERY_MAX, BROWN_OUT_V, BRAKE_MAX, GIVEN_BACK, HOLDS,
    CELLS, CHARGE_INV, PACK_OHM, SLOW_OHM, SLOW_F_INV, ACTIVATION, PACK_COOLING, PACK_J_INV,
    WINDING_J_INV, CAN_J_INV, BETWEEN_W_K, IRON_SHARE, CAN_BASE, CAN_FLOW, CAN_HALF_EXP, CAN_RAM2, CAN_FAN2,
    CAN_STILL2,
    BRIDGE_J_INV, BRIDGE_BASE, BRIDGE_FLOW, BRIDGE_HALF_EXP, BRIDGE_RAM2, BRIDGE_FAN2, BRIDGE_STILL2,
    AIR_C,
    RESERVE, CUTOFF_V, WINDING_MAX, CAN_MAX, BRIDGE_MAX, PACK_MAX,
    STOP_ON_CHARGE, STOP_ON_HEAT, GOAL_SPEED, MEAN_FROM,
) = range(71)  # fmt: skip
PARAMETERS = 71

(ACTION, THROTTLE, BRAKE, AIM, BAND_INV, GRADE_SIN, GRADE_COS, FAN, SPIN, PHASE_MAX_S, PHASE_MAX_M,
 UNTIL_ABOVE, UNTIL_BELOW, EXIT_V2, BRAKE_AHEAD, SLIDE) = range(71, 87)  # fmt: skip
FIRST_ASKED = 71
ASKED = 16

(SPEED, CHARGE, SLOW_V, WINDING_C, CAN_C, BRIDGE_C, PACK_C, DISTANCE) = range(87, 95)
FIRST_STATE = 87
STATES = 8

# What a car hands back, kept while it runs.
(
    ALIVE, OUTCOME, ELAPSED, PHASE, LAPS, PHASE_S, PHASE_M,
    AT_RESERVE, AT_CUTOFF, AT_WINDING, AT_CAN, AT_BRIDGE, AT_PACK, AT_GOAL, LOW_S,
    TOP_SPEED, TOP_WINDING, TOP_CAN, TOP_BRIDGE, TOP_PACK, TOP_MOTOR_A, TOP_PACK_A, LOWEST_V,
    MOTOR_A2S, PACK_A2S, MEAN_S, MEAN_WINDING, MEAN_CAN, MEAN_BRIDGE, MEAN_PACK,
    BY_THROTTLE, BY_MOTOR, BY_GRIP, BY_BATTERY, BY_COASTING, BY_COMMAND, BY_FADING, BY_BRAKE_GRIP,
) = range(95, 133)  # fmt: skip
FIRST_KEPT = 95
KEPT = 38

# Room for one step: rates of the seven numbers and distance, their weighted sum, and what flows.
FIRST_RATE = 133
FIRST_SUM = 141
(MOTOR_A, PACK_A, PACK_V, RULES, ENDED) = range(149, 154)
(STRIP, STRIP_0, STRIP_1, STRIP_2, STRIP_3, STRIP_4, STRIP_5, WARM,
 SLOW_PER_OHM, PER_PACK_OHM) = range(154, 164)  # fmt: skip
ROWS = 164

TRACE_FIELDS = ("speed_m_s", "charge_share", "pack_V", "motor_A", "pack_A", "winding_degC", "can_degC",
                "controller_degC", "pack_degC")  # fmt: skip

# How a car's run ended.
RUNNING, SCRIPT_DONE, ALARM, EMPTY, BURNT = range(5)
BURNT_C = 300.0
CUTOFF_DELAY_s = 0.5


@intrinsic
def _as_bits(_typing: Any, number: Any) -> Any:
    """The 64 bits of a float as an integer."""

    def build(_context: Any, builder: Any, _signature: Any, arguments: Any) -> Any:
        return builder.bitcast(arguments[0], ir.IntType(64))

    return types.int64(types.float64), build


@intrinsic
def _as_number(_typing: Any, bits: Any) -> Any:
    """The float with these 64 bits."""

    def build(_context: Any, builder: Any, _signature: Any, arguments: Any) -> Any:
        return builder.bitcast(arguments[0], ir.DoubleType())

    return types.float64(types.int64), build


_INLINE: dict[str, Any] = {
    "forceinline": True, "error_model": "numpy", "fastmath": {"contract"}, "cache": True,
}  # fmt: skip
_ROUND = 6755399441055744.0  # 1.5 · 2^52: adding it rounds to a whole number, kept in the lowest bits


@njit(**_INLINE)
def _exp(x):
    """e^x for |x| < 700, to about two units in the last place, without a branch and without a division."""
    shifted = x * 1.4426950408889634 + _ROUND
    whole = shifted - _ROUND
    r = (x - whole * 0.693147180369123816490) - whole * 1.90821492927058770002e-10
    c = 1.0 / 479001600.0 + r * (1.0 / 6227020800.0)
    c = 1.0 / 39916800.0 + r * c
    c = 1.0 / 3628800.0 + r * c
    c = 1.0 / 362880.0 + r * c
    c = 1.0 / 40320.0 + r * c
    c = 1.0 / 5040.0 + r * c
    c = 1.0 / 720.0 + r * c
    c = 1.0 / 120.0 + r * c
    c = 1.0 / 24.0 + r * c
    c = 1.0 / 6.0 + r * c
    fraction = 1.0 + (r + r * r * (0.5 + r * c))
    return fraction * _as_number((_as_bits(shifted) + 1023) << 52)


@njit(**_INLINE)
def _log(x):
    """The natural logarithm of a normal positive number, without a branch."""
    bits = _as_bits(x) + (0x3FF0000000000000 - 0x3FE6A09E667F3BCD)
    power = _as_number((bits >> 52) | 0x4330000000000000) - (4503599627370496.0 + 1023.0)
    m = _as_number((bits & 0x000FFFFFFFFFFFFF) + 0x3FE6A09E667F3BCD)
    f = m - 1.0
    s = f / (2.0 + f)
    z = s * s
    w = z * z
    odd = w * (3.999999999940941908e-01 + w * (2.222219843214978396e-01 + w * 1.531383769920937332e-01))
    even = z * (
        6.666666666666735130e-01
        + w * (2.857142874366239149e-01 + w * (1.818357216161805012e-01 + w * 1.479819860511658591e-01))
    )
    half = 0.5 * f * f
    return (power * 6.93147180369123816490e-01
            - ((half - (s * (half + odd + even) + power * 1.90821492927058770002e-10)) - f))  # fmt: skip


@njit(**_INLINE)
def _tanh(x):
    """The hyperbolic tangent, to a few parts in 10^16 of one."""
    size = min(abs(x), 20.0)
    e = _exp(-2.0 * size)
    t = (1.0 - e) / (1.0 + e)
    return t if x >= 0.0 else -t


@njit(**_INLINE)
def _rates(w, j, v, z, slow, tw, tc, te, tp):
    """The right-hand side of car j: `powertrain.moment` without branches. Eight rates and what flows."""
    # Tyre, motor speed, load.
    level = _tanh(w[GROWTH, j] * v * v * w[GROWTH_INV, j])
    radius = w[RADIUS, j] * (1.0 + w[GROWTH_BOUND, j] * level)
    radius_slope = w[RADIUS, j] * 2.0 * w[GROWTH, j] * v * (1.0 - level * level)
    per_radius = 1.0 / radius
    per_arm = w[FINAL_DRIVE, j] * per_radius
    arm = radius * w[DRIVE_INV, j]
    omega = per_arm * v
    turning = _tanh(v * (1.0 / STOP_SPEED_m_s))
    load = w[WEIGHT, j] * w[GRADE_COS, j]
    grip = w[GRIP_WEIGHT, j] * w[GRADE_COS, j]

    # Motor and pack as warm as they are.
    constant = w[CONSTANT, j] * (1.0 + w[MAGNET_K, j] * (tc + w[FOLLOWS, j] * (tw - tc) - 20.0))
    winding = w[WINDING_OHM, j] * (1.0 + w[COPPER_K, j] * (tw - 20.0))
    bridge = w[BRIDGE_OHM, j] * (1.0 + w[BRIDGE_K, j] * (te - 25.0))
    loop = winding + bridge
    per_loop = 1.0 / loop
    idle = w[HYSTERESIS, j] * turning + w[EDDY, j] * omega
    kelvin = tp + ZERO_CELSIUS_K
    pack = w[PACK_OHM, j] * w[WARM, j]
    x = min(max(z, 0.0), 1.0) * STRIPS - w[STRIP, j]
    rest = w[CELLS, j] * (w[STRIP_0, j] + x * (w[STRIP_1, j] + x * (w[STRIP_2, j] + x * w[STRIP_3, j])))
    per_kelvin = w[CELLS, j] * (w[STRIP_4, j] + x * w[STRIP_5, j])
    open_v = rest - slow
    emf = constant * omega
    per_constant = 1.0 / constant

    # The driver's wish.
    aimed = min(max((w[AIM, j] - v) * w[BAND_INV, j], -1.0), 1.0)
    push = 1.0 if w[ACTION, j] == 0.0 else (-1.0 if w[ACTION, j] == 1.0 else aimed)
    push_a = max((push * grip * arm * w[EFFICIENCY_INV, j] + idle) * per_constant, 0.0)
    pull_a = max((-push * grip * arm * w[EFFICIENCY, j] - abs(idle)) * per_constant, 0.0)
    braking = (w[ACTION, j] == 1.0) | ((w[ACTION, j] == 2.0) & (pull_a > 0.0))

    # Driving: the smallest duty rules.
    part = w[PART_V, j]
    supply = w[SUPPLY_A, j]
    against = emf + w[BRUSH, j]
    free = open_v - pack * supply
    slope = free + part
    # The duty rises with the current it gives, so of two current limits the smaller needs solving only.
    most_a = min(w[MOTOR_MAX, j], push_a)
    need = part + against + most_a * loop
    inside = slope * slope - 4.0 * pack * most_a * need
    duty_i = 2.0 * need / (slope + math.sqrt(max(inside, 0.0)))
    duty_i = duty_i if inside >= 0.0 else 1e9
    # Above a brown-out the denominator stays above zero, however weak the pack.
    gives = (open_v - w[BROWN_OUT_V, j]) * w[PER_PACK_OHM, j]
    most_from_pack = max(min(w[BATTERY_MAX, j], gives), supply)
    a = open_v - pack * most_from_pack + part
    b = part + against
    c = (most_from_pack - supply) * loop
    duty_b = (b + math.sqrt(max(b * b + 4.0 * a * c, 0.0))) / (2.0 * a)
    duty = w[THROTTLE, j]
    rules = 0.0
    current_rules = 1.0 if w[MOTOR_MAX, j] <= push_a else 2.0
    rules = current_rules if duty_i < duty else rules
    duty = min(duty, duty_i)
    rules = 3.0 if duty_b < duty else rules
    duty = max(min(duty, duty_b), 0.0)
    drive_a = (duty * free - (1.0 - duty) * part - against) / (loop + duty * duty * pack)
    rules = rules if drive_a > 0.0 else 4.0
    drive_a = max(drive_a, 0.0)
    # Spinning wheels: the current stays, the duty that is left turns into speed.
    spin = w[SPIN, j] if (rules == 2.0) & (w[ACTION, j] == 0.0) & (push_a > 0.0) else 0.0
    left_duty = min(w[THROTTLE, j], (most_from_pack - supply) / max(drive_a, 1e-9)) - duty
    duty = duty + spin * max(left_duty, 0.0)
    spin_v = duty * free - (1.0 - duty) * part - against - drive_a * (loop + duty * duty * pack)
    spin_v = max(spin_v, 0.0) if spin > 0.0 else 0.0
    freewheel = (1.0 - duty) * part * drive_a

    # Braking: the smallest current rules.
    speed = abs(v)
    size_emf = abs(emf)
    short_a = max(size_emf - w[BRUSH, j], 0.0) * per_loop
    fade_a = short_a * (HOLD_GAIN if w[HOLDS, j] > 0.0 else 1.0)
    command_a = w[BRAKE, j] * w[BRAKE_MAX, j]
    brake_a = min(min(fade_a, command_a), pull_a)
    brake_rules = 6.0 if fade_a <= command_a else 5.0
    brake_rules = brake_rules if brake_a < pull_a else 7.0
    left = size_emf - w[BRUSH, j] - brake_a * loop
    share = w[GIVEN_BACK, j] if left > 0.0 else 1.0
    to_pack = share * left
    back = 2.0 * to_pack / (free + math.sqrt(max(free * free + 4.0 * pack * brake_a * to_pack, 0.0)))
    burnt = (left - to_pack) * brake_a

    # What flows.
    brake_side = -brake_a if emf >= 0.0 else brake_a
    motor_a = brake_side if braking else drive_a
    pack_a = supply + (-back * brake_a if braking else duty * drive_a)
    rules = brake_rules if braking else rules
    freewheel = 0.0 if braking else freewheel
    burnt = burnt if braking else 0.0
    pack_v = open_v - pack * pack_a
    copper_share = winding * per_loop
    square = motor_a * motor_a
    winding_w = square * winding + burnt * copper_share + w[BRUSH, j] * abs(motor_a)
    bridge_w = (
        square * bridge + burnt * (1.0 - copper_share) + freewheel + w[SUPPLY_HEAT, j] * pack_v * supply
    )

    # Forces. The motor runs ahead of the car where the wheels spin.
    motor_omega = omega + spin_v * per_constant
    idle = w[HYSTERESIS, j] * _tanh(motor_omega * arm * (1.0 / STOP_SPEED_m_s)) + w[EDDY, j] * motor_omega
    shaft = constant * motor_a - idle
    drives = 1.0 if (motor_a > 0.0) & (shaft >= 0.0) & (motor_omega >= 0.0) else 0.0
    # Not a choice between two loads: that would become an address and stop the lanes from running together.
    gears = drives * w[EFFICIENCY, j] + (1.0 - drives) * w[EFFICIENCY_INV, j]
    force = shaft * per_arm * gears
    wind = v + w[WIND, j]
    held = load * (w[ROLLING, j] + w[ROLLING_V, j] * speed + w[SLIDE, j]) * turning
    held += w[DRAG, j] * wind * abs(wind) + w[WEIGHT, j] * w[GRADE_SIN, j]
    moving = w[CAR_KG, j] + w[SPIN_KGM2, j] * (1.0 - v * radius_slope * per_radius) * per_radius * per_radius

    # Heat.
    v2 = v * v
    fan2 = w[FAN, j] * w[FAN, j]
    can_air2 = w[CAN_RAM2, j] * v2 + fan2 * w[CAN_FAN2, j] + w[CAN_STILL2, j]
    bridge_air2 = w[BRIDGE_RAM2, j] * v2 + fan2 * w[BRIDGE_FAN2, j] + w[BRIDGE_STILL2, j]
    can_g = w[CAN_BASE, j] + w[CAN_FLOW, j] * _exp(w[CAN_HALF_EXP, j] * _log(can_air2))
    bridge_g = w[BRIDGE_BASE, j] + w[BRIDGE_FLOW, j] * _exp(w[BRIDGE_HALF_EXP, j] * _log(bridge_air2))
    iron = idle * motor_omega
    between = (tw - tc) * w[BETWEEN_W_K, j]
    slow_per = slow * w[SLOW_PER_OHM, j]
    pack_w = pack_a * pack_a * pack + slow * slow_per - pack_a * kelvin * per_kelvin
    air = w[AIR_C, j]
    return (
        (force - held) / moving,
        -pack_a * w[CHARGE_INV, j],
        (pack_a - slow_per) * w[SLOW_F_INV, j],
        (winding_w + w[IRON_SHARE, j] * iron - between) * w[WINDING_J_INV, j],
        ((1.0 - w[IRON_SHARE, j]) * iron + between - can_g * (tc - air)) * w[CAN_J_INV, j],
        (bridge_w - bridge_g * (te - air)) * w[BRIDGE_J_INV, j],
        (pack_w - w[PACK_COOLING, j] * (tp - air)) * w[PACK_J_INV, j],
        v,
        motor_a,
        pack_a,
        pack_v,
        rules,
    )


@njit(**_INLINE)
def _look_up(w, strips):
    """What serves for a whole step: the strip of the voltage curve, and what the pack's warmth makes of it.

    Within a step the charge moves by a few millionths and the pack's temperature by a few thousandths of a
    kelvin; the strips join smoothly.
    """
    for j in range(LANES):
        i = min(int(min(max(w[CHARGE, j], 0.0), 1.0) * STRIPS), STRIPS - 1)
        w[STRIP, j] = i
        w[STRIP_0, j] = strips[i, 0]
        w[STRIP_1, j] = strips[i, 1]
        w[STRIP_2, j] = strips[i, 2]
        w[STRIP_3, j] = strips[i, 3]
        w[STRIP_4, j] = strips[i, 4]
        w[STRIP_5, j] = strips[i, 5]
    for j in range(LANES):
        warm = _exp(w[ACTIVATION, j] * (1.0 / (w[PACK_C, j] + ZERO_CELSIUS_K) - 1.0 / REFERENCE_K))
        w[WARM, j] = warm
        w[SLOW_PER_OHM, j] = 1.0 / (w[SLOW_OHM, j] * warm)
        w[PER_PACK_OHM, j] = 1.0 / (w[PACK_OHM, j] * warm)


@njit(**_INLINE)
def _stage(w, reach, weight):
    """One stage of a step for all lanes: rates `reach` seconds along the last rates, summed with a weight."""
    for j in range(LANES):
        r = _rates(
            w,
            j,
            w[SPEED, j] + reach * w[FIRST_RATE, j],
            w[CHARGE, j] + reach * w[FIRST_RATE + 1, j],
            w[SLOW_V, j] + reach * w[FIRST_RATE + 2, j],
            w[WINDING_C, j] + reach * w[FIRST_RATE + 3, j],
            w[CAN_C, j] + reach * w[FIRST_RATE + 4, j],
            w[BRIDGE_C, j] + reach * w[FIRST_RATE + 5, j],
            w[PACK_C, j] + reach * w[FIRST_RATE + 6, j],
        )
        w[FIRST_RATE, j] = r[0]
        w[FIRST_RATE + 1, j] = r[1]
        w[FIRST_RATE + 2, j] = r[2]
        w[FIRST_RATE + 3, j] = r[3]
        w[FIRST_RATE + 4, j] = r[4]
        w[FIRST_RATE + 5, j] = r[5]
        w[FIRST_RATE + 6, j] = r[6]
        w[FIRST_SUM, j] += weight * r[0]
        w[FIRST_SUM + 1, j] += weight * r[1]
        w[FIRST_SUM + 2, j] += weight * r[2]
        w[FIRST_SUM + 3, j] += weight * r[3]
        w[FIRST_SUM + 4, j] += weight * r[4]
        w[FIRST_SUM + 5, j] += weight * r[5]
        w[FIRST_SUM + 6, j] += weight * r[6]
        w[FIRST_SUM + 7, j] += weight * r[7]
        w[MOTOR_A, j] = r[8]
        w[PACK_A, j] = r[9]
        w[PACK_V, j] = r[10]
        w[RULES, j] = r[11]


@njit(**_INLINE)
def _first(kept, now, crossed):
    """The first time something was crossed: what is kept, or now."""
    return min(kept, now if crossed else math.inf)


@njit(**_INLINE)
def _note(w, step):
    """Keep peaks, first crossings and times at a limit, from what flows at the start of the step."""
    for j in range(LANES):
        live = w[ALIVE, j]
        h = live * step
        now = w[ELAPSED, j]
        w[TOP_SPEED, j] = max(w[TOP_SPEED, j], w[SPEED, j])
        w[TOP_WINDING, j] = max(w[TOP_WINDING, j], w[WINDING_C, j])
        w[TOP_CAN, j] = max(w[TOP_CAN, j], w[CAN_C, j])
        w[TOP_BRIDGE, j] = max(w[TOP_BRIDGE, j], w[BRIDGE_C, j])
        w[TOP_PACK, j] = max(w[TOP_PACK, j], w[PACK_C, j])
        w[TOP_MOTOR_A, j] = max(w[TOP_MOTOR_A, j], abs(w[MOTOR_A, j]) * live)
        w[TOP_PACK_A, j] = max(w[TOP_PACK_A, j], w[PACK_A, j] * live)
        w[LOWEST_V, j] = min(w[LOWEST_V, j], w[PACK_V, j])
        w[MOTOR_A2S, j] += h * w[MOTOR_A, j] * w[MOTOR_A, j]
        w[PACK_A2S, j] += h * w[PACK_A, j] * w[PACK_A, j]
        low_s = w[LOW_S, j] + h if w[PACK_V, j] < w[CUTOFF_V, j] else 0.0
        w[LOW_S, j] = low_s
        w[AT_RESERVE, j] = _first(w[AT_RESERVE, j], now, w[CHARGE, j] <= w[RESERVE, j])
        w[AT_CUTOFF, j] = _first(w[AT_CUTOFF, j], now, low_s >= CUTOFF_DELAY_s)
        w[AT_WINDING, j] = _first(w[AT_WINDING, j], now, w[WINDING_C, j] >= w[WINDING_MAX, j])
        w[AT_CAN, j] = _first(w[AT_CAN, j], now, w[CAN_C, j] >= w[CAN_MAX, j])
        w[AT_BRIDGE, j] = _first(w[AT_BRIDGE, j], now, w[BRIDGE_C, j] >= w[BRIDGE_MAX, j])
        w[AT_PACK, j] = _first(w[AT_PACK, j], now, w[PACK_C, j] >= w[PACK_MAX, j])
        w[AT_GOAL, j] = _first(w[AT_GOAL, j], now, w[SPEED, j] >= w[GOAL_SPEED, j])
        mean = h if now >= w[MEAN_FROM, j] else 0.0
        w[MEAN_S, j] += mean
        w[MEAN_WINDING, j] += mean * w[WINDING_C, j]
        w[MEAN_CAN, j] += mean * w[CAN_C, j]
        w[MEAN_BRIDGE, j] += mean * w[BRIDGE_C, j]
        w[MEAN_PACK, j] += mean * w[PACK_C, j]
        rules = w[RULES, j]
        w[BY_THROTTLE, j] += h if rules == 0.0 else 0.0
        w[BY_MOTOR, j] += h if rules == 1.0 else 0.0
        w[BY_GRIP, j] += h if rules == 2.0 else 0.0
        w[BY_BATTERY, j] += h if rules == 3.0 else 0.0
        w[BY_COASTING, j] += h if rules == 4.0 else 0.0
        w[BY_COMMAND, j] += h if rules == 5.0 else 0.0
        w[BY_FADING, j] += h if rules == 6.0 else 0.0
        w[BY_BRAKE_GRIP, j] += h if rules == 7.0 else 0.0


@njit(**_INLINE)
def _move(w, step):
    """Take the step, and say for each lane whether its phase of the script or its run has ended."""
    sixth = step / 6.0
    for j in range(LANES):
        live = w[ALIVE, j]
        gain = live * sixth
        w[SPEED, j] += gain * w[FIRST_SUM, j]
        w[CHARGE, j] += gain * w[FIRST_SUM + 1, j]
        w[SLOW_V, j] += gain * w[FIRST_SUM + 2, j]
        w[WINDING_C, j] += gain * w[FIRST_SUM + 3, j]
        w[CAN_C, j] += gain * w[FIRST_SUM + 4, j]
        w[BRIDGE_C, j] += gain * w[FIRST_SUM + 5, j]
        w[PACK_C, j] += gain * w[FIRST_SUM + 6, j]
        w[DISTANCE, j] += gain * w[FIRST_SUM + 7, j]
        w[PHASE_M, j] += gain * w[FIRST_SUM + 7, j]
        w[FIRST_SUM, j] = 0.0
        w[FIRST_SUM + 1, j] = 0.0
        w[FIRST_SUM + 2, j] = 0.0
        w[FIRST_SUM + 3, j] = 0.0
        w[FIRST_SUM + 4, j] = 0.0
        w[FIRST_SUM + 5, j] = 0.0
        w[FIRST_SUM + 6, j] = 0.0
        w[FIRST_SUM + 7, j] = 0.0
        w[ELAPSED, j] += live * step
        w[PHASE_S, j] += live * step
        v = w[SPEED, j]
        ahead_m = max(v * v - w[EXIT_V2, j], 0.0) * w[BRAKE_AHEAD, j]
        phase = (
            (w[PHASE_S, j] >= w[PHASE_MAX_S, j] - 0.5 * step)
            | (w[PHASE_M, j] + ahead_m >= w[PHASE_MAX_M, j])
            | (v >= w[UNTIL_ABOVE, j])
            | (v <= w[UNTIL_BELOW, j])
        )
        charge_alarm = min(w[AT_RESERVE, j], w[AT_CUTOFF, j])
        heat_alarm = min(min(w[AT_WINDING, j], w[AT_CAN, j]), min(w[AT_BRIDGE, j], w[AT_PACK, j]))
        stops = ((charge_alarm < math.inf) & (w[STOP_ON_CHARGE, j] > 0.0)) | (
            (heat_alarm < math.inf) & (w[STOP_ON_HEAT, j] > 0.0)
        )
        ended = 1.0 if phase else 0.0
        ended = 2.0 if stops else ended
        ended = 3.0 if w[CHARGE, j] <= 0.0 else ended
        ended = 4.0 if w[WINDING_C, j] >= BURNT_C else ended
        w[ENDED, j] = ended * live


@njit(error_model="numpy", cache=True)
def _ask(w, j, script, phase):
    """Load what the driver does in a phase of the script."""
    for n in range(ASKED):
        w[FIRST_ASKED + n, j] = script[n, phase]
    w[PHASE, j] = phase
    w[PHASE_S, j] = 0.0
    w[PHASE_M, j] = 0.0


@njit(error_model="numpy", cache=True)
def _turn_page(w, script, first, last, again, laps):
    """Where a phase has ended: the next phase, the next lap, or the end. Returns how many lanes still run."""
    running = 0
    for j in range(LANES):
        ended = w[ENDED, j]
        if ended >= 2.0:
            w[ALIVE, j] = 0.0
            w[OUTCOME, j] = ended
        elif ended == 1.0:
            phase = int(w[PHASE, j]) + 1
            if phase == last[j]:
                w[LAPS, j] += 1.0
                phase = again[j]
                if w[LAPS, j] >= laps[j]:
                    w[ALIVE, j] = 0.0
                    w[OUTCOME, j] = SCRIPT_DONE
                    phase = last[j] - 1
            if w[ALIVE, j] > 0.0:
                _ask(w, j, script, phase)
        if w[ALIVE, j] > 0.0:
            running += 1
    return running


@njit(error_model="numpy", fastmath={"contract"}, nogil=True, cache=True)
def advance(columns, strips, script, first, last, again, laps, table, step, steps, before, every, trace):
    """Run a block of sixteen cars. `table` (STATES + KEPT, LANES) is what they bring and what they hand back.

    `script` holds the phases of all cars in this block, (ASKED, phases); `first`, `last`, `again` say which
    are whose and where a lap starts over; `laps` how often. Every `every` steps a row of `trace` is filled
    (not at all when zero), counted from `before` steps ago.
    """
    w = np.zeros((ROWS, LANES))
    for n in range(PARAMETERS):
        for j in range(LANES):
            w[n, j] = columns[n, j]
    for n in range(STATES + KEPT):
        for j in range(LANES):
            w[FIRST_STATE + n, j] = table[n, j]
    running = 0
    for j in range(LANES):
        phase, since_s, since_m = int(w[PHASE, j]), w[PHASE_S, j], w[PHASE_M, j]
        _ask(w, j, script, first[j] if phase < 0 else phase)
        w[PHASE_S, j] = since_s
        w[PHASE_M, j] = since_m
        running += int(w[ALIVE, j])
    for n in range(steps):
        if running == 0:
            break
        _look_up(w, strips)
        for stage in range(4):
            reach = 0.0 if stage == 0 else (step if stage == 3 else 0.5 * step)
            weight = 2.0 if (stage == 1) | (stage == 2) else 1.0
            _stage(w, reach, weight)
            if stage == 0:
                _note(w, step)
                if every > 0 and (before + n) % every == 0:
                    row = (before + n) // every
                    for j in range(LANES):
                        trace[row, 0, j] = w[SPEED, j]
                        trace[row, 1, j] = w[CHARGE, j]
                        trace[row, 2, j] = w[PACK_V, j]
                        trace[row, 3, j] = w[MOTOR_A, j]
                        trace[row, 4, j] = w[PACK_A, j]
                        trace[row, 5, j] = w[WINDING_C, j]
                        trace[row, 6, j] = w[CAN_C, j]
                        trace[row, 7, j] = w[BRIDGE_C, j]
                        trace[row, 8, j] = w[PACK_C, j]
        _move(w, step)
        some = 0.0
        for j in range(LANES):
            some = max(some, w[ENDED, j])
        if some > 0.0:
            running = _turn_page(w, script, first, last, again, laps)
    for n in range(STATES + KEPT):
        for j in range(LANES):
            table[n, j] = w[FIRST_STATE + n, j]


@njit(error_model="numpy", fastmath={"contract"}, nogil=True, cache=True)
def rates(columns, asked, states, strips):
    """The right-hand side alone for sixteen cars: seven rates, then motor A, pack A, pack V and what rules.

    For the test that holds it equal to the plain model. Returns (11, LANES).
    """
    w = np.zeros((ROWS, LANES))
    for j in range(LANES):
        for n in range(PARAMETERS):
            w[n, j] = columns[n, j]
        for n in range(ASKED):
            w[FIRST_ASKED + n, j] = asked[n, j]
        for n in range(7):
            w[FIRST_STATE + n, j] = states[n, j]
    _look_up(w, strips)
    _stage(w, 0.0, 1.0)
    out = np.empty((11, LANES))
    for j in range(LANES):
        for n in range(7):
            out[n, j] = w[FIRST_RATE + n, j]
        out[7, j] = w[MOTOR_A, j]
        out[8, j] = w[PACK_A, j]
        out[9, j] = w[PACK_V, j]
        out[10, j] = w[RULES, j]
    return out
