"""The bearings of some cars: where each size sits, what to order, life on paper, heat when one drags."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from itertools import groupby

from snugfast.core.errors import BadInput
from snugfast.core.figures import Figure, Origin
from snugfast.core.units import Kind, read_quantity
from snugfast.facts.model import Build, Place
from snugfast.facts.texts import size_text
from snugfast.physics.bearings.bearings import BearingSize, basic_life, fatigue_sentence, life_at_speed
from snugfast.physics.bearings.defect_frequencies import defect_rhythm, usual_balls
from snugfast.physics.bearings.drag import (
    DragHeat,
    HubVerdict,
    SealRow,
    drag_power,
    judge_drag_heat,
    seal_drag,
    seized_drag,
    steady_temperature,
)
from snugfast.usecases.mechanics.bench_estimates import SAID, estimate, said_or_estimate
from snugfast.usecases.mechanics.drive_ratios import turns_for_one_of_the_wheel, tyre_radius
from snugfast.usecases.mechanics.gears_said import is_plastic
from snugfast.usecases.mechanics.tables import Cells, from_table, number, row_of, text, the_number
from snugfast.usecases.shared.cautions import Caution, cautioned, cautions_of
from snugfast.usecases.shared.citing import Cited, cited, rests_on
from snugfast.usecases.shared.ledger import ledger_now
from snugfast.usecases.shared.lookup import car_and_build, cars_here
from snugfast.usecases.shared.workshop import Workshop

RATINGS = (
    ("dynamic_1_N", "rolling-bearings-handbook"),
    ("dynamic_2_N", "miniature-bearing-catalogue"),
    ("dynamic_3_N", ""),  # the source of the row
)
# What a bearing sits in, by its role: the material of that part is what may soften. A motor's are metal.
HOUSINGS = {
    "wheel_bearing": ("knuckle", "wheel hub"),
    "diff_bearing": ("gear_cover", "gearbox"),
    "input_bearing": ("gear_cover", "gearbox"),
    "centre_bearing": ("gear_cover", "gearbox"),
}
ROLLING = Origin("openstax-university-physics-1", "ch. 11, rolling without slipping, v = r·ω")
NO_SEAL_SAID = "closure not entered"
BUSH = "plain bush"  # no balls, no beat
HUM_ADVICE = (
    "Push the car along at a steady walk beside a phone that shows the pitch of a noise: which beat is there "
    "tells which bearing. Twice the speed is twice the pitch. A noise that keeps its pitch is no bearing."
)
CAUTIONS = ("power-off", "hot-parts", "eye-protection", "local-rules")


@dataclass(frozen=True, slots=True)
class BearingsSaid:
    """Which cars, and how hard they work, every field a text; empty means not said."""

    cars: tuple[str, ...] = ()  # none: every car here
    load: str = ""  # on one bearing
    speed: str = ""  # of the car
    drag: str = ""  # of a bearing that drags, to see its heat
    air: str = ""  # temperature


@dataclass(frozen=True, slots=True)
class BearingPlace:
    """One place of a car with its bearings."""

    car: str
    place: str
    name: str
    size: str
    seal: str
    count: int


@dataclass(frozen=True, slots=True)
class OrderLine:
    """One kind to order: how many all cars carry, and where."""

    size: str
    seal: str
    count: int
    price: Figure | None  # all of them, where every car's list gives one
    where: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class PaperLife:
    """Basic life of one size: ratings differ between publishers, so the least and the most are named."""

    size: str
    rating: Figure | None
    least_from: str
    most_from: str
    speed: Figure | None  # of the fastest place of this size
    life: Figure | None
    sentence: str


@dataclass(frozen=True, slots=True)
class SeizedHeat:
    """What happens around a bearing of one place when it seizes or drags."""

    car: str
    name: str
    material: str
    torque: Figure
    power: Figure
    temperature: Figure
    keep_below: Figure
    softening_torque: Figure  # the drag at which its housing begins to soften
    verdict: HubVerdict
    worst: HubVerdict  # loaded hard, driven fast, poorly cooled
    sentence: str


@dataclass(frozen=True, slots=True)
class Hum:
    """How fast a pitted bearing of one place beats: a turn, and at the speed of the car in hertz."""

    car: str
    name: str
    size: str
    outer_per_turn: Figure
    outer: Figure
    inner: Figure
    sentence: str


@dataclass(frozen=True, slots=True)
class BearingList:
    """Everything about the bearings of some cars."""

    cars: tuple[str, ...]
    places: tuple[BearingPlace, ...]
    order: tuple[OrderLine, ...]
    load: Figure
    speed: Figure
    lives: tuple[PaperLife, ...]
    heat: tuple[SeizedHeat, ...]
    hums: tuple[Hum, ...]
    advice: tuple[str, ...]
    cautions: tuple[Caution, ...]
    sources: tuple[Cited, ...] = ()


ADVICE = (
    "Flush and re-oil a gritty bearing to get through the day; if it is still gritty or loose, replace it.",
    "Two wheels are compared by their free spin only when their bearings are sealed alike.",
    "Shielded ones run lightest, full-contact seals keep water out longest and drag ten times as much.",
)


@dataclass(frozen=True, slots=True)
class _Sits:
    """A bearing place with all that is known of it."""

    car: str
    build: Build
    place: Place
    size: BearingSize
    seal: str

    @property
    def count(self) -> int:
        return self.place.pieces

    def turns(self, speed: Figure) -> Figure | None:
        """How fast it turns at a speed of the car; None where it only swings or the build says too little."""
        radius_m = tyre_radius(self.build)
        turns = turns_for_one_of_the_wheel(self.build, self.place.role)
        if radius_m is None or turns is None:
            return None
        low, high = (end * turns / radius_m if end is not None else None for end in (speed.low, speed.high))
        return Figure(
            speed.value * turns / radius_m, "rad/s", low=low, high=high, origins=(*speed.origins, ROLLING)
        )


@cautioned
def bearing_list(workshop: Workshop, said: BearingsSaid) -> BearingList:
    """The bearings of the cars named, or of all that are here.

    Raises NotKnown for a car that is not here, BadInput for words that are no loads or speeds.
    """
    builds = [car_and_build(workshop, name) for name in said.cars or _names(workshop)]
    sits = [one for car, build in builds for one in _sits(car.name, build)]
    load = said_or_estimate(said.load, "bearing load", Kind.FORCE, default_unit="N", where="load")
    speed = said_or_estimate(said.speed, "driving speed", Kind.SPEED, default_unit="km/h", where="speed")
    listed = BearingList(
        cars=tuple(car.name for car, _ in builds),
        places=tuple(
            BearingPlace(one.car, one.place.key, one.place.name, str(one.size), one.seal, one.count)
            for one in sits
        ),
        order=_order(sits),
        load=load,
        speed=speed,
        lives=tuple(_life(alike, load, speed) for alike in _by_size(sits)),
        heat=tuple(_heats(sits, said, load, speed)),
        hums=tuple(hum for one in sits if (hum := _hum(one, speed)) is not None),
        advice=ADVICE,
        cautions=cautions_of(workshop.facts, CAUTIONS),
    )
    return replace(listed, sources=cited(workshop.facts, listed))


def _names(workshop: Workshop) -> tuple[str, ...]:
    with workshop.store.reading() as reads:
        return tuple(car.name for car in cars_here(ledger_now(reads)))


def _sits(car: str, build: Build) -> Iterable[_Sits]:
    """The places of a build with the three sizes of a bearing and a role that is one."""
    for place in build.places:
        sizes = [place.sizes.get(name) for name in ("bore_mm", "outer_mm", "width_mm")]
        if place.role.endswith("_bearing") and all(isinstance(size, float) for size in sizes):
            bore_m, outer_m, width_m = (float(size) * 1e-3 for size in sizes if isinstance(size, float))
            seal = size_text(place.sizes.get("seal", NO_SEAL_SAID))
            yield _Sits(car, build, place, BearingSize(bore_m, outer_m, width_m), seal)


def _key(one: _Sits) -> tuple[float, float, float, str]:
    return (one.size.bore_m, one.size.outer_m, one.size.width_m, one.seal)


def _by_size(sits: Sequence[_Sits]) -> list[list[_Sits]]:
    """The places of each size together."""
    ordered = sorted(sits, key=_key)
    return [list(alike) for _, alike in groupby(ordered, key=lambda one: _key(one)[:3])]


def _order(sits: Sequence[_Sits]) -> tuple[OrderLine, ...]:
    lines = []
    for _, group in groupby(sorted(sits, key=_key), key=_key):
        alike = list(group)
        lines.append(
            OrderLine(
                size=str(alike[0].size),
                seal=alike[0].seal,
                count=sum(one.count for one in alike),
                price=_price(alike),
                where=tuple(f"{one.car}: {one.place.name} ({one.count})" for one in alike),
            )
        )
    return tuple(lines)


def _price(alike: Sequence[_Sits]) -> Figure | None:
    """All of one kind by the owners' own price lists; None where two currencies would have to be added."""
    currencies = {one.build.currency for one in alike}
    if len(currencies) != 1:
        return None
    minor = sum(one.count * one.place.price_minor for one in alike)
    origins = dict.fromkeys(Origin(one.place.pedigree.source, "price in the build") for one in alike)
    return Figure(minor / 100.0, currencies.pop(), origins=tuple(origins))


def _life(alike: Sequence[_Sits], load: Figure, speed: Figure) -> PaperLife:
    """Life of one size where it turns fastest, from the lowest printed rating to the highest."""
    size = alike[0].size
    sizes = {"bore_mm": _mm(size.bore_m), "outer_mm": _mm(size.outer_m)}
    row = row_of("bearing_sizes", **sizes, shielded_width_mm=_mm(size.width_m)) or row_of(
        "bearing_sizes", **sizes, open_width_mm=_mm(size.width_m)
    )
    turning = max((turns.value for one in alike if (turns := one.turns(speed))), default=None)
    ratings = _ratings(row)
    if not ratings:
        sentence = "No rating is printed in the tables here: dirt, water and lost grease end it anyway."
        return PaperLife(str(size), None, "", "", None, None, sentence)
    (low_N, low_from), (high_N, high_from) = min(ratings), max(ratings)
    origins = tuple(Origin(key, "dynamic rating") for _, key in ratings)
    rating = Figure(low_N, "N", low=low_N, high=high_N, origins=origins)
    if turning is None:
        sentence = "It swings and does not turn round, or how fast is not entered: dirt and play end it."
        return PaperLife(str(size), rating, low_from, high_from, None, None, sentence)
    lives_s = [
        life_at_speed(life_turns=basic_life(rating_N=rating_N, load_N=load.value), speed_rad_s=turning)
        for rating_N in (low_N, high_N)
    ]
    return PaperLife(
        size=str(size),
        rating=rating,
        least_from=low_from,
        most_from=high_from,
        speed=Figure(turning, "rad/s", origins=speed.origins),
        life=Figure(
            lives_s[0] / 3600.0,
            "h",
            low=lives_s[0] / 3600.0,
            high=lives_s[1] / 3600.0,
            origins=(*rests_on(basic_life, life_at_speed), *rating.origins, *load.origins, *speed.origins),
        ),
        sentence=fatigue_sentence(lives_s[0]),
    )


def _ratings(row: Cells | None) -> list[tuple[float, str]]:
    found = []
    for column, source in RATINGS:
        rating_N = number(row, column)
        if rating_N is not None:
            found.append((rating_N, source or text(row, "row_source")))
    return found


def _mm(length_m: float) -> float:
    return round(length_m * 1e3, 4)


def _hum(one: _Sits, speed: Figure) -> Hum | None:
    """The beats of a pitted outer and inner ring; None for a bush, and where it does not turn round."""
    turning = one.turns(speed)
    if turning is None or one.seal == BUSH:
        return None
    balls = usual_balls(bore_m=one.size.bore_m, outer_m=one.size.outer_m)
    fewer, usual, more = (defect_rhythm(replace(balls, count=balls.count + step)) for step in (-1, 0, 1))
    turns_Hz = turning.value / (2.0 * math.pi)
    origins = rests_on(defect_rhythm, usual_balls)

    def beats(per_turn: Sequence[float], times: float, unit: str, more_from: tuple[Origin, ...]) -> Figure:
        low, value, high = (each * times for each in per_turn)
        return Figure(value, unit, low=low, high=high, origins=(*origins, *more_from))

    outer = [rhythm.outer_ring for rhythm in (fewer, usual, more)]
    inner = [rhythm.inner_ring for rhythm in (fewer, usual, more)]
    per_turn = beats(outer, 1.0, "1", ())
    outer_Hz = beats(outer, turns_Hz, "Hz", turning.origins)
    inner_Hz = beats(inner, turns_Hz, "Hz", turning.origins)
    return Hum(
        car=one.car,
        name=one.place.name,
        size=str(one.size),
        outer_per_turn=per_turn,
        outer=outer_Hz,
        inner=inner_Hz,
        sentence=(
            f"A pit in the outer ring beats {outer_Hz.value:.0f} times a second ({outer_Hz.low:.0f} to "
            f"{outer_Hz.high:.0f}), in the inner ring {inner_Hz.value:.0f}; that is {per_turn.value:.1f} "
            f"beats a turn of the bearing outside and {inner[1]:.1f} inside."
        ),
    )


def _heats(sits: Sequence[_Sits], said: BearingsSaid, load: Figure, speed: Figure) -> Iterable[SeizedHeat]:
    """One verdict for each place that sits in plastic the tables know."""
    air_degC = _air(said)
    for one in sits:
        housing, cooled = HOUSINGS.get(one.place.role, ("", ""))
        material = next((part.material for part in one.build.of_role(housing)), "") if housing else ""
        row = row_of("hub_plastics", material="nylon 6/6" if "nylon" in material else material)
        turning = one.turns(speed)
        if row is not None and turning is not None and is_plastic(material):
            yield _heat(one, row, cooled, _drag(one, said, load), turning, air_degC)


def _heat(
    one: _Sits,
    plastic: Cells,
    cooled: str,
    torque: Figure,
    turning: Figure,
    air_degC: float,
) -> SeizedHeat:
    cooling = row_of("hub_cooling", place=cooled)
    assert cooling is not None
    keep_below_degC = the_number(plastic, "keep_below_degC")

    def judged(torque_Nm: float | None, speed_rad_s: float | None, column: str) -> DragHeat:
        return judge_drag_heat(
            torque_Nm=torque.value if torque_Nm is None else torque_Nm,
            speed_rad_s=turning.value if speed_rad_s is None else speed_rad_s,
            ambient_degC=air_degC,
            thermal_resistance_K_W=the_number(cooling, column),
            keep_below_degC=keep_below_degC,
            melting_degC=the_number(plastic, "melting_low_degC"),
        )

    usual = judged(torque.value, turning.value, "usual_K_W")
    low = judged(torque.low, turning.low, "low_K_W")
    high = judged(torque.high, turning.high, "high_K_W")
    heat = (*torque.origins, *rests_on(drag_power), *turning.origins)
    warm = (*heat, *rests_on(steady_temperature), from_table("hub_cooling", cooling))
    return SeizedHeat(
        car=one.car,
        name=one.place.name,
        material=text(plastic, "material"),
        torque=torque,
        power=Figure(usual.power_W, "W", low=low.power_W, high=high.power_W, origins=heat),
        temperature=_until_it_melts(usual, low, high, the_number(plastic, "melting_low_degC"), warm),
        keep_below=Figure(keep_below_degC, "°C", origins=(from_table("hub_plastics", plastic),)),
        softening_torque=Figure(
            usual.softening_torque_Nm,
            "N·m",
            low=high.softening_torque_Nm,
            high=low.softening_torque_Nm,
            origins=(*warm, from_table("hub_plastics", plastic)),
        ),
        verdict=usual.verdict,
        worst=high.verdict,
        sentence=_heat_sentence(usual, high),
    )


def _until_it_melts(
    usual: DragHeat, low: DragHeat, high: DragHeat, melting_degC: float, origins: tuple[Origin, ...]
) -> Figure:
    """The temperature with its band, cut where the plastic melts: beyond that nothing holds the ring."""
    ends = (min(each.temperature_degC, melting_degC) for each in (usual, low, high))
    value, least, most = ends
    return Figure(value, "°C", low=least, high=most, origins=origins)


def _heat_sentence(usual: DragHeat, high: DragHeat) -> str:
    if usual.verdict is high.verdict:
        return usual.sentence
    return (
        f"Driven hard, the plastic around it {high.verdict.value}; driven gently it stays near "
        f"{usual.temperature_degC:.0f} °C. Replace the bearing before you drive."
    )


def _drag(one: _Sits, said: BearingsSaid, load: Figure) -> Figure:
    """The drag that was said, or of the bearing seized: its ring sliding on the axle, seals besides."""
    if said.drag.strip():
        drag_Nm = read_quantity(said.drag, Kind.TORQUE, default_unit="Nm", where="drag")
        if drag_Nm < 0.0:
            raise BadInput("A bearing cannot drive.", "Give its drag above zero.")
        return Figure(drag_Nm, "N·m", origins=(SAID,))
    rubbing = estimate("seized friction")
    seals_Nm = _seal_drag(one)

    def seized(load_N: float, friction: float) -> float:
        return seals_Nm + seized_drag(load_N=load_N, sliding_diameter_m=one.size.bore_m, friction=friction)

    return Figure(
        seized(load.value, rubbing.value),
        "N·m",
        low=seized(load.low or load.value, rubbing.low or rubbing.value),
        high=seized(load.high or load.value, rubbing.high or rubbing.value),
        origins=(*rests_on(seized_drag, seal_drag), *rubbing.origins, *load.origins),
    )


def _seal_drag(one: _Sits) -> float:
    row = row_of("bearing_seals", seal=one.seal)
    if row is None or not the_number(row, "factor"):
        return 0.0
    seal = SealRow(*(the_number(row, name) for name in ("exponent", "factor", "offset_Nmm")))
    return seal_drag(lip_diameter_m=(one.size.bore_m + one.size.outer_m) / 2.0, seal=seal)


def _air(said: BearingsSaid) -> float:
    if not said.air.strip():
        return 25.0
    kelvin = read_quantity(said.air, Kind.TEMPERATURE, default_unit="°C", where="air")
    degC = kelvin - 273.15
    if not -40.0 <= degC <= 60.0 or not math.isfinite(degC):
        raise BadInput(f"Air of {degC:.0f} °C is no weather to drive in.", "Give it like 28 °C.")
    return degC
