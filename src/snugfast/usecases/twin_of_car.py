"""The twin of a car, made from its build's own places; what only a label or a scale tells is an estimate.

Each number that goes in says whether the build says it or the tables guess it, and its band.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from snugfast.core.errors import BadInput, NotKnown
from snugfast.core.figures import Figure, Origin
from snugfast.facts.model import Build
from snugfast.physics import cells_circuit, controller, heat, powertrain, tyres
from snugfast.physics.chemistry import Chemistry, NoTable
from snugfast.physics.gearing import Pair, final_drive
from snugfast.physics.knobs import Knob
from snugfast.physics.motor import Motor
from snugfast.physics.motor_estimates import FLOW_EXPONENT, heat_of_can, motor_from_label
from snugfast.usecases import twin_tables as tables
from snugfast.usecases.drive_ratios import diff_ratio
from snugfast.usecases.gears_said import gear_of
from snugfast.usecases.pack_tables import pack_tables
from snugfast.usecases.twin_tables import CarKind, banded, log_spread, number, origin_of, taken

SAID = Origin("mine", "the build of the car")
FROM_KIND = "guessed from the kind of car"
DRIVEN_BY_ONE_AXLE = "direct"
HIGHEST_SCALED_CAN_mm = 80.0


@dataclass(frozen=True, slots=True)
class PackChosen:
    """The pack in the car: of the workshop, or the kind the build is made for."""

    name: str
    chemistry: str
    cells: int
    capacity_Ah: float
    cell_ohm: tuple[float, ...] = ()  # measured, each cell; empty when nobody measured
    measured_with: str = ""


@dataclass(frozen=True, slots=True)
class TwinNumber:
    """One number that went into the twin; `estimated` when neither the build nor a reading says it."""

    name: str
    figure: Figure
    how: str
    estimated: bool


@dataclass(frozen=True, slots=True)
class Twin:
    """A car as the sums drive it, with what is known of it.

    `spreads` are standard deviations of the logarithm of each knob; `mass_spread` and `pack_spread` are the
    same for the mass and the pack's resistance, which no knob turns.
    """

    car: powertrain.Car
    pair: Pair
    module_m: float
    internal_ratio: float
    pinion_bore_m: float | None
    slot: Figure
    tyre_m: float
    kind: CarKind
    pack: PackChosen
    plug_A: float | None
    has_fan: bool
    numbers: tuple[TwinNumber, ...]
    spreads: Mapping[Knob, float]
    mass_spread: float
    pack_spread: float
    notes: tuple[str, ...]


def twin_of(build: Build, pack: PackChosen, *, internal: float | None = None) -> Twin:
    """The twin of a build with a pack in it; `internal` goes before the ratio that the build says.

    Raises BadInput or NotKnown, naming the size that is missing and where to put it, and ImpossibleInput for
    numbers that cannot be.
    """
    return _Assembly(build, pack, internal).twin()


def on_tyres(twin: Twin, tyre_m: float) -> powertrain.Car:
    """The car on tyres of another size: radius, mass, inertia, and a body that stands higher in the air."""
    if not 0.3 <= tyre_m / twin.tyre_m <= 3.0:
        raise BadInput(
            f"Tyres of {tyre_m * 1e3:g} mm do not belong on a car with tyres of {twin.tyre_m * 1e3:g} mm.",
            "Give the outside in mm, as measured on the car.",
        )
    before, after = (wheel_kg(twin.kind, size).value for size in (twin.tyre_m, tyre_m))
    lift_m = taken("wheel", "lift_share").value * (tyre_m - twin.tyre_m)
    return replace(
        twin.car,
        mass_kg=twin.car.mass_kg + 4.0 * (after - before),
        wheel_inertia_kgm2=wheel_inertia(after, tyre_m),
        tyre=replace(twin.car.tyre, radius_m=tyre_m / 2.0),
        drag_area_m2=max(twin.car.drag_area_m2 + lift_m * number(twin.kind.cells, "width_m"), 1e-4),
    )


def wheel_kg(kind: CarKind, tyre_m: float) -> Figure:
    """One wheel with its tyre, guessed from the kind of car and the tyre's size."""
    one = banded(kind.cells, "wheel", "kg", origin_of("car_kinds"), ending="_kg")
    assert one.low is not None and one.high is not None
    grown = (tyre_m / number(kind.cells, "tyre_m")) ** taken("wheel", "mass_exponent").value
    return Figure(one.value * grown, "kg", low=one.low * grown, high=one.high * grown, origins=one.origins)


def wheel_inertia(one_kg: float, tyre_m: float) -> float:
    """Four wheels, most of the mass near the rim. kg·m²."""
    return 4.0 * taken("wheel", "hoop_share").value * one_kg * (tyre_m / 2.0) ** 2


class _Assembly:
    """Reads a build place by place and keeps what each number rests on."""

    def __init__(self, build: Build, pack: PackChosen, internal: float | None) -> None:
        self.build = build
        self.pack_said = pack
        self.internal_said = internal
        self.kind = tables.kind_of(build)
        self.numbers: list[TwinNumber] = []
        self.notes: list[str] = []

    def twin(self) -> Twin:
        pinion, spur = gear_of(self.build, "pinion"), gear_of(self.build, "spur")
        pair = Pair(pinion.gear.teeth, spur.gear.teeth)
        internal = self._internal_ratio()
        own_tyre_m = self._tyre()
        mass = self._mass()
        self._note("a wheel with its tyre", wheel_kg(self.kind, own_tyre_m), FROM_KIND, True)
        motor, motor_heat, spreads = self._motor()
        bridge, bridge_heat = self._controller()
        pack, pack_spread = self._pack()
        drag = banded(self.kind.body, "drag_area", "m²", origin_of("bodies"), ending="_m2")
        gears = banded(self.kind.body, "gear", "1", origin_of("bodies"))
        self._note("drag area", drag, FROM_KIND, True)
        self._note("efficiency of the gears", gears, FROM_KIND, True)
        car = powertrain.Car(
            mass_kg=mass.value,
            drag_area_m2=drag.value,
            driven_share=self._driven_share(),
            final_drive=final_drive(pair, internal),
            gear_efficiency=gears.value,
            wheel_inertia_kgm2=wheel_inertia(wheel_kg(self.kind, own_tyre_m).value, own_tyre_m),
            tyre=self._tyre_law(own_tyre_m),
            motor=motor,
            motor_heat=motor_heat,
            controller=bridge,
            controller_heat=bridge_heat,
            pack=pack,
        )
        return Twin(
            car=car,
            pair=pair,
            module_m=pinion.gear.module_m,
            internal_ratio=internal,
            pinion_bore_m=self._metres("pinion", "bore_mm"),
            slot=self._slot(),
            tyre_m=own_tyre_m,
            kind=self.kind,
            pack=self.pack_said,
            plug_A=self._size("controller_plug", "current_A"),
            has_fan=self.build.traits.get("fan", "none") != "none",
            numbers=tuple(self.numbers),
            spreads=spreads,
            mass_spread=log_spread(mass),
            pack_spread=pack_spread,
            notes=tuple(self.notes),
        )

    # Reading sizes.

    def _size(self, role: str, name: str) -> float | None:
        for place in self.build.of_role(role):
            value = place.sizes.get(name)
            if isinstance(value, float):
                return value
        return None

    def _metres(self, role: str, name: str) -> float | None:
        value = self._size(role, name)
        return None if value is None else value * 1e-3

    def _needed(self, role: str, name: str, words: str) -> float:
        value = self._size(role, name)
        if value is None:
            raise NotKnown(
                f"The build does not say {words}.",
                f"Measure it and add {name} to the sizes of the {role.replace('_', ' ')} in the build.",
            )
        return value

    def _note(self, name: str, figure: Figure, how: str, estimated: bool) -> None:
        self.numbers.append(TwinNumber(name, figure, how, estimated))

    def _said(self, name: str, value: float, unit: str) -> Figure:
        figure = Figure(value, unit, origins=(SAID,))
        self._note(name, figure, "the build says it", False)
        return figure

    # Wheels and body.

    def _internal_ratio(self) -> float:
        said = self.internal_said or self._size("spur", "internal_ratio")
        plain = not self.build.of_role("gearbox_gear") and not self.build.of_role("portal_gear")
        counted = diff_ratio(self.build) if plain and self.build.of_role("diff_gear") else None
        ratio = said or counted
        if ratio is None:
            raise NotKnown(
                "How often the spur gear turns for one turn of a wheel is not known.",
                "Turn the wheels once (both sides together), count the turns of the spur gear, and add "
                "internal_ratio to its sizes; or give --internal 3.3.",
            )
        self._note(
            "turns of the spur gear for one of a wheel",
            Figure(ratio, "1", origins=(SAID,)),
            "the build says it" if said else "counted from the teeth of the bevel gears",
            False,
        )
        return ratio

    def _tyre(self) -> float:
        outer_mm = self._needed("tyre", "outer_mm", "how large the tyres are")
        return self._said("outside of the tyres", outer_mm * 1e-3, "m").value

    def _tyre_law(self, tyre_m: float) -> tyres.Tyre:
        words = " ".join(place.part for place in self.build.of_role("tyre"))
        held = "belted" if "banded" in words or "belted" in words else "unbelted"
        rubber = tables.document("materials")["rubber"]
        stiff_Pa = rubber["belted_Pa" if held == "belted" else "soft_unbelted_Pa"]["value"]
        growth = rubber[f"most_growth_{held}"]
        self._note(
            "most that the tyres grow",
            Figure(
                growth["value"],
                "1",
                growth["low"],
                growth["high"],
                (Origin(growth["source"], growth["where"]),),
            ),
            "guessed: tyres with a belt hardly grow",
            True,
        )
        return tyres.Tyre(
            tyre_m / 2.0,
            growth_s2_m2=rubber["density_kg_m3"]["value"] / stiff_Pa,
            growth_bound=growth["value"],
        )

    def _mass(self) -> Figure:
        said = self._size("chassis", "mass_kg")
        if said is not None:
            return self._said("mass ready to run", said, "kg")
        guess = banded(self.kind.cells, "mass", "kg", origin_of("car_kinds"), ending="_kg")
        self._note("mass ready to run", guess, "guessed from scale and kind; weigh it", True)
        return guess

    def _driven_share(self) -> float:
        which = "two" if self.build.traits.get("drive_line") == DRIVEN_BY_ONE_AXLE else "four"
        figure = taken("driven_share", which, "1")
        self._note("share of the weight on driven wheels", figure, f"{which} driven wheels", which == "two")
        return figure.value

    def _slot(self) -> Figure:
        said = self._size("motor_mount", "slot_mm")
        if said is not None:
            return Figure(said * 1e-3, "m", origins=(SAID,))
        guess = taken("mount", "slot_mm", "m")
        assert guess.low is not None and guess.high is not None
        return replace(guess, value=guess.value * 1e-3, low=guess.low * 1e-3, high=guess.high * 1e-3)

    # Motor and controller.

    def _motor(self) -> tuple[Motor, heat.MotorHeat, Mapping[Knob, float]]:
        can_mm = self._needed("motor", "can_mm", "how wide the motor can is")
        length_mm = self._needed("motor", "length_mm", "how long the motor can is")
        if not 15.0 <= can_mm <= HIGHEST_SCALED_CAN_mm or not 0.5 <= length_mm / can_mm <= 4.0:
            raise BadInput(
                f"A motor can of {can_mm:g} × {length_mm:g} mm is outside what the twin can guess at.",
                "Measure diameter and length of the can, without shaft and wires, in mm.",
            )
        can = tables.can_like(can_mm * 1e-3, length_mm * 1e-3)
        if can.scaled_from:
            self.notes.append(
                f"No table has a can of {can_mm:g} × {length_mm:g} mm: the numbers are scaled from "
                f"{can.scaled_from.replace('x', ' × ')} mm, so trust the differences more than the values."
            )
        brushed = self.build.traits.get("motor", "").startswith("brushed")
        sort = tables.document("motor_classes")["brushed" if brushed else "brushless"]
        kv = self._rpm_per_volt(brushed)
        guess = replace(
            can.likely,
            size_Nm_sqrtW=can.likely.size_Nm_sqrtW * sort["size_factor"],
            idle_Nm=can.likely.idle_Nm * sort["idle_factor"],
        )
        motor = motor_from_label(guess, kv_rpm_V=kv.value, brush_drop_V=sort["brush_drop_V"])
        materials = tables.document("materials")
        motor = replace(
            motor,
            copper_per_K=materials["copper"]["per_K"]["value"],
            magnet_per_K=materials["magnet"]["per_K"]["value"],
            magnet_follows_winding=materials["magnet"]["follows_winding"]["value"],
        )
        self._motor_numbers(motor, can, sort)
        mount = materials["mount"]["cooling_factor"]["value"]
        body = heat_of_can(
            guess,
            ram_share=number(self.kind.body, "can_ram"),
            mount_factor=mount,
            iron_in_winding=materials["iron_share_in_winding"]["value"],
        )
        spreads = tables.prior_spreads()
        spreads[Knob.RPM_PER_VOLT] = max(spreads[Knob.RPM_PER_VOLT], log_spread(kv))
        return motor, body, spreads

    def _motor_numbers(self, motor: Motor, can: tables.CanGuess, sort: Mapping[str, float]) -> None:
        constant = motor.constant_Vs
        size, idle = can.size, can.idle
        assert (
            size.low is not None and size.high is not None and idle.low is not None and idle.high is not None
        )
        factor = sort["size_factor"]
        self._note(
            "winding resistance",
            Figure(
                motor.resistance_ohm,
                "Ω",
                low=(constant / (size.high * factor)) ** 2,
                high=(constant / (size.low * factor)) ** 2,
                origins=size.origins,
            ),
            "guessed from can and rpm per volt",
            True,
        )
        self._note(
            "idle current",
            Figure(
                motor.idle_current_A,
                "A",
                low=idle.low * sort["idle_factor"] / constant,
                high=idle.high * sort["idle_factor"] / constant,
                origins=idle.origins,
            ),
            "guessed from can and rpm per volt",
            True,
        )

    def _rpm_per_volt(self, brushed: bool) -> Figure:
        said = self._size("motor", "kv_rpm_V")
        if said is not None:
            return self._said("rpm per volt", said, "rpm/V")
        guess = self._from_turns() if brushed else self._usual()
        self._note("rpm per volt", guess, "guessed: the build does not say it", True)
        self.notes.append("Rpm per volt is a guess; read it off the motor and add kv_rpm_V to its sizes.")
        return guess

    def _from_turns(self) -> Figure:
        turns = self._size("motor", "turns_count")
        product = taken("motor", "rpm_per_volt_times_turns", "rpm/V")
        count = turns or taken("motor", "turns_closed_can").value
        return _over(product, count)

    def _usual(self) -> Figure:
        nominal_V = 3.7 * self._cells()
        return _over(taken("motor", "usual_rpm", "rpm/V"), nominal_V)

    def _controller(self) -> tuple[controller.Controller, heat.ControllerHeat]:
        rated_A = self._needed("controller", "current_A", "what current the controller is made for")
        self._said("rated current of the controller", rated_A, "A")
        made_for = self._size("controller", "cells_count")
        if made_for is not None and self._cells() > made_for and self._is_lithium():
            raise BadInput(
                f"The controller is made for {made_for:g} cells at most; this is {self._cells()} cells.",
                "Choose another pack: more cells than it is made for destroy a controller at once.",
            )
        size = tables.controller_row(rated_A)
        scale = rated_A / number(size, "battery_A")
        origin = origin_of("controllers", f"size {size['key']}")
        part_V = number(size, "part_throttle_V")
        resistance = Figure(number(size, "resistance_ohm"), "Ω", origins=(origin,))
        how = f"guessed from its rating: {size['name']}"
        self._note("resistance of the controller", resistance, how, True)
        fan_m_s = self._fan(number(size, "fan_air_m_s"))
        bridge = controller.Controller(
            resistance_ohm=number(size, "resistance_ohm"),
            part_throttle_V=part_V,
            motor_limit_A=number(size, "motor_A") * scale,
            battery_limit_A=rated_A,
            brake_limit_A=number(size, "brake_A") * scale,
            drag_brake=1.0 if self.kind.style == "rocks" else 0.0,
            cutoff_V_per_cell=tables.limits().cutoff_V_per_cell,
        )
        cooling = heat.Cooling(
            base_W_K=number(size, "still_W_K"),
            flow_W_K=number(size, "flow_W_K"),
            exponent=FLOW_EXPONENT,
            ram_share=number(self.kind.body, "controller_ram"),
            fan_air_m_s=fan_m_s,
        )
        return bridge, heat.ControllerHeat(number(size, "capacity_J_K"), cooling)

    def _fan(self, of_row_m_s: float) -> float:
        if self.build.traits.get("fan", "none") == "none":
            return 0.0
        return of_row_m_s or taken("controller_fit", "fan_air_m_s").value

    # The pack.

    def _in_series(self) -> int:
        return 2 if self.build.traits.get("packs") == "two in series" else 1

    def _cells(self) -> int:
        return self.pack_said.cells * self._in_series()

    def _is_lithium(self) -> bool:
        return chemistry_of(self.pack_said.chemistry) is Chemistry.LITHIUM_POLYMER

    def _pack(self) -> tuple[cells_circuit.Pack, float]:
        said = self.pack_said
        sort = chemistry_of(said.chemistry)
        if sort is not Chemistry.LITHIUM_POLYMER:
            raise NoTable(sort)
        cells, capacity = self._cells(), said.capacity_Ah
        leads = taken("pack", "leads_ohm", "Ω")
        inside, how, estimated = self._cell_resistance(cells, capacity)
        whole = Figure(
            inside.value + leads.value,
            "Ω",
            low=None if inside.low is None else inside.low + (leads.low or 0.0),
            high=None if inside.high is None else inside.high + (leads.high or 0.0),
            origins=(*inside.origins, *leads.origins),
        )
        self._note("resistance of the pack with its leads", whole, how, estimated)
        slow_ohm = taken("pack", "slow_share").value * inside.value
        heat_J_kgK = pack_tables().value("heat", "heat_capacity_J_per_kgK")
        mass_kg = taken("pack", "kg_per_Ah_cell").value * capacity * cells
        pack = cells_circuit.Pack(
            curve=tables.cell_curve(),
            series_cells=cells,
            capacity_Ah=capacity,
            resistance_ohm=whole.value,
            slow_resistance_ohm=slow_ohm,
            slow_capacitance_F=taken("pack", "slow_s").value / slow_ohm,
            heat_capacity_J_K=heat_J_kgK * mass_kg,
            cooling_W_K=taken("pack", "to_air_W_K").value * (cells * capacity / 15.0) ** (2.0 / 3.0),
        )
        return pack, log_spread(whole)

    def _cell_resistance(self, cells: int, capacity_Ah: float) -> tuple[Figure, str, bool]:
        if self.pack_said.cell_ohm:
            measured = sum(self.pack_said.cell_ohm) * self._in_series()
            how = f"measured, {self.pack_said.measured_with or 'instrument not said'}; leads guessed"
            return Figure(measured, "Ω", low=0.8 * measured, high=1.3 * measured, origins=(SAID,)), how, False
        band = pack_tables().band("resistance_of_cell", "milliohm_times_ampere_hour")
        per_mohm = cells * 1e-3 / capacity_Ah
        origin = pack_tables().origin("resistance_of_cell", "milliohm_times_ampere_hour")
        figure = Figure(band.likely * per_mohm, "Ω", band.low * per_mohm, band.high * per_mohm, (origin,))
        return figure, "guessed from its capacity; measure the cells", True


def _over(figure: Figure, divisor: float) -> Figure:
    assert figure.low is not None and figure.high is not None
    return replace(figure, value=figure.value / divisor, low=figure.low / divisor, high=figure.high / divisor)


def chemistry_of(words: str) -> Chemistry:
    """The chemistry that a pack's record names. Raises BadInput for another word."""
    for chemistry in Chemistry:
        if words.strip().casefold() == chemistry.value.casefold():
            return chemistry
    if words.strip().casefold() in ("lipo", "lithium polymer"):
        return Chemistry.LITHIUM_POLYMER
    raise BadInput(
        f"The twin does not know “{words}” cells.",
        f"It knows the names {', '.join(chemistry.value for chemistry in Chemistry)}.",
    )


def pack_of_build(build: Build) -> PackChosen:
    """The kind of pack a build is made for. Raises NotKnown when it does not say its cells or capacity."""
    for place in build.of_role("pack"):
        cells, capacity = place.sizes.get("cells_count"), place.sizes.get("capacity_mAh")
        form = str(place.sizes.get("cell_form", ""))
        if isinstance(cells, float) and isinstance(capacity, float):
            nickel = form.casefold().startswith("nimh")
            chemistry = Chemistry.NICKEL_METAL_HYDRIDE if nickel else Chemistry.LITHIUM_POLYMER
            return PackChosen(
                "the kind the build is made for", chemistry.value, int(cells), capacity / 1000.0
            )
    raise NotKnown(
        "Neither a pack of the workshop nor the build says cells and capacity.",
        "Name one with --pack, or add one: snugfast packs add NAME --cells 3 --capacity 5000mAh",
    )


def notes_of(numbers: Sequence[TwinNumber]) -> str:
    """How much of a twin is guessed, in one sentence."""
    guessed = sum(one.estimated for one in numbers)
    return f"{guessed} of {len(numbers)} numbers of this twin are estimates." if guessed else ""
