"""The power train: pack, controller, motor, gears, tyres and road put together. This is the plain truth.

Read from top to bottom it is the model: the rooms hold the laws, this file only joins them. `kernel` is the
same model compiled for many cars at once, and a test holds it equal to this one.

What the model decides, and why:

- The grip limit is a driver who feathers the throttle; it is reported, and no stiff tyre is needed. A driver
  who keeps his thumb down spins the wheels: the push is the same, but motor and wheels run ahead of the car
  by a share of what the throttle would give, and that work goes into tyres and ground. Without it a car on
  loose ground would use half the charge that people see. The energy of spinning up is left out.
- Throttle and all current limits act through the duty, so one minimum decides which of them rules.
- The push is an average. In life wheels hop, spin up and bite again, and heat goes with the mean square of
  the current; the ground says by how much, and it is put into the resistance of winding and bridge.
- At neutral throttle the bridge blocks (the motor free-wheels) unless the controller has a drag brake.
- Electric braking fades with speed, so a car stops without a special case. A share of it goes back to the
  pack; the rest is burnt in winding and bridge. No label says the share, so it is a guess that is fitted.
- The pack has a temperature of its own: sag and run time of a cold pack depend on it, and discharge warms a
  lithium cell beyond its ohmic loss by an amount that is not small.
- Rolling backwards is the same physics mirrored; throttle and brake stay what they are for forward motion.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from enum import IntEnum

import numpy as np
from numpy.typing import NDArray

from snugfast.core.errors import ImpossibleInput
from snugfast.core.units import ZERO_CELSIUS_K
from snugfast.physics.packs import cells
from snugfast.physics.packs import heat as pack_heat
from snugfast.physics.powertrain import cells_circuit, controller, heat, motor, road, tyres


class Action(IntEnum):
    """What the driver is doing. HOLD_SPEED uses throttle and brake to stay near a speed."""

    DRIVE = 0
    BRAKE = 1
    HOLD_SPEED = 2


class Limit(IntEnum):
    """What rules the motor current at a moment."""

    THROTTLE = 0
    MOTOR_CURRENT = 1
    GRIP_OR_DRIVER = 2
    BATTERY_CURRENT = 3
    COASTING = 4
    BRAKE_COMMAND = 5
    BRAKE_FADING = 6
    BRAKE_GRIP = 7


@dataclass(frozen=True, slots=True)
class Car:
    """Everything about the car that the twin needs."""

    mass_kg: float
    drag_area_m2: float
    driven_share: float
    final_drive: float
    gear_efficiency: float
    wheel_inertia_kgm2: float
    tyre: tyres.Tyre
    motor: motor.Motor
    motor_heat: heat.MotorHeat
    controller: controller.Controller
    controller_heat: heat.ControllerHeat
    pack: cells_circuit.Pack

    def __post_init__(self) -> None:
        if self.mass_kg <= 0.0:
            raise ImpossibleInput("A car without mass cannot be driven.", "Weigh it ready to run.")
        if self.final_drive <= 0.0:
            raise ImpossibleInput("The final drive has to be above zero.", "It is spur ÷ pinion × the rest.")
        if not 0.0 < self.gear_efficiency <= 1.0:
            raise ImpossibleInput(
                "Gears pass on at most all they get.",
                "Give an efficiency above 0 and up to 1, often 0.85–0.95.",
            )
        if not 0.0 < self.driven_share <= 1.0 or self.drag_area_m2 < 0.0 or self.wheel_inertia_kgm2 < 0.0:
            raise ImpossibleInput(
                "Share of driven weight, air drag or wheel inertia cannot be.",
                "The share is 1 for four driven wheels; the others are zero or more.",
            )

    @property
    def inertia_at_wheel_kgm2(self) -> float:
        """Wheels plus the rotor seen through the gears."""
        return self.wheel_inertia_kgm2 + self.motor.rotor_inertia_kgm2 * self.final_drive**2


@dataclass(frozen=True, slots=True)
class Place:
    """Where the car runs: ground and air."""

    ground: road.Ground
    air: road.Air
    gravity_m_s2: float = road.STANDARD_GRAVITY_m_s2


@dataclass(frozen=True, slots=True)
class Demand:
    """What the driver asks now. `aim_m_s` and `aim_band_m_s` count only while holding a speed.

    `wheel_spin`, 0 to 1, is how far he lets the wheels run ahead where the ground gives no more grip; `slide`
    is the drag of tyres that slide sideways in a bend, as a share of the load on them.
    """

    action: Action = Action.DRIVE
    throttle: float = 0.0
    brake: float = 0.0
    aim_m_s: float = 0.0
    aim_band_m_s: float = 0.5
    grade: float = 0.0
    fan: float = 0.0
    wheel_spin: float = 0.0
    slide: float = 0.0

    def push(self, speed_m_s: float) -> float:
        """How much of the grip the driver wants, −1 (brake) to 1 (drive)."""
        if self.action is Action.DRIVE:
            return 1.0
        if self.action is Action.BRAKE:
            return -1.0
        return min(max((self.aim_m_s - speed_m_s) / self.aim_band_m_s, -1.0), 1.0)


@dataclass(frozen=True, slots=True)
class State:
    """The seven numbers that say how the car is now."""

    speed_m_s: float
    charge_share: float
    slow_V: float
    winding_degC: float
    can_degC: float
    controller_degC: float
    pack_degC: float

    @classmethod
    def at_rest(cls, *, air_degC: float, charge_share: float = 1.0) -> State:
        """A rested car at the temperature of the air."""
        return cls(0.0, charge_share, 0.0, air_degC, air_degC, air_degC, air_degC)

    def as_array(self) -> NDArray[np.float64]:
        """The seven numbers in the order of the fields."""
        return np.array(
            [
                self.speed_m_s,
                self.charge_share,
                self.slow_V,
                self.winding_degC,
                self.can_degC,
                self.controller_degC,
                self.pack_degC,
            ]
        )

    @classmethod
    def of(cls, numbers: NDArray[np.float64]) -> State:
        """A state from its seven numbers."""
        return cls(*(float(x) for x in numbers))


@dataclass(frozen=True, slots=True)
class Electrics:
    """What flows: duty (negative when the pack feeds a holding brake), currents, pack voltage, who rules.

    `spin_V` is the motor voltage that spinning wheels add to what the car's speed makes.
    """

    duty: float
    motor_A: float
    pack_A: float
    pack_V: float
    limit: Limit
    copper_W: float
    controller_W: float
    brush_W: float
    spin_V: float = 0.0


@dataclass(frozen=True, slots=True)
class Moment:
    """All that goes on at one moment. Powers in W add up: see `unbalanced_W`."""

    electrics: Electrics
    radius_m: float
    motor_rad_s: float
    constant_Vs: float
    resistance_ohm: float
    open_V: float
    shaft_Nm: float
    drive_N: float
    rolling_N: float
    air_N: float
    slope_N: float
    moving_kg: float
    chemical_W: float
    pack_ohmic_W: float
    pack_heat_W: float
    supply_W: float
    iron_W: float
    gears_W: float
    slip_W: float
    can_W_K: float
    controller_W_K: float
    rates: NDArray[np.float64]

    def unbalanced_W(self, car: Car, state: State) -> float:
        """Chemical power less everything it goes into; zero but for rounding."""
        v = state.speed_m_s
        kinetic_W = self.moving_kg * v * self.rates[0]
        slow_stored_W = car.pack.slow_capacitance_F * state.slow_V * self.rates[2]
        share = car.controller.supply_heat_share
        sinks_W = (
            self.pack_ohmic_W
            + slow_stored_W
            + (1.0 - share) * self.supply_W
            + self.electrics.controller_W
            + self.electrics.copper_W
            + self.electrics.brush_W
            + self.iron_W
            + self.gears_W
            + self.slip_W
            + (self.rolling_N + self.air_N + self.slope_N) * v
            + kinetic_W
        )
        return float(self.chemical_W - sinks_W)


def moment(car: Car, place: Place, state: State, demand: Demand) -> Moment:
    """What goes on in the car at a moment, and how fast each of its seven numbers changes."""
    v = state.speed_m_s
    radius_m, radius_slope_s = tyres.rolling_radius(car.tyre, v)
    motor_rad_s = car.final_drive * v / radius_m
    turning = road.turning_sign(v)
    load_N, slope_N = road.slope_forces(
        mass_kg=car.mass_kg, grade=demand.grade, gravity_m_s2=place.gravity_m_s2
    )
    grip_N = place.ground.grip * car.driven_share * load_N

    constant_Vs = motor.warm_constant(
        constant_Vs=car.motor.constant_Vs,
        magnet_per_K=car.motor.magnet_per_K,
        magnet_degC=motor.magnet_temperature(
            winding_degC=state.winding_degC,
            can_degC=state.can_degC,
            follows_winding=car.motor.magnet_follows_winding,
        ),
    )
    winding_ohm = motor.warm_resistance(
        resistance_ohm=car.motor.resistance_ohm * (1.0 + place.ground.unsteady),
        copper_per_K=car.motor.copper_per_K,
        winding_degC=state.winding_degC,
    )
    idle_Nm = motor.idle_torque(
        hysteresis_torque_Nm=car.motor.hysteresis_torque_Nm,
        eddy_torque_Nms=car.motor.eddy_torque_Nms,
        turning=turning,
        speed_rad_s=motor_rad_s,
    )
    bridge_ohm = car.controller.resistance_ohm * (1.0 + place.ground.unsteady)
    bridge_ohm *= 1.0 + car.controller.resistance_per_K * (state.controller_degC - 25.0)
    pack_factor = cells.resistance_factor(
        activation_J_per_mol=car.pack.activation_J_mol, temperature_K=state.pack_degC + ZERO_CELSIUS_K
    )
    pack_ohm = car.pack.resistance_ohm * pack_factor
    slow_ohm = car.pack.slow_resistance_ohm * pack_factor
    rest_V = car.pack.series_cells * car.pack.curve.voltage_V(state.charge_share)
    open_V = rest_V - state.slow_V

    wheels = Wheels(
        grip_N=grip_N,
        arm_m=radius_m / car.final_drive,
        efficiency=car.gear_efficiency,
        idle_Nm=idle_Nm,
        constant_Vs=constant_Vs,
    )
    circuit = Circuit(
        open_V=open_V,
        pack_ohm=pack_ohm,
        emf_V=constant_Vs * motor_rad_s,
        winding_ohm=winding_ohm,
        bridge_ohm=bridge_ohm,
        brush_V=car.motor.brush_drop_V,
        most_from_pack_A=car.controller.most_from_pack_A(
            open_V=open_V, pack_ohm=pack_ohm, cells=car.pack.series_cells
        ),
    )
    electrics = _electrics(car.controller, circuit, wheels, demand, v)

    if electrics.spin_V > 0.0:
        motor_rad_s += electrics.spin_V / constant_Vs
        idle_Nm = motor.idle_torque(
            hysteresis_torque_Nm=car.motor.hysteresis_torque_Nm,
            eddy_torque_Nms=car.motor.eddy_torque_Nms,
            turning=road.turning_sign(motor_rad_s * wheels.arm_m),
            speed_rad_s=motor_rad_s,
        )
    shaft_Nm = constant_Vs * electrics.motor_A - idle_Nm
    driving = electrics.motor_A > 0.0 and shaft_Nm >= 0.0 and motor_rad_s >= 0.0
    drive_N = shaft_Nm / wheels.arm_m * (car.gear_efficiency if driving else 1.0 / car.gear_efficiency)
    rolling_N = road.rolling_force(
        load_N=load_N,
        rolling=place.ground.rolling + demand.slide,
        rolling_per_speed_s_m=place.ground.rolling_per_speed_s_m,
        speed_m_s=v,
        turning=turning,
    )
    air_N = road.air_force(
        density_kg_m3=place.air.density_kg_m3,
        drag_area_m2=car.drag_area_m2,
        speed_m_s=v,
        head_wind_m_s=place.air.head_wind_m_s,
    )
    moving_kg = road.moving_mass(
        mass_kg=car.mass_kg,
        inertia_at_wheel_kgm2=car.inertia_at_wheel_kgm2,
        speed_m_s=v,
        radius_m=radius_m,
        radius_slope_s=radius_slope_s,
    )
    iron_W = idle_Nm * motor_rad_s
    pack_A = electrics.pack_A
    pack_ohmic_W = pack_A * pack_A * pack_ohm + state.slow_V**2 / slow_ohm
    pack_heat_W = pack_ohmic_W + pack_heat.reversible_heat_W(
        current_A=pack_A,
        cells=car.pack.series_cells,
        temperature_K=state.pack_degC + ZERO_CELSIUS_K,
        entropy_V_per_K=car.pack.curve.per_kelvin_V(state.charge_share),
    )
    can_W_K = _conductance(car.motor_heat.cooling, v, demand.fan)
    controller_W_K = _conductance(car.controller_heat.cooling, v, demand.fan)
    to_winding = car.motor_heat.iron_in_winding
    rates = np.array(
        [
            (drive_N - rolling_N - air_N - slope_N) / moving_kg,
            -pack_A / (3600.0 * car.pack.capacity_Ah),
            cells_circuit.slow_voltage_rate(
                current_A=pack_A,
                slow_V=state.slow_V,
                slow_ohm=slow_ohm,
                capacitance_F=car.pack.slow_capacitance_F,
            ),
            heat.winding_rate(
                heat_W=electrics.copper_W + electrics.brush_W + to_winding * iron_W,
                winding_degC=state.winding_degC,
                can_degC=state.can_degC,
                winding_to_can_K_W=car.motor_heat.winding_to_can_K_W,
                winding_J_K=car.motor_heat.winding_J_K,
            ),
            heat.can_rate(
                heat_W=(1.0 - to_winding) * iron_W,
                winding_degC=state.winding_degC,
                can_degC=state.can_degC,
                winding_to_can_K_W=car.motor_heat.winding_to_can_K_W,
                conductance_W_K=can_W_K,
                air_degC=place.air.temperature_degC,
                can_J_K=car.motor_heat.can_J_K,
            ),
            heat.body_rate(
                heat_W=electrics.controller_W,
                body_degC=state.controller_degC,
                air_degC=place.air.temperature_degC,
                conductance_W_K=controller_W_K,
                capacity_J_K=car.controller_heat.capacity_J_K,
            ),
            heat.body_rate(
                heat_W=pack_heat_W,
                body_degC=state.pack_degC,
                air_degC=place.air.temperature_degC,
                conductance_W_K=car.pack.cooling_W_K,
                capacity_J_K=car.pack.heat_capacity_J_K,
            ),
        ]
    )
    return Moment(
        electrics=electrics,
        radius_m=radius_m,
        motor_rad_s=motor_rad_s,
        constant_Vs=constant_Vs,
        resistance_ohm=winding_ohm,
        open_V=open_V,
        shaft_Nm=shaft_Nm,
        drive_N=drive_N,
        rolling_N=rolling_N,
        air_N=air_N,
        slope_N=slope_N,
        moving_kg=moving_kg,
        chemical_W=rest_V * pack_A,
        pack_ohmic_W=pack_ohmic_W,
        pack_heat_W=pack_heat_W,
        supply_W=electrics.pack_V * car.controller.supply_current_A,
        iron_W=iron_W,
        gears_W=shaft_Nm * motor_rad_s - drive_N * motor_rad_s * wheels.arm_m,
        slip_W=drive_N * (motor_rad_s * wheels.arm_m - v),
        can_W_K=can_W_K,
        controller_W_K=controller_W_K,
        rates=rates,
    )


@dataclass(frozen=True, slots=True)
class Wheels:
    """What the tyres let the motor do: grip, the arm from motor torque to push, gears and idle torque."""

    grip_N: float
    arm_m: float
    efficiency: float
    idle_Nm: float
    constant_Vs: float

    def driving_current_A(self, push: float) -> float:
        """Motor current that uses the share `push` of the grip; the motor's own idle torque comes on top."""
        return max((push * self.grip_N * self.arm_m / self.efficiency + self.idle_Nm) / self.constant_Vs, 0.0)

    def braking_current_A(self, pull: float) -> float:
        """Braking current that uses the share `pull` of the grip; idle torque and gears already brake."""
        idle_Nm = abs(self.idle_Nm)
        return max((pull * self.grip_N * self.arm_m * self.efficiency - idle_Nm) / self.constant_Vs, 0.0)


@dataclass(frozen=True, slots=True)
class Circuit:
    """Voltages and resistances at a moment, and the largest current from the pack."""

    open_V: float
    pack_ohm: float
    emf_V: float
    winding_ohm: float
    bridge_ohm: float
    brush_V: float
    most_from_pack_A: float

    @property
    def loop_ohm(self) -> float:
        """Motor plus controller."""
        return self.winding_ohm + self.bridge_ohm


def _electrics(
    bridge: controller.Controller, circuit: Circuit, wheels: Wheels, demand: Demand, speed_m_s: float
) -> Electrics:
    push = demand.push(speed_m_s)
    pull_A = wheels.braking_current_A(-push)
    if demand.action is Action.BRAKE or (demand.action is Action.HOLD_SPEED and pull_A > 0.0):
        return _braking(bridge, circuit, pull_A, demand.brake)
    wheel_spin = demand.wheel_spin if demand.action is Action.DRIVE else 0.0
    return _driving(bridge, circuit, wheels.driving_current_A(push), demand.throttle, wheel_spin)


def _driving(
    bridge: controller.Controller, circuit: Circuit, grip_A: float, throttle: float, wheel_spin: float
) -> Electrics:
    loop = controller.Loop(
        open_V=circuit.open_V,
        against_V=circuit.emf_V + circuit.brush_V,
        loop_ohm=circuit.loop_ohm,
        pack_ohm=circuit.pack_ohm,
        supply_A=bridge.supply_current_A,
        part_throttle_V=bridge.part_throttle_V,
    )
    duties = {
        Limit.THROTTLE: throttle,
        Limit.MOTOR_CURRENT: controller.duty_for_motor_current(loop, bridge.motor_limit_A),
        Limit.GRIP_OR_DRIVER: controller.duty_for_motor_current(loop, grip_A),
        Limit.BATTERY_CURRENT: controller.duty_for_battery_current(loop, circuit.most_from_pack_A),
    }
    limit = min(duties, key=lambda one: duties[one])
    duty = max(duties[limit], 0.0)
    motor_A = controller.motor_current_at(loop=loop, duty=duty)
    spin_V = 0.0
    if motor_A <= 0.0:
        limit, motor_A = Limit.COASTING, 0.0
    elif limit is Limit.GRIP_OR_DRIVER and wheel_spin > 0.0 and grip_A > 0.0:
        # The ground takes no more torque, so the current stays; what duty is left turns into speed.
        most = min(throttle, (circuit.most_from_pack_A - bridge.supply_current_A) / motor_A)
        duty += wheel_spin * max(most - duty, 0.0)
        would_flow_A = controller.motor_current_at(loop=loop, duty=duty)
        spin_V = max(would_flow_A - motor_A, 0.0) * (loop.loop_ohm + duty * duty * loop.pack_ohm)
    pack_A = duty * motor_A + bridge.supply_current_A
    pack_V = circuit.open_V - circuit.pack_ohm * pack_A
    return Electrics(
        duty=duty,
        motor_A=motor_A,
        pack_A=pack_A,
        pack_V=pack_V,
        limit=limit,
        copper_W=motor_A * motor_A * circuit.winding_ohm,
        controller_W=controller.controller_heat(
            current_A=motor_A,
            resistance_ohm=circuit.bridge_ohm,
            duty=duty,
            part_throttle_V=bridge.part_throttle_V,
            supply_W=pack_V * bridge.supply_current_A,
            supply_heat_share=bridge.supply_heat_share,
        ),
        brush_W=circuit.brush_V * motor_A,
        spin_V=spin_V,
    )


HOLD_GAIN = 4.0
"""A holding controller brakes a creeping motor this many times as hard as a short circuit does (elicited)."""


def _braking(bridge: controller.Controller, circuit: Circuit, grip_A: float, brake: float) -> Electrics:
    commanded_A = brake * bridge.brake_limit_A
    emf_V = abs(circuit.emf_V)
    fading_A = max(emf_V - circuit.brush_V, 0.0) / circuit.loop_ohm * (HOLD_GAIN if bridge.holds else 1.0)
    currents = {
        Limit.BRAKE_FADING: fading_A,
        Limit.BRAKE_COMMAND: commanded_A,
        Limit.BRAKE_GRIP: grip_A,
    }
    limit = min(currents, key=lambda one: currents[one])
    brake_A = currents[limit]
    left_V = emf_V - circuit.brush_V - brake_A * circuit.loop_ohm
    supply_A = bridge.supply_current_A
    given_back = bridge.given_back if left_V > 0.0 else 1.0
    loop = controller.Loop(
        open_V=circuit.open_V,
        against_V=emf_V - circuit.brush_V,
        loop_ohm=circuit.loop_ohm,
        pack_ohm=circuit.pack_ohm,
        supply_A=supply_A,
        part_throttle_V=0.0,
    )
    duty = controller.braking_duty(loop, brake_A, given_back=given_back)
    burnt_W = (1.0 - given_back) * left_V * brake_A
    pack_A = supply_A - duty * brake_A
    pack_V = circuit.open_V - circuit.pack_ohm * pack_A
    copper_share = circuit.winding_ohm / circuit.loop_ohm
    supply_W = pack_V * supply_A
    return Electrics(
        duty=duty,
        motor_A=-math.copysign(brake_A, circuit.emf_V),
        pack_A=pack_A,
        pack_V=pack_V,
        limit=limit,
        copper_W=brake_A * brake_A * circuit.winding_ohm + burnt_W * copper_share,
        controller_W=brake_A * brake_A * circuit.bridge_ohm
        + burnt_W * (1.0 - copper_share)
        + bridge.supply_heat_share * supply_W,
        brush_W=circuit.brush_V * brake_A,
    )


def _conductance(cooling: heat.Cooling, speed_m_s: float, fan: float) -> float:
    return heat.conductance(
        base_W_K=cooling.base_W_K,
        flow_W_K=cooling.flow_W_K,
        exponent=cooling.exponent,
        air_m_s=heat.air_speed(cooling, speed_m_s=speed_m_s, fan=fan),
    )


def rates_for(
    car: Car, place: Place, demand: Demand
) -> Callable[[float, NDArray[np.float64]], NDArray[np.float64]]:
    """The right-hand side for a solver: time and seven numbers in, seven rates out."""

    def rates(_time_s: float, numbers: NDArray[np.float64]) -> NDArray[np.float64]:
        return moment(car, place, State.of(numbers), demand).rates

    return rates


def kinetic_energy(car: Car, speed_m_s: float) -> float:
    """Energy of motion, spinning parts included, in J."""
    radius_m, _ = tyres.rolling_radius(car.tyre, speed_m_s)
    spin = speed_m_s / radius_m
    return 0.5 * car.mass_kg * speed_m_s**2 + 0.5 * car.inertia_at_wheel_kgm2 * spin**2


def fastest_rate(car: Car, place: Place) -> float:
    """The fastest rate at which the car's speed settles, in 1/s; it says how long a step may be.

    The motor against its own resistance (harder with a holding controller), plus the rise of rolling and idle
    torque through rest.
    """
    m = car.motor
    arm_m = car.tyre.radius_m / car.final_drive
    loop_ohm = m.resistance_ohm + car.controller.resistance_ohm
    moving_kg = car.mass_kg + car.inertia_at_wheel_kgm2 / car.tyre.radius_m**2
    damping_kg_s = (m.constant_Vs / arm_m) ** 2 / (car.gear_efficiency * loop_ohm)
    rest_N = place.ground.rolling * car.mass_kg * place.gravity_m_s2
    rest_N += m.hysteresis_torque_Nm / (arm_m * car.gear_efficiency)
    if car.controller.holds:
        damping_kg_s *= HOLD_GAIN
    return (damping_kg_s + rest_N / road.STOP_SPEED_m_s) / moving_kg


LONGEST_STEP_s = 0.01


def comfortable_step(car: Car, place: Place) -> float:
    """A step that follows this car well: 10 ms, or less for a light car with a strong motor.

    A classical fourth-order step is stable to 2.78 over the fastest rate; a third of that is used.
    """
    return min(LONGEST_STEP_s, 0.9 / fastest_rate(car, place))
