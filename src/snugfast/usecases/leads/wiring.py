"""What wires and connectors of a car lose, how hot they get in a run, and what thicker ones would buy.

Currents are the car model's, second by second. Each wire is followed through the run; each connector is
taken at the run's root mean square. The same car is then driven again with thicker wire and better
connectors, so that what they buy is said in km/h and degrees, and not in promises.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from snugfast.core.errors import BadInput, NotKnown
from snugfast.core.figures import Figure, Origin
from snugfast.core.units import Kind, read_quantity
from snugfast.core.ways_out import Action, WayOut
from snugfast.facts.model import Build
from snugfast.physics.leads.contacts import contact_heat
from snugfast.physics.leads.wires import (
    Wire,
    current_for_rise,
    followed,
    gauge_area,
    ohm_per_metre,
    pulse_rate,
    steady_rise,
    thermal_resistance,
    warm_ratio,
    warmed,
    wire_capacity,
)
from snugfast.physics.powertrain.powertrain import Car
from snugfast.physics.powertrain.runs import Driving, Run, Traced
from snugfast.physics.study.gearing import SPRINT_s, sprint, top_speed
from snugfast.usecases.gearing.said import Asked, GearingSaid, read_question
from snugfast.usecases.leads.tables import electrics, high_of, low_of, size_of
from snugfast.usecases.leads.wire_words import (
    area_in_words,
    connector_known,
    outside_mm,
    pole_ohm,
    read_connector,
    read_wire,
    wire_name,
    wiring_band,
)
from snugfast.usecases.mechanics.bench_estimates import SAID
from snugfast.usecases.mechanics.tables import Cells, text, the_number
from snugfast.usecases.shared.cautions import Caution, cautioned, cautions_of
from snugfast.usecases.shared.citing import Cited, cited, rests_on
from snugfast.usecases.shared.guides import Guide, guide
from snugfast.usecases.shared.workshop import Workshop
from snugfast.usecases.twin.how_to_run import HowToRun
from snugfast.usecases.twin.pack_in_car import leads_ohm

MODEL = Origin("twin-estimates", "currents of the model of this car")
EVERY_s = 0.5
LONGEST_min = 10.0  # a wire has settled by then
TWO_OF_THREE = math.sqrt(2.0 / 3.0)  # each of three motor wires carries two thirds of the time
HOLD_s = 10.0
GONE_degC = 200.0
NOTICED = 0.01  # of the speed: less nobody notices
SCALES = {
    "1/8": "1/8",
    "1/7": "1/8",
    "1/6": "1/8",
    "1/5": "1/5",
    "1/16": "1/18",
    "1/18": "1/18",
    "1/24": "1/18",
}
CAUTIONS = ("power-off", "hot-parts", "local-rules")
LAWS = rests_on(
    gauge_area,
    ohm_per_metre,
    warm_ratio,
    thermal_resistance,
    wire_capacity,
    steady_rise,
    warmed,
    contact_heat,
    pulse_rate,
    current_for_rise,
)


@dataclass(frozen=True, slots=True)
class WiringSaid:
    """What is known better than the build, and how it is driven, as typed; empty means not said."""

    car: str
    wire: str = ""  # 12AWG, 3.3 mm2
    length: str = ""  # of one battery wire, cell tab to ESC: 30 cm
    motor_length: str = ""  # of one motor wire
    plug: str = ""  # two flat blades
    plug_ohm: str = ""  # measured, one pole: 0.7 mohm
    to_wire: str = ""
    to_plug: str = ""
    style: str = ""
    ground: str = ""
    ambient: str = ""
    pack: str = ""


@dataclass(frozen=True, slots=True)
class PathPart:
    """One part that the current goes through: what it loses and how warm it gets. `claimed_A` 0: not said."""

    key: str
    name: str
    what: str
    resistance: Figure  # of the path, there and back
    rms: Figure
    lost: Figure  # volts at the run's largest current
    heat: Figure  # watts over the run, all of the part
    hottest: Figure  # °C in the run
    claimed_A: float
    verdict: str
    pulse: str = ""


@dataclass(frozen=True, slots=True)
class Upgrade:
    """What other wire or connectors would buy."""

    name: str
    saved: Figure  # ohms
    saved_V: Figure
    saved_W: Figure
    hottest: Figure
    hottest_before: Figure
    top_speed_km_h: float
    faster_km_h: float
    sooner_s: float
    sentence: str


@dataclass(frozen=True, slots=True)
class Wiring:
    """Wires and connectors of one car in one way of driving."""

    car: str
    style: str
    ground: str
    air_degC: float
    minutes: float
    sentence: str
    parts: tuple[PathPart, ...]
    total: Figure
    lost: Figure
    heat: Figure
    top_speed_km_h: float
    goal_km_h: float
    upgrades: tuple[Upgrade, ...]
    notes: tuple[str, ...]
    guides: tuple[Guide, ...]
    cautions: tuple[Caution, ...]
    limit: Figure  # what solder joints stand, °C
    sources: tuple[Cited, ...]


@dataclass(frozen=True, slots=True)
class _Path:
    """What the current goes through today, or with other parts. Lengths are of one wire, in metres."""

    pack_mm2: float
    motor_mm2: float
    pack_m: Figure
    motor_m: Figure
    plug: Cells
    plug_pole: Figure
    motor_plug: Cells | None


@dataclass(frozen=True, slots=True)
class _Driven:
    """The currents of a run, second by second."""

    pack_A: NDArray[np.float64]
    motor_A: NDArray[np.float64]
    pack_rms_A: float
    motor_rms_A: float
    top_pack_A: float
    top_motor_A: float
    minutes: float
    air_degC: float


@cautioned
def wiring_of(workshop: Workshop, said: WiringSaid, how: HowToRun | None = None) -> Wiring:
    """What the wires and connectors of a car lose and how hot they get, and what better ones would buy.

    Raises BadInput for what cannot be read, NotKnown where the build names no connector or wire.
    """
    how = how or HowToRun()
    question = GearingSaid(
        said.car, style=said.style, ground=said.ground, ambient=said.ambient, pack=said.pack
    )
    asked = read_question(workshop, question)
    path = _path(asked.build, said)
    others = _others(path, said)
    driven, sprints, goal_m_s = _drive(asked, path, others, how)
    parts = _parts(asked.build, path, driven)
    upgrades = tuple(
        _upgrade(name, asked.build, path, other, driven, sprints[0], run)
        for (name, other), run in zip(others, sprints[1:], strict=True)
    )
    facts = workshop.facts
    total = _sum([part.resistance for part in parts], "Ω")
    lost = _sum([part.lost for part in parts], "V")
    heat = _sum([part.heat for part in parts], "W")
    found = Wiring(
        car=asked.car.name,
        style=asked.question.style.name,
        ground=asked.ground.replace("_", " "),
        air_degC=driven.air_degC,
        minutes=driven.minutes,
        sentence=_sentence(parts, lost, heat, driven),
        parts=parts,
        total=total,
        lost=lost,
        heat=heat,
        top_speed_km_h=sprints[0].top_speed_m_s * 3.6,
        goal_km_h=goal_m_s * 3.6,
        upgrades=upgrades,
        notes=_notes(path, said),
        guides=tuple(guide(facts, "electrics", key) for key in ("plug_warmth", "plug_trend")),
        cautions=cautions_of(facts, CAUTIONS),
        limit=wiring_band("solder softens", "°C"),
        sources=(),
    )
    return replace(found, sources=cited(facts, (found, path)))


# What the current goes through.


def _path(build: Build, said: WiringSaid) -> _Path:
    wires = build.of_role("power_lead")
    of_build = size_of(build, "power_lead", "area_mm2")
    words = next((area for place in wires if (area := area_in_words(place.part)) is not None), None)
    area = read_wire(said.wire, "wire") if said.wire else of_build[1] if of_build else words
    if area is None:
        raise NotKnown(
            "The build does not say how thick the power wires are.",
            "Read it off the wire and give it: 12AWG or 3.3 mm2.",
        )
    plug = _plug(build, said.plug)
    pole = pole_ohm(plug)
    if said.plug_ohm:
        measured = read_quantity(said.plug_ohm, Kind.RESISTANCE, default_unit="mohm", where="plug resistance")
        if not 1e-5 <= measured <= 0.1:
            raise BadInput(
                f"A connector of {said.plug_ohm.strip()} a pole is none.",
                "Millivolts across one pole over the current in amperes: 14 mV at 20 A is 0.7 mΩ.",
            )
        pole = Figure(measured, "Ω", low=0.9 * measured, high=1.1 * measured, origins=(SAID,))
    scale = SCALES.get(build.scale, "1/10")
    motor_plug = next(
        (
            known
            for place in build.of_role("motor_plug")
            if (known := connector_known(str(place.sizes.get("plug", "")))) is not None
        ),
        None,
    )
    return _Path(
        pack_mm2=area,
        motor_mm2=area,
        pack_m=_length(said.length, f"pack wires {scale}", "length"),
        motor_m=_length(said.motor_length, f"motor wires {scale}", "motor length"),
        plug=plug,
        plug_pole=pole,
        motor_plug=motor_plug,
    )


def _plug(build: Build, words: str) -> Cells:
    if words:
        return read_connector(words)
    for role in ("controller_plug", "pack_plug"):
        for place in build.of_role(role):
            if (known := connector_known(str(place.sizes.get("plug", "")))) is not None:
                return known
    raise NotKnown(
        "The build does not say which battery connector the car has.",
        WayOut("Say its shape, such as “two flat blades”, or add it to the build.", Action.CHANGE_BUILD),
    )


def _length(words: str, key: str, where: str) -> Figure:
    if not words.strip():
        return wiring_band(key, "m")
    length_m = read_quantity(words, Kind.LENGTH, default_unit="cm", where=where)
    if not 0.01 <= length_m <= 3.0:
        raise BadInput(f"{where}: a wire of {words.strip()} is none of a car's.", "Write it like 30 cm.")
    return Figure(length_m, "m", origins=(SAID,))


def _wire_ohm(area_mm2: float, length_m: Figure, wires: int) -> Figure:
    strands = wiring_band("strands", "1")
    low, usual, high = (
        wires * end * ohm_per_metre(area_m2=area_mm2 * 1e-6, strands=more)
        for end, more in (
            (low_of(length_m), low_of(strands)),
            (length_m.value, strands.value),
            (high_of(length_m), high_of(strands)),
        )
    )
    return Figure(usual, "Ω", low=low, high=high, origins=(*length_m.origins, *strands.origins))


def _body(area_mm2: float) -> Wire:
    outer_m = outside_mm(area_mm2) * 1e-3
    value = {
        key: wiring_band(key, "1").value
        for key in ("cover conducts", "surface", "cover density", "cover heat", "strands")
    }
    return Wire(
        ohm_per_metre(area_m2=area_mm2 * 1e-6, strands=value["strands"]),
        thermal_resistance(
            area_m2=area_mm2 * 1e-6,
            outer_m=outer_m,
            cover_W_mK=value["cover conducts"],
            surface_W_m2K=value["surface"],
        ),
        wire_capacity(
            area_m2=area_mm2 * 1e-6,
            outer_m=outer_m,
            cover_kg_m3=value["cover density"],
            cover_J_kgK=value["cover heat"],
        ),
    )


def _pack_side(path: _Path) -> float:
    """Ohms between cells and ESC."""
    return _wire_ohm(path.pack_mm2, path.pack_m, 2).value + 2.0 * path.plug_pole.value


def _motor_side(path: _Path) -> float:
    """Ohms between ESC and motor, two wires of the path."""
    plugs = 0.0 if path.motor_plug is None else 2.0 * pole_ohm(path.motor_plug).value
    return _wire_ohm(path.motor_mm2, path.motor_m, 2).value + plugs


# Driving.


def _others(path: _Path, said: WiringSaid) -> list[tuple[str, _Path]]:
    """What to try instead: what was said, else the next thicker wire, the next better connector, and both."""
    thicker = [
        the_number(row, "area_mm2")
        for row in electrics("wires").rows
        if the_number(row, "area_mm2") > 1.2 * path.pack_mm2
    ]
    area = read_wire(said.to_wire, "wire instead") if said.to_wire else next(iter(thicker), None)
    better = [
        row
        for row in electrics("connectors").rows
        if the_number(row, "poles") == 2.0
        and the_number(row, "usual_mohm") * 1e-3 < 0.8 * path.plug_pole.value
    ]
    if said.to_plug:
        plug: Cells | None = read_connector(said.to_plug)
    else:
        plug = max(better, key=lambda row: the_number(row, "usual_mohm"), default=None)
        if plug is None and said.plug_ohm:
            plug = path.plug  # a new one of the same
    found: list[tuple[str, _Path]] = []
    if area is not None:
        found.append((f"wire of {wire_name(area)}", replace(path, pack_mm2=area, motor_mm2=area)))
    if plug is not None:
        same = "a new pair of " if plug is path.plug else ""
        other = replace(path, plug=plug, plug_pole=pole_ohm(plug))
        found.append((f"connectors: {same}{text(plug, 'key')}", other))
    if area is not None and plug is not None:
        found.append(("both", replace(found[1][1], pack_mm2=area, motor_mm2=area)))
    return found


def _with(car: Car, now: _Path, other: _Path) -> Car:
    """The car with other wires and connectors: only what changes is changed."""
    pack_ohm = car.pack.resistance_ohm + _pack_side(other) - _pack_side(now)
    motor_ohm = car.motor.resistance_ohm + _motor_side(other) - _motor_side(now)
    least = 0.2
    return replace(
        car,
        pack=replace(car.pack, resistance_ohm=max(pack_ohm, least * car.pack.resistance_ohm)),
        motor=replace(car.motor, resistance_ohm=max(motor_ohm, least * car.motor.resistance_ohm)),
    )


def _today(car: Car, path: _Path) -> Car:
    """The car with what its build says of wires and connectors in place of the usual guess of both."""
    pack_ohm = car.pack.resistance_ohm + _pack_side(path) - leads_ohm().value
    return replace(car, pack=replace(car.pack, resistance_ohm=max(pack_ohm, 0.2 * car.pack.resistance_ohm)))


def _drive(
    asked: Asked, path: _Path, others: Sequence[tuple[str, _Path]], how: HowToRun
) -> tuple[_Driven, list[Run], float]:
    """The style as the car is, with its currents, and a sprint of it and of each other."""
    today = _today(asked.question.car, path)
    question = replace(asked.question, car=today)
    goal_m_s = question.goal_m_s or _round_down(top_speed(question, today))
    minutes = min(question.style.minutes, LONGEST_min)
    cars = [today, *(_with(today, path, other) for _, other in others)]
    with Driving(executor=how.executor, progress=how.progress, should_stop=how.should_stop) as driving:
        sprints = driving.begin([sprint(question, car, goal_m_s=goal_m_s) for car in cars], for_s=SPRINT_s)
        ran = driving.begin([question.entry(today)], for_s=minutes * 60.0, trace_every_s=EVERY_s)
        run, sprinted = ran.runs[0], sprints.runs
    trace = run.trace
    driven = _Driven(
        pack_A=_as_warm(trace[:, Traced.PACK_A], run.rms_pack_A),
        motor_A=_as_warm(trace[:, Traced.MOTOR_A], run.rms_motor_A),
        pack_rms_A=run.rms_pack_A,
        motor_rms_A=run.rms_motor_A,
        top_pack_A=max(run.top_pack_A, sprinted[0].top_pack_A),
        top_motor_A=max(run.top_motor_A, sprinted[0].top_motor_A),
        minutes=run.lasted_s / 60.0,
        air_degC=question.place.air.temperature_degC,
    )
    return driven, sprinted, goal_m_s


def _as_warm(sampled_A: NDArray[np.float64], rms_A: float) -> NDArray[np.float64]:
    """Currents read now and then, stretched so that they warm a wire as all of them do."""
    sampled = math.sqrt(float(np.mean(sampled_A**2))) if sampled_A.size else 0.0
    return np.abs(sampled_A) * (rms_A / sampled if sampled > 0.0 else 1.0)


def _round_down(top_m_s: float) -> float:
    """A round speed in km/h that the car reaches well before its top, as m/s."""
    step = 5.0 if top_m_s * 3.6 > 20.0 else 1.0
    return max(math.floor(0.85 * top_m_s * 3.6 / step) * step, 1.0) / 3.6


# What it comes to.


def _parts(build: Build, path: _Path, driven: _Driven) -> tuple[PathPart, ...]:
    three = not build.traits.get("motor", "").startswith("brushed")
    share = TWO_OF_THREE if three else 1.0
    battery = _wire_part(
        "pack_wires",
        "Battery wires",
        path.pack_mm2,
        path.pack_m,
        driven,
        driven.pack_A,
        driven.pack_rms_A,
        driven.top_pack_A,
        1.0,
        2,
    )
    of_build = size_of(build, "controller_plug", "current_A") if path.plug_pole.origins != (SAID,) else None
    claimed_A = of_build[1] if of_build else the_number(path.plug, "claimed_A")
    connector = _plug_part(
        "pack_plug",
        "Battery connector",
        path.plug,
        path.plug_pole,
        2,
        driven.pack_rms_A,
        driven.top_pack_A,
        1.0,
        claimed_A,
        driven.air_degC,
    )
    motor = _wire_part(
        "motor_wires",
        "Motor wires",
        path.motor_mm2,
        path.motor_m,
        driven,
        driven.motor_A * share,
        driven.motor_rms_A,
        driven.top_motor_A,
        share,
        3 if three else 2,
    )
    if path.motor_plug is None:
        return battery, connector, motor
    bullets = _plug_part(
        "motor_plugs",
        "Motor connectors",
        path.motor_plug,
        pole_ohm(path.motor_plug),
        3 if three else 2,
        driven.motor_rms_A,
        driven.top_motor_A,
        share,
        the_number(path.motor_plug, "claimed_A"),
        driven.air_degC,
    )
    return battery, connector, motor, bullets


def _wire_part(
    key: str,
    name: str,
    area_mm2: float,
    length_m: Figure,
    driven: _Driven,
    currents_A: NDArray[np.float64],
    rms_A: float,
    top_A: float,
    share: float,
    wires: int,
) -> PathPart:
    """Wires of the path; each carries `share` of the current's root mean square."""
    body, air = _body(area_mm2), driven.air_degC
    hottest = max(followed(body, currents_A, every_s=EVERY_s, air_degC=air), default=air)
    ohm = _wire_ohm(area_mm2, length_m, 2)
    each = _wire_ohm(area_mm2, length_m, 1)
    band = wiring_band("temperature", "1")
    temperature = _degC(hottest - air, low_of(band), high_of(band), air, band.origins)
    after = warmed(body, from_degC=air, current_A=top_A * share, air_degC=air, seconds=HOLD_s)
    steady_A = current_for_rise(body, rise_K=40.0, air_degC=air)
    what = f"{wire_name(area_mm2)}, {length_m.value * 100:.0f} cm each"
    return PathPart(
        key=key,
        name=name,
        what=what,
        resistance=ohm,
        rms=Figure(rms_A * share, "A", origins=(MODEL,)),
        lost=_times(ohm, top_A, "V"),
        heat=_times(each, wires * (rms_A * share) ** 2, "W"),
        hottest=temperature,
        claimed_A=0.0,
        verdict=_verdict(temperature, 0.0, rms_A * share),
        pulse=(
            f"{HOLD_s:.0f} s at its top {top_A * share:.0f} A: {after - air:.0f} K warmer. "
            f"All day: about {steady_A:.0f} A for 40 K."
        ),
    )


def _plug_part(
    key: str,
    name: str,
    cells: Cells,
    pole: Figure,
    poles: int,
    rms_A: float,
    top_A: float,
    share: float,
    claimed_A: float,
    air_degC: float,
) -> PathPart:
    each_A = rms_A * share
    band = wiring_band("temperature", "1")
    cooling = the_number(cells, "pole_K_W")
    rises = [
        contact_heat(ohm=ohm, rms_A=each_A) * cooling * factor
        for ohm, factor in (
            (low_of(pole), low_of(band)),
            (pole.value, 1.0),
            (high_of(pole), high_of(band)),
        )
    ]
    hottest = Figure(
        air_degC + rises[1],
        "°C",
        low=air_degC + rises[0],
        high=air_degC + rises[2],
        origins=(*pole.origins, *band.origins, *LAWS),
    )
    return PathPart(
        key=key,
        name=name,
        what=text(cells, "key"),
        resistance=_times(pole, 2.0, "Ω"),
        rms=Figure(each_A, "A", origins=(MODEL,)),
        lost=_times(pole, 2.0 * top_A, "V"),
        heat=_times(pole, poles * each_A**2, "W"),
        hottest=hottest,
        claimed_A=claimed_A,
        verdict=_verdict(hottest, claimed_A, each_A),
        pulse=f"Worn to 1 mΩ a pole it would run at {air_degC + 1e-3 * each_A**2 * cooling:.0f} °C."
        if high_of(pole) < 1e-3
        else "",
    )


def _degC(rise_K: float, low: float, high: float, air: float, origins: tuple[Origin, ...]) -> Figure:
    return Figure(
        air + rise_K, "°C", low=air + low * rise_K, high=air + high * rise_K, origins=(*origins, *LAWS, MODEL)
    )


def _verdict(hottest: Figure, claimed_A: float, rms_A: float) -> str:
    solder, hold = wiring_band("solder softens", "°C"), wiring_band("too hot to hold", "°C")
    if hottest.value >= GONE_degC:
        return "far too small: the insulation would go"
    if hottest.value > solder.value:
        return "too hot for its solder joints: size up, or drive it easier"
    if claimed_A and rms_A > claimed_A:
        return f"carries more than the {claimed_A:.0f} A it is sold for: size up"
    if high_of(hottest) > solder.value:
        return "may get too hot for its solder joints: measure it after a run"
    if hottest.value > hold.value:
        return "hot to the touch, and that is all it stands"
    return "fine"


def _upgrade(
    name: str, build: Build, now: _Path, other: _Path, driven: _Driven, today: Run, run: Run
) -> Upgrade:
    before, after = (_parts(build, path, driven) for path in (now, other))
    saved_ohm, saved_V, saved_W = (
        sum(pick(old) - pick(new) for old, new in zip(before, after, strict=True))
        for pick in (_ohm_of, _volts_of, _watts_of)
    )
    hot_before = max((part.hottest for part in before), key=lambda figure: figure.value)
    hot_after = max((part.hottest for part in after), key=lambda figure: figure.value)
    faster = (run.top_speed_m_s - today.top_speed_m_s) * 3.6
    sooner = today.goal_s - run.goal_s if math.isfinite(today.goal_s) else 0.0
    noticed = today.top_speed_m_s > 0.0 and faster / 3.6 >= NOTICED * today.top_speed_m_s
    buys = f"{faster:.1f} km/h" if noticed else "no speed you would notice"
    return Upgrade(
        name=name,
        saved=Figure(saved_ohm, "Ω"),
        saved_V=Figure(saved_V, "V"),
        saved_W=Figure(saved_W, "W"),
        hottest=hot_after,
        hottest_before=hot_before,
        top_speed_km_h=run.top_speed_m_s * 3.6,
        faster_km_h=faster,
        sooner_s=sooner,
        sentence=(
            f"{buys}; {saved_V:.2f} V more at full current, {saved_W:.1f} W less heat; hottest about "
            f"{hot_after.value:.0f} °C, was {hot_before.value:.0f} °C"
        ),
    )


def _ohm_of(part: PathPart) -> float:
    return part.resistance.value


def _volts_of(part: PathPart) -> float:
    return part.lost.value


def _watts_of(part: PathPart) -> float:
    return part.heat.value


def _sentence(parts: Sequence[PathPart], lost: Figure, heat: Figure, driven: _Driven) -> str:
    hottest = max(parts, key=lambda part: part.hottest.value)
    watts = f"about {heat.value:.0f} W" if heat.value >= 1.0 else "less than 1 W"
    full = f"full current ({driven.top_pack_A:.0f} A from the battery)"
    return (
        f"Wires and connectors lose about {lost.value:.2f} V at {full} "
        f"and turn {watts} into heat over the run. "
        f"Hottest: {hottest.name.lower()}, about {hottest.hottest.value:.0f} °C "
        f"({low_of(hottest.hottest):.0f} to {high_of(hottest.hottest):.0f})."
    )


def _notes(path: _Path, said: WiringSaid) -> tuple[str, ...]:
    notes = []
    if not said.length:
        notes.append(
            f"The battery wires are taken to be {path.pack_m.value * 100:.0f} cm each, cell tab to ESC; "
            "measure yours and give it."
        )
    if not said.plug_ohm:
        notes.append(
            "What a connector resists is practice, for new ones; nobody published it. Measure yours."
        )
    notes.append(
        "Don’t lengthen battery wires: long ones stress the ESC’s capacitors. Lengthen the motor wires."
    )
    return tuple(notes)


def _times(figure: Figure, factor: float, unit: str) -> Figure:
    return Figure(
        figure.value * factor,
        unit,
        low=low_of(figure) * factor,
        high=high_of(figure) * factor,
        origins=figure.origins,
    )


def _sum(figures: Sequence[Figure], unit: str) -> Figure:
    origins = dict.fromkeys(origin for figure in figures for origin in figure.origins)
    return Figure(
        sum(figure.value for figure in figures),
        unit,
        low=sum(low_of(figure) for figure in figures),
        high=sum(high_of(figure) for figure in figures),
        origins=tuple(origins),
    )
