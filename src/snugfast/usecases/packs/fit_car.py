"""Whether packs fit a car, and what margin they leave: from what is booked about both and what is asked.

The label's current is a claim; sag and heat stand beside it. What is not booked is asked for, never guessed,
but for the shelf of common numbers that are named as such.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from snugfast.core.errors import BadInput
from snugfast.core.figures import Figure, Origin
from snugfast.core.findings import Finding
from snugfast.core.units import ZERO_CELSIUS_K, Kind, read_number
from snugfast.core.ways_out import Action, WayOut
from snugfast.facts.model import Build
from snugfast.physics.packs.cells import resistance_factor
from snugfast.physics.packs.chemistry import Chemistry
from snugfast.physics.packs.fit import (
    CarForPack,
    Demand,
    Fit,
    Joined,
    PackForCar,
    Plug,
    fit_to_car,
)
from snugfast.physics.packs.heat import PackBody
from snugfast.physics.packs.listed_refusal import ListedRefusal
from snugfast.physics.packs.rest_voltage import REFERENCE_K
from snugfast.physics.packs.together import PackToJoin
from snugfast.physics.packs.verdict import Withheld
from snugfast.records.ledger import CarRecord
from snugfast.usecases.packs.climb import resistance_ratio
from snugfast.usecases.packs.past import PackPast
from snugfast.usecases.packs.reading import Said
from snugfast.usecases.packs.register import PackDetails
from snugfast.usecases.packs.resistance_now import cell_at_25_degC
from snugfast.usecases.packs.state import PackSeen, pack_now
from snugfast.usecases.packs.tables import pack_tables
from snugfast.usecases.shared.cautions import Caution, cautioned, cautions_of
from snugfast.usecases.shared.chemistry import chemistry_of
from snugfast.usecases.shared.workshop import Workshop

TRAY_SETTING, CELLS_SETTING, CUT_OFF_SETTING = "pack tray", "pack cells", "cut-off"
HALF_CHARGE = 0.5  # where sag and heat are those of most of a run
HALF_WAY = "Sag and heat are worked out at half charge, in still air."


@dataclass(frozen=True, slots=True)
class FitAsked:
    """A question of fit as typed. What the car's build and settings say need not be said again.

    `amps` and `shares` belong together: “0 20 60 120” A for “40 30 20 10” % of the time.
    """

    car: str
    packs: tuple[str, ...]
    amps: str = ""
    shares: str = ""
    peak: str = ""
    minutes: str = ""
    air: str = ""
    joined: str = "one pack"
    tray_mm: str = ""
    cells: str = ""
    cut_off: str = ""


@dataclass(frozen=True, slots=True)
class FitShown:
    """What came of it: everything that refuses the pack, or the margins with what they rest on."""

    car_name: str
    packs: tuple[str, ...]
    refusals: tuple[Finding, ...]
    margin: float | None
    asked_rms: Figure | None
    label: Figure | None
    sag: Figure | None
    steady: Figure | None
    cell_at_peak: Figure | None
    cuts_off: bool
    rise_resistive: Figure | None
    rise: Figure | None
    hot_after: Figure | None
    beware: tuple[str, ...]
    rests_on: tuple[str, ...]
    cautions: tuple[Caution, ...]

    @property
    def fits(self) -> bool:
        """Whether the pack belongs in the car."""
        return not self.refusals


@cautioned
def fit_of(workshop: Workshop, asked: FitAsked) -> FitShown:
    """Whether these packs fit this car, and how they bear what is asked of them.

    Raises WrongData for what cannot be read or is not booked, BadInput for currents without their shares.
    """
    reading = Said(workshop)
    car = reading.car(asked.car)
    records = [reading.pack(name) for name in asked.packs if name.strip()]
    reading.refuse("This cannot be read")
    if car is None:
        raise BadInput("No car is named.", "Name the car the pack is to go in.")
    seen = [pack_now(workshop, record.id) for record in records if record is not None]
    barred = tuple(_barred(seen))
    if barred:
        return _refused(workshop, car, seen, barred)
    build = workshop.build(car.build)
    demand = _demand(reading, asked)
    takes = _car(reading, asked, car, build, len(seen))
    notes: list[str] = []
    side_by_side = takes is not None and takes.joined is Joined.PARALLEL and len(seen) > 1
    air_K = demand.air_K if demand else REFERENCE_K
    packs = [_pack(reading, one, build, notes, air_K, asks_volts=side_by_side) for one in seen]
    reading.refuse("This is not known yet")
    assert demand is not None and takes is not None
    hot_K = pack_tables().limits.warmth.very_hot_degC + ZERO_CELSIUS_K
    try:
        fit = fit_to_car(
            packs=[pack for pack in packs if pack is not None],
            car=takes,
            demand=demand,
            curve=pack_tables().curve,
            limits=pack_tables().limits.cell,
            hot_K=hot_K,
        )
    except ListedRefusal as refused:
        return _refused(workshop, car, seen, refused.findings)
    return _shown(workshop, car, seen, fit, (*notes, HALF_WAY))


def _barred(seen: Sequence[PackSeen]) -> Iterator[Finding]:
    """A pack that something stands against is refused before anything else is asked."""
    for one in seen:
        if isinstance(one.judged.standing, Withheld):
            hardest = one.judged.standing.reasons[0]
            yield Finding(one.record.name, hardest.says, hardest.way_back)


def _demand(reading: Said, asked: FitAsked) -> Demand | None:
    amps = reading.several(asked.amps, Kind.CURRENT, "A", "amperes")
    shares = [share / 100.0 for share in _numbers(reading, asked.shares, "shares")]
    minutes = reading.amount(asked.minutes, Kind.DURATION, "min", "minutes")
    air = reading.amount(asked.air, Kind.TEMPERATURE, "K", "air", "°C")
    peak = reading.amount(asked.peak, Kind.CURRENT, "A", "peak")
    if not amps:
        reading.wrong("amperes", "what the car draws is missing", "give steps and shares: “0 20 60 120”")
    if len(amps) != len(shares):
        reading.wrong("shares", "each current needs its share of the time", "give them like “40 30 20 10”")
    if minutes is None:
        reading.wrong("minutes", "how long it runs is missing", "give the minutes of one pack")
    if reading.findings:
        return None
    assert minutes is not None
    room_K = pack_tables().value("shelf", "temperature_degC") + ZERO_CELSIUS_K
    return reading.attempt(
        lambda: Demand(
            current_A=amps,
            share=tuple(shares),
            peak_A=max(amps) if peak is None else peak,
            run_s=minutes * 60.0,
            air_K=room_K if air is None else air,
        ),
        None,
    )


def _car(reading: Said, asked: FitAsked, car: CarRecord, build: Build, packs: int) -> CarForPack | None:
    tray = asked.tray_mm or car.settings.get(TRAY_SETTING, "")
    cells = asked.cells or car.settings.get(CELLS_SETTING, "")
    cut_off = asked.cut_off or car.settings.get(CUT_OFF_SETTING, "")
    sides = [side / 1000.0 for side in _numbers(reading, tray, "tray")]
    joined = reading.choice(asked.joined, Joined, "joined", Joined.ALONE)
    if len(sides) != 3:
        reading.wrong("tray", f"nobody booked the tray of {car.name}", "measure it: length x width x height")
    low, high = _cell_range(reading, cells, build)
    if not high:
        reading.wrong("cells", f"nobody booked how many cells {car.name} takes", "write it like 2-3")
    if len(sides) != 3 or not high:
        return None
    return CarForPack(
        chemistries=frozenset((Chemistry.LITHIUM_POLYMER,)),
        least_cells=low,
        most_cells=high,
        plug=_car_plug(build),
        tray_m=(sides[0], sides[1], sides[2]),
        joined=joined,
        packs=1 if joined is Joined.ALONE else packs,
        cut_off_V=reading.amount(cut_off, Kind.VOLTAGE, "V", "cut-off") if cut_off.strip() else None,
    )


def _pack(
    reading: Said, seen: PackSeen, build: Build, notes: list[str], air_K: float, *, asks_volts: bool
) -> PackForCar | None:
    record, past, details = seen.record, seen.past, PackDetails.of(seen.record)
    rest_V = _rest_V(seen, past)
    if asks_volts and not rest_V:
        reading.wrong(record.name, "nobody read its cells", "packs in parallel are compared cell by cell")
    missing = [
        word
        for word, value in (
            ("its size", details.size_mm),
            ("its weight", details.mass_g),
            ("its plug", details.plug),
            ("its label current", details.label_multiple_per_h),
        )
        if not value
    ]
    if missing:
        reading.wrong(
            record.name,
            f"nobody booked {' and '.join(missing)}",
            WayOut("add it", Action.CHANGE_PACK, record.name),
        )
        return None
    assert details.size_mm and details.mass_g and details.label_multiple_per_h
    size_m = (
        details.size_mm[0] / 1000.0,
        details.size_mm[1] / 1000.0,
        details.size_mm[2] / 1000.0,
    )
    ohm = _pack_ohm(seen, notes)
    ratio = resistance_ratio(past.readings)
    plug = Plug(_plain(details.plug), _pin(details.pin_mm, build))
    return PackForCar(
        join=PackToJoin(
            name=record.name,
            type_name=details.type_name,
            chemistry=chemistry_of(record.chemistry) or Chemistry.HIGH_VOLTAGE_LITHIUM,
            cells=record.cells,
            capacity_C=record.capacity_Ah * 3600.0,
            rest_V=rest_V,
            verdict=seen.judged.standing,
        ),
        plug=plug,
        size_m=size_m,
        label_multiple_per_h=details.label_multiple_per_h,
        charge=HALF_CHARGE,
        body=PackBody(
            cells=record.cells,
            resistance_ohm=ohm,
            mass_kg=details.mass_g / 1000.0,
            heat_capacity_J_per_kgK=pack_tables().value("heat", "heat_capacity_J_per_kgK"),
            surface_m2=_surface_m2(size_m),
            to_air_W_per_m2K=pack_tables().value("heat", "still_air_W_per_m2K"),
        ),
        as_new_ohm=None if ratio is None else ohm / ratio,
        at_start_ohm=ohm * _cold_factor(air_K) + pack_tables().leads_ohm.likely,
    )


def _cold_factor(air_K: float) -> float:
    """How many times its resistance at 25 °C a pack has at the first pull, as cold as the air."""
    activation = pack_tables().value("resistance", "activation_J_per_mol")
    return resistance_factor(temperature_K=air_K, activation_J_per_mol=activation)


def _pack_ohm(seen: PackSeen, notes: list[str]) -> float:
    """Resistance of all cells at 25 °C, Ω."""
    readings = seen.past.readings
    leads_mohm = pack_tables().leads_ohm.likely * 1000.0
    if readings:
        last = readings[-1]
        notes.append(
            f"{seen.record.name}: resistances of {last.at:%Y-%m-%d}, brought to 25 °C; at the first pull as "
            f"cold as the air, with {leads_mohm:.0f} mΩ of leads and plugs."
        )
        return sum(cell_at_25_degC(ohm, last.temperature_degC) for ohm in last.resistances_ohm)
    guess = pack_tables().band("resistance_of_cell", "milliohm_times_ampere_hour").likely
    each = guess / 1000.0 / seen.record.capacity_Ah
    notes.append(
        f"{seen.record.name}: nobody has read its resistance, so {each * 1000:.1f} mΩ a cell is guessed."
    )
    return each * seen.record.cells


def _rest_V(seen: PackSeen, past: PackPast) -> tuple[float, ...]:
    if seen.record.marks.rest_V:
        return seen.record.marks.rest_V
    if past.cells:
        curve = pack_tables().curve
        return tuple(round(curve.voltage_at(cell.charge.likely), 3) for cell in past.cells)
    return ()


def _surface_m2(size_m: tuple[float, float, float]) -> float:
    length, width, height = size_m
    return 2.0 * (length * width + length * height + width * height)


def _car_plug(build: Build) -> Plug:
    for place in build.of_role("controller_plug"):
        if place.sizes.get("plug"):
            return Plug(_plain(str(place.sizes["plug"])), _number(place.sizes.get("pin_mm")))
    return Plug("not booked")


def _pin(pin_mm: float | None, build: Build) -> float | None:
    """The pin of the pack's plug, as far as the car's plug is told apart by pins at all."""
    return None if _car_plug(build).pin_m is None or pin_mm is None else pin_mm / 1000.0


def _number(value: object) -> float | None:
    return float(value) / 1000.0 if isinstance(value, int | float) else None


def _plain(text: str) -> str:
    return " ".join(text.strip().casefold().replace("-", " ").split())


def _cell_range(reading: Said, text: str, build: Build) -> tuple[int, int]:
    if text.strip():
        ends = [int(end) for end in re.findall(r"\d+", text)]
        if not ends or len(ends) > 2:
            reading.wrong("cells", f"“{text}” is not a range of cells", "write it like 2-3")
            return 0, 0
        return min(ends), max(ends)
    counts = [
        int(float(place.sizes["cells_count"]))
        for role in ("pack", "controller")
        for place in build.of_role(role)
        if place.sizes.get("cells_count")
    ]
    return (min(counts), max(counts)) if counts else (0, 0)


def _numbers(reading: Said, text: str, where: str) -> list[float]:
    clean = re.sub(r"(mm|%|x|×|/)", " ", text)
    return [
        value
        for part in clean.split()
        if (value := reading.attempt(lambda part=part: read_number(part, where=where), None)) is not None  # type: ignore[misc]
    ]


def _refused(
    workshop: Workshop, car: CarRecord, seen: Sequence[PackSeen], findings: tuple[Finding, ...]
) -> FitShown:
    return FitShown(
        car_name=car.name,
        packs=tuple(one.record.name for one in seen),
        refusals=findings,
        margin=None,
        asked_rms=None,
        label=None,
        sag=None,
        steady=None,
        cell_at_peak=None,
        cuts_off=False,
        rise_resistive=None,
        rise=None,
        hot_after=None,
        beware=(),
        rests_on=(),
        cautions=cautions_of(workshop.facts, ("pack-plugs", "pack-look-first")),
    )


def _shown(
    workshop: Workshop, car: CarRecord, seen: Sequence[PackSeen], fit: Fit, notes: tuple[str, ...]
) -> FitShown:
    tables = pack_tables()
    claim = (Origin("pack-practice", "the label's current is a claim; no standard defines it"),)
    heat = (
        Origin("bernardi-1985", "general energy balance, reversible term"),
        tables.origin("heat", "still_air_W_per_m2K"),
    )
    sag = (Origin("ai-2020", "rest voltage by charge"), tables.limit_origin("cut_off_low_V"))
    return FitShown(
        car_name=car.name,
        packs=tuple(one.record.name for one in seen),
        refusals=(),
        margin=_finite(fit.margin),
        asked_rms=Figure(fit.rms_A, "A"),
        label=Figure(fit.label_A, "A", origins=claim),
        sag=Figure(fit.sag_A, "A", origins=sag),
        steady=Figure(fit.steady_A, "A", origins=heat),
        cell_at_peak=Figure(fit.cell_at_peak_V, "V", origins=sag),
        cuts_off=fit.cuts_off,
        rise_resistive=Figure(fit.rise_resistive_K, "K", origins=heat),
        rise=Figure(fit.rise_K, "K", origins=heat),
        hot_after=None if _finite(fit.hot_after_s) is None else Figure(fit.hot_after_s, "s", origins=heat),
        beware=fit.cautions,
        rests_on=notes,
        cautions=cautions_of(workshop.facts, ("pack-hot", "pack-look-first")),
    )


def _finite(value: float) -> float | None:
    return value if value < 1e9 else None
