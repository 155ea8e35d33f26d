"""What a set-up means in numbers: bounce, sag, damping and oil on a cold day, bars, shafts, diff oil.

Taken from the record, then the build, then our estimates; a change can be tried before it is made.
"""

from __future__ import annotations

import math
import re
from collections.abc import Mapping
from dataclasses import dataclass, replace

from snugfast.core.errors import BadInput
from snugfast.core.figures import Figure, Origin
from snugfast.core.units import ZERO_CELSIUS_K, Kind, read_number, read_quantity
from snugfast.facts.model import Build
from snugfast.physics.chassis.steering import shaft_bend
from snugfast.physics.chassis.suspension import (
    bar_end_rate,
    damping_ratio,
    displaced_area,
    gap_conductance,
    hole_conductance,
    joint_ripple,
    overshoot,
    ride_frequency,
    sag,
    shaft_at_height,
    share_for,
    shock_damping,
    silicone_viscosity,
    wheel_rate,
)
from snugfast.usecases.chassis.setup_items import BY_KEY, key_of, read_change, read_value, told
from snugfast.usecases.chassis.setup_record import SetUp, set_up_now
from snugfast.usecases.mechanics.bench_estimates import SAID, mass_of
from snugfast.usecases.shared.cautions import Caution, cautioned, cautions_of
from snugfast.usecases.shared.citing import Cited, cited, figure, rests_on
from snugfast.usecases.shared.lookup import car_and_build
from snugfast.usecases.shared.workshop import Workshop

mm, cSt = 1e-3, 1e-6
AXLES = ("front", "rear")
CAUTIONS = ("power-off", "silicone-oil", "local-rules")
RATIO = Figure(
    0.62, "1", 0.52, 0.72, (Origin("elicited-chassis", "motion ratio 0.62 (0.52 to 0.72) of an arm"),)
)
SPRUNG = 0.85  # of a corner's weight, our own
SPRUNG_SHARE = Origin("elicited-chassis", "85 % of a corner’s weight is sprung, half the car on each axle")
RIM_GAP_m, PLATE_m, DENSITY_kg_m3 = 0.04 * mm, 2.0 * mm, 965.0
PISTON = Origin("elicited-chassis", "piston 2 mm thick, 0.04 mm clear of the bore, oil of 965 kg/m³")
USUAL_DAMPING = (0.5, 0.8)
JOINTS = {  # degrees before the joint binds or drops out, from memory
    "universal": (35.0, 45.0),
    "double joint": (45.0, 50.0),
    "plastic slider": (30.0, 40.0),
}
OF_MEMORY = Origin("joint-limits", "how far such a joint bends")


@dataclass(frozen=True, slots=True)
class SumsSaid:
    """What is asked, as typed; empty means not said."""

    car: str
    change: str = ""  # tried before it is made: “spring front 0.65; shock oil rear 300”
    air: str = ""
    bar_length: str = ""
    bar_arm: str = ""
    drop: str = ""  # how far the outer end of a driveshaft hangs below the inner one, arm fully dropped
    steer: str = ""  # how far the inner front wheel steers
    mix: str = ""  # “300 + 500 = 400”


@dataclass(frozen=True, slots=True)
class AxleSums:
    """One end of the car. What could not be worked out is named in `missing`."""

    axle: str
    wheel_rate: Figure | None
    frequency: Figure | None
    sag: Figure | None
    damping: Figure | None  # at 25 °C
    damping_now: Figure | None  # at the air's temperature
    feels_like: Figure | None  # the oil that would feel so at 25 °C
    bar: Figure | None
    sentences: tuple[str, ...]
    missing: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class SuspensionSums:
    """Both ends as they stand, and as they would be after the change that is tried."""

    car: str
    air_degC: float | None
    now: tuple[AxleSums, ...]
    tried: tuple[AxleSums, ...]
    compared: tuple[str, ...]
    shafts: tuple[str, ...]
    diffs: tuple[str, ...]
    mix: str
    limits: tuple[str, ...]
    cautions: tuple[Caution, ...]
    figures: tuple[Figure, ...] = ()
    sources: tuple[Cited, ...] = ()


LIMITS = (
    (
        "A corner on its own, small movements, joints without friction. Tyres and inserts spring too, and "
        "are "
        "left out."
    ),
    (
        "Damping is at slow shaft speed. On landings oil is hurled through the holes and a shock is two "
        "or three "
        "times as stiff; small holes with thin oil far more than large holes with thick oil."
    ),
    "Compare before and after with these numbers. Which number is right the track says.",
)


@cautioned
def suspension_sums(workshop: Workshop, said: SumsSaid) -> SuspensionSums:
    """What the set-up means, and what a change would do.

    Raises BadInput or NotKnown for what is no change, no length or no temperature.
    """
    car, build = car_and_build(workshop, said.car)
    held = set_up_now(workshop, car.name)
    values = _values(held)
    air_degC = _air(said.air)
    now = tuple(_axle(axle, values, build, air_degC, said) for axle in AXLES)
    tried: tuple[AxleSums, ...] = ()
    if said.change.strip():
        changed = dict(values)
        for one in filter(None, (part.strip() for part in said.change.replace("\n", ";").split(";"))):
            changed.update(read_change(one, build))
        tried = tuple(_axle(axle, changed, build, air_degC, said) for axle in AXLES)
    shafts, shaft_figures = _shafts(build, said)
    diffs, diff_figures = _diffs(values, air_degC)
    sums = SuspensionSums(
        car=car.name,
        air_degC=air_degC,
        now=now,
        tried=tried,
        compared=tuple(_compared(now, tried)),
        shafts=shafts,
        diffs=diffs,
        mix=read_mix(said.mix),
        limits=LIMITS,
        cautions=cautions_of(workshop.facts, CAUTIONS),
        figures=(*shaft_figures, *diff_figures),
    )
    return replace(sums, sources=cited(workshop.facts, sums))


def _values(held: SetUp) -> dict[str, float | str]:
    return {
        key_of(row.item, place): cell.value
        for row in held.rows
        for place, cell in zip(row.places, row.cells, strict=True)
        if cell.value is not None
    }


def _air(text: str) -> float | None:
    if not text.strip():
        return None
    degC = read_quantity(text, Kind.TEMPERATURE, default_unit="°C", where="air") - ZERO_CELSIUS_K
    if not -30.0 <= degC <= 60.0:
        raise BadInput(f"{degC:g} °C is no weather to drive in.", "Give the air like 14 °C.")
    return degC


def _of(values: Mapping[str, float | str], key: str, axle: str) -> float | None:
    """The mean of left and right, where both are numbers."""
    found = [values.get(f"{key}/{axle} {side}") for side in ("left", "right")]
    numbers = [one for one in found if isinstance(one, int | float)]
    return sum(numbers) / len(numbers) if numbers else None


def _axle(
    axle: str, values: Mapping[str, float | str], build: Build, air_degC: float | None, said: SumsSaid
) -> AxleSums:
    missing, sentences = [], []
    spring = _of(values, "spring", axle)
    ratio = _ratio(values, axle)
    mass = _sprung(values, axle, build)
    rate = frequency = sank = None
    if spring is None:
        missing.append("spring rate in N/mm")
    else:
        rate = _through(ratio, "N/mm", lambda one: wheel_rate(spring_N_m=spring * 1e3, ratio=one) / 1e3)
        rate = replace(rate, origins=(*rests_on(wheel_rate), *ratio.origins))
        frequency = _through(
            ratio,
            "Hz",
            lambda one: ride_frequency(
                wheel_rate_N_m=wheel_rate(spring_N_m=spring * 1e3, ratio=one), mass_kg=mass.value
            ),
        )
        frequency = replace(frequency, origins=(*rests_on(ride_frequency), *ratio.origins, *mass.origins))
        sank = _through(
            ratio,
            "m",
            lambda one: sag(load_N=mass.value * 9.81, spring_N_m=spring * 1e3, ratio=one),
        )
        sank = replace(sank, origins=(*rests_on(sag), *ratio.origins, *mass.origins))
        sentences.append(
            f"Without preload it would sink {sank.value / mm:.0f} mm. A millimetre of collar lifts the car "
            "by "
            f"{1.0 / ratio.value:.1f} mm and changes no rate."
        )
    damping, damping_now, feels = _damped(
        axle, values, build, spring, ratio, mass, air_degC, missing, sentences
    )
    bar = _bar(axle, values, said, missing)
    return AxleSums(
        axle, rate, frequency, sank, damping, damping_now, feels, bar, tuple(sentences), tuple(missing)
    )


def _ratio(values: Mapping[str, float | str], axle: str) -> Figure:
    value = values.get(f"motion ratio/{axle}")
    return Figure(float(value), "1", origins=(SAID,)) if isinstance(value, int | float) else RATIO


def _sprung(values: Mapping[str, float | str], axle: str, build: Build) -> Figure:
    weighed = _of(values, "corner weight", axle)
    if weighed is not None:
        return Figure(weighed * 1e-3 * SPRUNG, "kg", origins=(SAID, SPRUNG_SHARE))
    car = mass_of(build, "")
    return Figure(car.value / 4.0 * SPRUNG, "kg", origins=(*car.origins, SPRUNG_SHARE))


def _through(ratio: Figure, unit: str, of: object) -> Figure:
    """A figure that rests on the motion ratio, with the band the ratio gives it."""
    assert callable(of)
    middle = float(of(ratio.value))
    if ratio.low is None or ratio.high is None:
        return Figure(middle, unit)
    return Figure(middle, unit).with_band(float(of(ratio.low)), float(of(ratio.high)))


def _damped(
    axle: str,
    values: Mapping[str, float | str],
    build: Build,
    spring: float | None,
    ratio: Figure,
    mass: Figure,
    air_degC: float | None,
    missing: list[str],
    sentences: list[str],
) -> tuple[Figure | None, Figure | None, Figure | None]:
    oil = _of(values, "shock oil", axle)
    if oil is None:
        if build.traits.get("shocks") == "oil":
            missing.append("shock oil in cSt")
        return None, None, None
    feels = None
    if air_degC is not None:
        now = figure(
            silicone_viscosity, "m²/s", at_25_m2_s=oil * cSt, temperature_K=air_degC + ZERO_CELSIUS_K
        )
        feels = replace(now, value=now.value / cSt, unit="cSt")
        sentences.append(
            f"At {air_degC:g} °C your {oil:.0f} cSt feels like {_round(feels.value)} cSt does at 25 °C. "
            "For the same feel "
            f"fit about {_round(oil * oil / feels.value)} cSt."
        )
    holes = _piston(values, axle)
    bore = _bore(build, axle)
    if holes is None:
        missing.append("piston, as 2 × 1.7 mm")
    if bore is None:
        missing.append("bore and shaft of the shock in the build")
    if holes is None or bore is None or spring is None:
        return None, None, feels
    origins = (*rests_on(damping_ratio, shock_damping, hole_conductance, gap_conductance), PISTON)

    def zeta(viscosity_cSt: float, of_ratio: float) -> float:
        assert holes is not None and bore is not None and spring is not None
        mu = viscosity_cSt * cSt * DENSITY_kg_m3
        c = shock_damping(
            area_m2=displaced_area(bore_m=bore[0], rod_m=bore[1]),
            holes_m3_Pa_s=hole_conductance(
                holes=holes[0], hole_m=holes[1], plate_m=PLATE_m, viscosity_Pa_s=mu
            ),
            gap_m3_Pa_s=gap_conductance(bore_m=bore[0], gap_m=RIM_GAP_m, plate_m=PLATE_m, viscosity_Pa_s=mu),
        )
        return damping_ratio(
            shock_N_s_m=c,
            ratio=of_ratio,
            wheel_rate_N_m=wheel_rate(spring_N_m=spring * 1e3, ratio=of_ratio),
            mass_kg=mass.value,
        )

    damping = replace(_through(ratio, "1", lambda one: zeta(oil, one)), origins=origins)
    at_air = feels and replace(_through(ratio, "1", lambda one: zeta(feels.value, one)), origins=origins)
    shown = at_air or damping
    where = f" at {air_degC:g} °C" if at_air else ""
    share = overshoot(damping=shown.value)
    seen = (
        f"it comes back past its rest by about {100 * share:.0f} % of the push, once"
        if share >= 0.01
        else "it comes back without swinging past"
    )
    low, high = USUAL_DAMPING
    judged = (
        "little" if shown.value < low else "a lot" if shown.value > high else "as most are driven off road"
    )
    sentences.append(
        f"Damping ratio {shown.value:.2f}{where}: {judged} ({low:g} to {high:g}). Press this end down and "
        f"let go: {seen}."
    )
    return damping, at_air, feels


def _piston(values: Mapping[str, float | str], axle: str) -> tuple[int, float] | None:
    for side in ("left", "right"):
        text = str(values.get(f"piston/{axle} {side}", ""))
        match = re.search(r"(\d+)\s*(?:holes?)?\s*[x×*]\s*([\d.]+)", text)
        if match and int(match.group(1)) and 0.3 <= float(match.group(2)) <= 5.0:
            return int(match.group(1)), float(match.group(2)) * mm
    return None


def _bore(build: Build, axle: str) -> tuple[float, float] | None:
    """Bore and shaft of the shocks at one end, from the words and sizes of the build."""
    for place in build.of_role("shock"):
        words = " ".join((place.name, *place.spots)).casefold()
        if axle not in words and any(one in words for one in AXLES):
            continue
        bore = re.search(r"bore (\d+(?:\.\d+)?)", place.part)
        shaft = place.sizes.get("shaft_mm")
        if bore and isinstance(shaft, float):
            return float(bore.group(1)) * mm, shaft * mm
    return None


def _bar(axle: str, values: Mapping[str, float | str], said: SumsSaid, missing: list[str]) -> Figure | None:
    wire = values.get(f"bar/{axle}")
    if not isinstance(wire, int | float):
        return None
    if not said.bar_length.strip() or not said.bar_arm.strip():
        missing.append("length and arm of the anti-roll bar")
        return None
    length_m, arm_m = (
        read_quantity(text, Kind.LENGTH, default_unit="mm", where=where)
        for text, where in ((said.bar_length, "bar length"), (said.bar_arm, "bar arm"))
    )
    found = figure(bar_end_rate, "N/m", wire_m=wire * mm, length_m=length_m, arm_m=arm_m)
    return replace(found, value=found.value / 1e3, unit="N/mm")


def _compared(now: tuple[AxleSums, ...], tried: tuple[AxleSums, ...]) -> list[str]:
    lines = []
    for one, other in zip(now, tried, strict=False):
        for name, before, after in (
            ("bounces at", one.frequency, other.frequency),
            ("damping ratio", one.damping_now or one.damping, other.damping_now or other.damping),
            ("wheel rate", one.wheel_rate, other.wheel_rate),
            ("anti-roll bar", one.bar, other.bar),
        ):
            if before is None or after is None or math.isclose(before.value, after.value, rel_tol=1e-3):
                continue
            change = 100.0 * (after.value / before.value - 1.0)
            unit = "" if before.unit == "1" else f" {before.unit}"
            moved = f"{before.value:.2f} → {after.value:.2f}{unit} ({change:+.0f} %)".replace("-", "−")
            lines.append(f"{one.axle.capitalize()}: {name} {moved}.")
    if tried and not lines:
        lines.append("The change moves none of these numbers.")
    return lines


def _shafts(build: Build, said: SumsSaid) -> tuple[tuple[str, ...], tuple[Figure, ...]]:
    if not said.drop.strip():
        return (), ()
    shafts = build.of_role("drive_shaft")
    length = next((p.sizes["length_mm"] for p in shafts if isinstance(p.sizes.get("length_mm"), float)), None)
    if not isinstance(length, float):
        raise BadInput(
            "The build does not say how long its driveshafts are.", "Add length_mm to the driveshafts."
        )
    drop_m = read_quantity(said.drop, Kind.LENGTH, default_unit="mm", where="drop")
    if abs(drop_m) >= length * mm:
        raise BadInput(
            f"A drop of {drop_m / mm:g} mm is longer than the shaft.", "Measure from joint to joint."
        )
    span_m = math.sqrt((length * mm) ** 2 - drop_m**2)
    bend, out_m = shaft_at_height(span_m=span_m, height_m=drop_m)
    angle = bend
    degrees = math.degrees(bend)
    apart = f"its ends {out_m / mm:.1f} mm further apart"
    words = f"With the arm fully dropped the shaft bends {degrees:.0f}°, {apart}"
    if said.steer.strip():
        steer = math.radians(read_number(said.steer.strip().removesuffix("°"), where="steer"))
        if not abs(steer) < math.pi / 2:
            raise BadInput("A wheel does not steer that far.", "Give degrees: 30.")
        angle = shaft_bend(drop_rad=bend, steer_rad=steer)
        words += f"; steered {math.degrees(steer):.0f}° as well it is {math.degrees(angle):.0f}°"
    ripple = joint_ripple(bend_rad=angle)
    lines = [f"{words}. A single cross joint then turns unevenly by {100 * ripple:.0f} %."]
    limits = JOINTS.get(build.traits.get("wheel_shaft", ""))
    if limits:
        low, high = limits
        degrees = math.degrees(angle)
        if degrees < low - 3.0:
            judged = "clear of what such joints take"
        elif degrees < low:
            judged = "close to what such joints take"
        elif degrees < high:
            judged = "where the first such joints bind"
        else:
            judged = "more than such joints take"
        lines.append(f"That is {judged} ({low:.0f} to {high:.0f}°, from memory).")
    shown = Figure(angle, "rad", origins=(*rests_on(shaft_at_height, shaft_bend, joint_ripple), OF_MEMORY))
    return tuple(lines), (shown,)


def _diffs(
    values: Mapping[str, float | str], air_degC: float | None
) -> tuple[tuple[str, ...], tuple[Figure, ...]]:
    lines: list[str] = []
    figures = []
    for where in ("front", "centre", "rear"):
        oil = values.get(f"diff oil/{where}")
        if not isinstance(oil, int | float):
            continue
        at = [air_degC, 40.0, 60.0] if air_degC is not None else [40.0, 60.0]
        found = [
            figure(silicone_viscosity, "m²/s", at_25_m2_s=oil * cSt, temperature_K=one + ZERO_CELSIUS_K)
            for one in at
            if one is not None
        ]
        feels = ", ".join(
            f"{_round(one.value / cSt)} cSt at {degC:g} °C" for degC, one in zip(at, found, strict=True)
        )
        lines.append(f"{where.capitalize()} diff, {told(BY_KEY['diff oil'], oil)}: like {feels}.")
        figures += found
    if lines:
        lines.append(
            "Thicker oil holds the two wheels together harder: more pull out of a corner, less willing to "
            "turn in. "
            "How much of that is oil and how much gears is not known; twice the oil is twice the oil’s share."
        )
    return tuple(lines), tuple(figures)


def read_mix(text: str) -> str:
    """How much of each of two oils, from “300 + 500 = 400”. Raises BadInput for what is no mix."""
    if not text.strip():
        return ""
    match = re.fullmatch(r"\s*([^+=]+)\+([^+=]+)=(.+)", text)
    if match is None:
        raise BadInput(f"“{text}” is no mix.", "Write it like 300 + 500 = 400.")
    oil = BY_KEY["diff oil"]
    numbers = [read_value(replace(oil, low=1.0), one) for one in match.groups()]
    thin, thick = sorted(float(one) for one in numbers[:2])
    wanted = float(numbers[2])
    if thick > 3.0 * thin:
        raise BadInput(
            f"{thin:g} and {thick:g} cSt are too far apart to mix by number.",
            "Take two oils within 3 to 1, of one kind: never silicone with mineral oil.",
        )
    share = share_for(thin_m2_s=thin * cSt, thick_m2_s=thick * cSt, wanted_m2_s=wanted * cSt)
    return (
        f"About {100 * share:.0f} % of the {thick:g} and {100 * (1 - share):.0f} % of the {thin:g} give "
        "about "
        f"{wanted:g} cSt. By a rule measured on other oils: try it on one axle first."
    )


def _round(value: float) -> str:
    """An oil to what a bottle can say."""
    step = 10.0 ** max(0, math.floor(math.log10(value)) - 1) * 0.5 if value >= 20.0 else 1.0
    return f"{round(value / step) * step:,.0f}".replace(",", "\u00a0")
