"""The twin of a car, made from its build's own places; what only a label or a scale tells is an estimate.

Each number that goes in says whether the build says it or the tables guess it, and its band.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, replace

from snugfast.core.errors import NotKnown
from snugfast.core.figures import Figure
from snugfast.core.ways_out import Action, WayOut
from snugfast.facts.model import Build
from snugfast.physics.packs.chemistry import Chemistry
from snugfast.physics.powertrain import powertrain
from snugfast.physics.powertrain.driving_styles import Style
from snugfast.physics.powertrain.powertrain import Place
from snugfast.physics.powertrain.road import Air
from snugfast.physics.powertrain.runs import drive
from snugfast.physics.study.gearing import FanState, Pair, Question, final_drive
from snugfast.physics.study.knobs import Knob
from snugfast.usecases.mechanics.drive_ratios import diff_ratio
from snugfast.usecases.mechanics.gears_said import gear_of
from snugfast.usecases.shared.chemistry import chemistry_of
from snugfast.usecases.twin import tables
from snugfast.usecases.twin.build_read import FROM_KIND, SAID, BuildRead, TwinNumber
from snugfast.usecases.twin.controller import controller_of
from snugfast.usecases.twin.motor import motor_of
from snugfast.usecases.twin.pack_in_car import (
    PackChosen,
    cells_in_series,
    chemistry_in,
    pack_in,
    usable_share,
)
from snugfast.usecases.twin.tables import CarKind, banded, log_spread, origin_of, taken
from snugfast.usecases.twin.wheels import tyre_law, tyre_outside, wheel_inertia, wheel_kg

RATE_OVER_s = 60.0
DRIVEN_BY_ONE_AXLE = "direct"


@dataclass(frozen=True, slots=True)
class Twin:
    """A car as the sums drive it, with what is known of it.

    `spreads` are standard deviations of the logarithm of each knob (of the odds, for a share).
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
    notes: tuple[str, ...]

    def driven(self, style: Style, *, ground: str, air_degC: float) -> Question:
        """The car put to the sums in a style on a ground, its fan running where it has one.

        Its pack is as warm as the air, and gives what such a pack gives then, driven as fast as this.
        """
        question = self._on_label(style, ground=ground, air_degC=air_degC)
        label_Ah = self.car.pack.capacity_Ah
        for_a_while = drive([question.entry(self.car, stop_on_charge=False)], for_s=RATE_OVER_s)[0]
        per_hour = for_a_while.drawn_Ah / for_a_while.lasted_s * 3600.0 / label_Ah
        pack = replace(
            self.car.pack, capacity_Ah=label_Ah * usable_share(air_degC, self.pack.climbed, per_hour)
        )
        return replace(question, car=replace(self.car, pack=pack))

    def _on_label(self, style: Style, *, ground: str, air_degC: float) -> Question:
        return Question(
            car=self.car,
            place=Place(tables.ground(ground), Air.still(air_degC)),
            style=style,
            limits=tables.limits(chemistry_of(self.pack.chemistry) or Chemistry.LITHIUM_POLYMER),
            fan=FanState.RUNNING if self.has_fan else FanState.OFF,
        )


def twin_of(build: Build, pack: PackChosen, *, internal: float | None = None) -> Twin:
    """The twin of a build with a pack in it; `internal` goes before the ratio that the build says.

    Raises BadInput or NotKnown, naming the size that is missing and where to put it, and ImpossibleInput for
    numbers that cannot be.
    """
    read = BuildRead(build)
    kind = read.kind
    pinion, spur = gear_of(build, "pinion"), gear_of(build, "spur")
    pair = Pair(pinion.gear.teeth, spur.gear.teeth)
    internal_ratio = _internal_ratio(read, internal)
    tyre_m = tyre_outside(read)
    mass = _mass(read)
    wheel = wheel_kg(kind, tyre_m)
    read.note("a wheel with its tyre", wheel, FROM_KIND, True)
    cells = cells_in_series(read, pack)
    motor, motor_heat, spreads = motor_of(read, cells)
    bridge, bridge_heat, bridge_spreads = controller_of(read, cells, chemistry_in(pack.chemistry))
    cells_and_leads, pack_spread = pack_in(read, pack)
    drag = banded(kind.body, "drag_area", "m²", origin_of("bodies"), ending="_m2")
    gears = banded(kind.body, "gear", "1", origin_of("bodies"))
    read.note("drag area", drag, FROM_KIND, True)
    read.note("efficiency of the gears", gears, FROM_KIND, True)
    read.note(
        "how hard it is driven, beside the style", tables.effort(), "guessed: put-back charge tells it", True
    )
    car = powertrain.Car(
        mass_kg=mass.value,
        drag_area_m2=drag.value,
        driven_share=_driven_share(read),
        final_drive=final_drive(pair, internal_ratio),
        gear_efficiency=gears.value,
        wheel_inertia_kgm2=wheel_inertia(wheel.value, tyre_m),
        tyre=tyre_law(read, tyre_m),
        motor=motor,
        motor_heat=motor_heat,
        controller=bridge,
        controller_heat=bridge_heat,
        pack=cells_and_leads,
    )
    return Twin(
        car=car,
        pair=pair,
        module_m=pinion.gear.module_m,
        internal_ratio=internal_ratio,
        pinion_bore_m=read.metres("pinion", "bore_mm"),
        slot=_slot(read),
        tyre_m=tyre_m,
        kind=kind,
        pack=pack,
        plug_A=read.size("controller_plug", "current_A"),
        has_fan=build.traits.get("fan", "none") != "none",
        numbers=tuple(read.numbers),
        spreads={
            **spreads,
            **bridge_spreads,
            Knob.RPM_PER_VOLT: math.hypot(spreads[Knob.RPM_PER_VOLT], _volts_spread(pack)),
            Knob.MASS: log_spread(mass),
            Knob.PACK: pack_spread,
            Knob.GEAR_LOSS: log_spread(_loss(gears)),
            Knob.AIR_DRAG: log_spread(drag),
        },
        notes=tuple(read.notes),
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
        WayOut("Name a pack, or add one", Action.ADD_PACK),
    )


def _internal_ratio(read: BuildRead, said: float | None) -> float:
    said = said or read.size("spur", "internal_ratio")
    plain = not read.build.of_role("gearbox_gear") and not read.build.of_role("portal_gear")
    counted = diff_ratio(read.build) if plain and read.build.of_role("diff_gear") else None
    ratio = said or counted
    if ratio is None:
        raise NotKnown(
            "How often the spur gear turns for one turn of a wheel is not known.",
            WayOut(
                "Turn the wheels once (both sides together), count the turns of the spur gear, and give that "
                "number, or add internal_ratio to the spur's sizes",
                Action.GIVE_INTERNAL_RATIO,
            ),
        )
    read.note(
        "turns of the spur gear for one of a wheel",
        Figure(ratio, "1", origins=(SAID,)),
        "the build says it" if said else "counted from the teeth of the bevel gears",
        False,
    )
    return ratio


def _mass(read: BuildRead) -> Figure:
    said = read.size("chassis", "mass_kg")
    if said is not None:
        return read.said("mass ready to run", said, "kg")
    guess = banded(read.kind.cells, "mass", "kg", origin_of("car_kinds"), ending="_kg")
    read.note("mass ready to run", guess, "guessed from scale and kind; weigh it", True)
    return guess


def _volts_spread(pack: PackChosen) -> float:
    """How far off the rest volts of such cells may be; to a motor that is the same as other rpm per volt."""
    volts = tables.cell_kind(chemistry_in(pack.chemistry)).volts
    return 0.0 if volts is None else log_spread(volts)


def _loss(efficiency: Figure) -> Figure:
    assert efficiency.low is not None and efficiency.high is not None
    return replace(
        efficiency, value=1.0 - efficiency.value, low=1.0 - efficiency.high, high=1.0 - efficiency.low
    )


def _driven_share(read: BuildRead) -> float:
    which = "two" if read.build.traits.get("drive_line") == DRIVEN_BY_ONE_AXLE else "four"
    figure = taken("driven_share", which, "1")
    read.note("share of the weight on driven wheels", figure, f"{which} driven wheels", which == "two")
    return figure.value


def _slot(read: BuildRead) -> Figure:
    said = read.size("motor_mount", "slot_mm")
    if said is not None:
        return Figure(said * 1e-3, "m", origins=(SAID,))
    guess = taken("mount", "slot_mm", "m")
    assert guess.low is not None and guess.high is not None
    return replace(guess, value=guess.value * 1e-3, low=guess.low * 1e-3, high=guess.high * 1e-3)
