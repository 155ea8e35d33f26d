"""Can this servo reset this receiver? The ESC's supply against a servo that stalls, from the build.

A stalled servo pulls the receiver's voltage down; below some volts the receiver restarts, and for a second
or more nobody steers. Each number is the owner's, the build's or an estimate with a band, and the answer is
no surer than the worst and the best of them together.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from enum import Enum
from itertools import chain

from snugfast.core.errors import BadInput, NotKnown
from snugfast.core.figures import Figure, Origin
from snugfast.core.units import Kind
from snugfast.core.ways_out import Action, WayOut
from snugfast.facts.model import Build, Place
from snugfast.physics.leads.rail import (
    Load,
    Supply,
    capacitance_for,
    limited_volts,
    linear_supply_heat,
    rail_volts,
    ride_through,
    servo_current,
    stalled_resistance,
)
from snugfast.usecases.leads.tables import (
    OF_BUILD,
    banded,
    electrics,
    high_of,
    low_of,
    origin,
    said,
    size_of,
)
from snugfast.usecases.mechanics.tables import Cells, text, the_number
from snugfast.usecases.shared.cautions import Caution, cautioned, cautions_of
from snugfast.usecases.shared.citing import Cited, cited, rests_on
from snugfast.usecases.shared.guides import Guide, guide
from snugfast.usecases.shared.lookup import car_and_build
from snugfast.usecases.shared.workshop import Workshop

SERVOS_AT_V = 6.0  # the table of servos holds for this
FULL_CELL_V = 4.2
CAPACITORS_uF = (1000.0, 2200.0, 4700.0, 10000.0)
LARGEST_uF = 22000.0  # nobody hangs a larger one on a receiver
METER_V = 0.05
CAUTIONS = ("local-rules",)
CITED = Origin("servo-peak-tests", "a meter shows no peaks")


class Verdict(Enum):
    """What can be said about a servo and a receiver."""

    HOLDS = "holds"
    MAY_RESET = "may reset"
    CAN_RESET = "can reset"


@dataclass(frozen=True, slots=True)
class RailSaid:
    """What is known better than the build, as typed; empty means not said."""

    car: str
    stall: str = ""  # current of one stalled servo: 3 A
    supply: str = ""  # volts of the ESC's receiver supply: 6 V
    gives: str = ""  # its largest current: 3 A
    restarts: str = ""  # the receiver restarts below: 3.5 V
    lowest: str = ""  # the lowest that a meter showed while the servo was stalled


@dataclass(frozen=True, slots=True)
class RailMoment:
    """One moment of the rail: what is wanted and given, in amperes, and what is left, in volts."""

    name: str
    wanted: Figure
    given: Figure
    volts: Figure
    measured: bool = False


@dataclass(frozen=True, slots=True)
class CapacitorLine:
    """What a capacitor buys in a quick change of lock, in seconds; infinite where nothing is short."""

    capacitance_uF: float
    buys: Figure
    sentence: str


@dataclass(frozen=True, slots=True)
class Rail:
    """The rail of one car."""

    car: str
    servo: str
    supply: str
    verdict: Verdict
    sentence: str
    why: str
    open: Figure
    moments: tuple[RailMoment, ...]
    restarts: Figure
    back_after: Figure
    reversal: Figure
    capacitors: tuple[CapacitorLine, ...]
    capacitor_sentence: str
    linear_heat: Figure | None
    notes: tuple[str, ...]
    trial: Guide
    measure: Guide
    cures: Guide
    cautions: tuple[Caution, ...]
    sources: tuple[Cited, ...]


@dataclass(frozen=True, slots=True)
class _Known:
    """What goes into the sums: figures with bands."""

    open: Figure
    limit: Figure
    output: Figure
    servos: Figure  # ohms, all together; low is the hungriest
    steady: Figure
    restarts: Figure

    def case(self, worse: int) -> tuple[Supply, float, float, float]:
        """Supply, servos' ohms, steady amperes and restart volts: the best (-1), usual (0) or worst (1)."""
        more, less = ((_mid, _mid), (high_of, low_of), (low_of, high_of))[worse]
        supply = Supply(less(self.open), more(self.output), max(less(self.limit), 0.1))
        return supply, less(self.servos), more(self.steady), more(self.restarts)


def _mid(figure: Figure) -> float:
    return figure.value


@cautioned
def rail_of(workshop: Workshop, asked: RailSaid) -> Rail:
    """Whether the steering servo of a car can reset its receiver, why, and what would help.

    Raises NotKnown where the build has no servo or no ESC, BadInput for figures that cannot be.
    """
    car, build = car_and_build(workshop, asked.car)
    servos = build.of_role("servo")
    if not servos or not build.of_role("receiver"):
        raise NotKnown(
            f"The build of {car.name} has no {'servo' if not servos else 'receiver'}, so there is no rail.",
            WayOut("Add it to the build.", Action.CHANGE_BUILD, car.name),
        )
    supply_row = _supply_row(build)
    known, notes = _known(asked, build, supply_row, servos)
    stalled = _stalled(asked, known)
    reversal = banded("rail", "reversal lasts", "s")
    quick, capacitors, needed_uF = _quick(known, reversal)
    verdict = _verdict(stalled, known)
    heat = _linear_heat(build, supply_row, known)
    facts = workshop.facts
    found = Rail(
        car=car.name,
        servo=servos[0].part,
        supply=text(supply_row, "name"),
        verdict=verdict,
        sentence=_sentence(verdict, quick, known),
        why=_why(stalled, known),
        open=known.open,
        moments=(stalled, quick),
        restarts=known.restarts,
        back_after=banded("rail", "comes back after", "s"),
        reversal=reversal,
        capacitors=capacitors,
        capacitor_sentence=_capacitor_sentence(verdict, needed_uF, reversal),
        linear_heat=heat,
        notes=(*notes, *_heat_note(heat)),
        trial=guide(facts, "electrics", "rail_trial"),
        measure=guide(facts, "electrics", "rail_measure"),
        cures=guide(facts, "electrics", "rail_cures"),
        cautions=cautions_of(facts, CAUTIONS),
        sources=(),
    )
    peaks = Figure(0.0, "1", origins=(CITED,))
    return replace(found, sources=cited(facts, (found, known, peaks)))


def _supply_row(build: Build) -> Cells:
    rated = size_of(build, "controller", "current_A")
    if rated is None:
        raise NotKnown(
            "The build does not say what current the ESC is made for, so its receiver supply is not known.",
            WayOut("Add current_A to its sizes.", Action.CHANGE_BUILD),
        )
    return next(row for row in electrics("supplies").rows if rated[1] <= the_number(row, "to_rated_A"))


def _known(
    asked: RailSaid, build: Build, supply_row: Cells, servos: tuple[Place, ...]
) -> tuple[_Known, tuple[str, ...]]:
    label = banded("rail", "said is off by", "1")
    notes = []
    open_V = _open(asked, build, supply_row)
    limit = _limit(asked, build, supply_row, label)
    stall, at_V, how = _stall(asked, build, servos, label, open_V.value)
    notes.append(how)
    count = sum(len(place.spots) or 1 for place in servos)
    ohms = [
        stalled_resistance(volts_V=at_V, stall_A=amperes) / count
        for amperes in (high_of(stall), stall.value, low_of(stall))
    ]
    origins = (*stall.origins, *rests_on(stalled_resistance))
    rated = size_of(build, "servo", "supply_V")
    if rated is not None and open_V.value > 1.05 * rated[1]:
        notes.append(
            f"The supply is set to {open_V.value:g} V and the servo is made for {rated[1]:g} V: set it lower."
        )
    return _Known(
        open=open_V,
        limit=limit,
        output=banded("rail", "to the receiver", "Ω"),
        servos=Figure(ohms[1], "Ω", low=ohms[0], high=ohms[2], origins=origins),
        steady=banded("rail", "receiver and fan", "A"),
        restarts=said(asked.restarts, Kind.VOLTAGE, default_unit="V", where="restarts below")
        if asked.restarts
        else banded("rail", "restarts below", "V"),
    ), tuple(notes)


def _open(asked: RailSaid, build: Build, supply_row: Cells) -> Figure:
    if asked.supply:
        open_V = said(asked.supply, Kind.VOLTAGE, default_unit="V", where="supply")
        if not 3.0 <= open_V.value <= 9.0:
            raise BadInput(
                f"A receiver supply of {open_V.value:g} V is none.",
                "They are set to 5 to 8.4 V; read it at a free receiver socket.",
            )
        return open_V
    of_build = size_of(build, "controller", "rail_V")
    if of_build is not None:
        return Figure(of_build[1], "V", origins=(OF_BUILD,))
    return Figure(the_number(supply_row, "volts_V"), "V", origins=(origin("supplies", supply_row),))


def _limit(asked: RailSaid, build: Build, supply_row: Cells, label: Figure) -> Figure:
    """The largest current: a label's, stretched by how far above it limits trip, or the row."""
    above = banded("rail", "label or limit", "1")
    of_build = size_of(build, "controller", "rail_A")
    if asked.gives:
        amperes = said(asked.gives, Kind.CURRENT, default_unit="A", where="gives")
    elif of_build is not None:
        amperes = Figure(of_build[1], "A", origins=(OF_BUILD,))
    else:
        return Figure(
            the_number(supply_row, "usual_A"),
            "A",
            low=the_number(supply_row, "low_A"),
            high=the_number(supply_row, "high_A"),
            origins=(origin("supplies", supply_row),),
        )
    return Figure(
        amperes.value * above.value,
        "A",
        low=amperes.value * low_of(label),
        high=amperes.value * high_of(above),
        origins=(*amperes.origins, *above.origins),
    )


def _stall(
    asked: RailSaid, build: Build, servos: tuple[Place, ...], label: Figure, open_V: float
) -> tuple[Figure, float, str]:
    """Stall current of one servo, at which voltage, and how it is known."""
    if asked.stall:
        return (
            said(asked.stall, Kind.CURRENT, default_unit="A", where="stall", off=label),
            open_V,
            "The stall current is the one you gave.",
        )
    of_build = size_of(build, "servo", "stall_A")
    if of_build is not None:
        place, amperes = of_build
        at_V = place.sizes.get("supply_V")
        figure = Figure(
            amperes, "A", low=amperes * low_of(label), high=amperes * high_of(label), origins=(OF_BUILD,)
        )
        return figure, at_V if isinstance(at_V, float) else SERVOS_AT_V, "The stall current is the build’s."
    key = _servo_key(build, servos)
    cells = banded("servos", key, "A", ending="_A")
    return (
        cells,
        SERVOS_AT_V,
        "The stall current is an estimate. Give your servo’s, or add stall_A to it in the build.",
    )


def _servo_key(build: Build, servos: tuple[Place, ...]) -> str:
    words = " ".join(f"{place.part} {place.name}" for place in servos).casefold()
    if "micro" in words or "mini" in words:
        return "micro"
    if build.scale in ("1/8", "1/7", "1/6", "1/5"):
        return "large"
    return "plain" if build.traits.get("servo_gears") == "plastic" else "strong"


def _stalled(asked: RailSaid, known: _Known) -> RailMoment:
    volts, wanted, given = [], [], []
    for worse in (-1, 0, 1):
        supply, ohm, steady, _ = known.case(worse)
        load = Load(ohm, steady_A=steady)
        volts.append(rail_volts(supply=supply, load=load))
        wanted.append(servo_current(volts_V=supply.open_V, servos_ohm=ohm) + steady)
        given.append(min(supply.limit_A, wanted[-1]))
    measured = bool(asked.lowest)
    if measured:
        read = said(asked.lowest, Kind.VOLTAGE, default_unit="V", where="lowest")
        if read.value > 1.05 * known.open.value:
            raise BadInput(
                f"{read.value:g} V is more than the supply gives with no load ({known.open.value:g} V).",
                "Give the supply's own voltage too, or read the lowest again while the servo is stalled.",
            )
        figure = Figure(
            read.value, "V", low=read.value - METER_V, high=read.value + METER_V, origins=read.origins
        )
    else:
        figure = Figure(
            volts[1], "V", low=volts[2], high=volts[0], origins=rests_on(rail_volts, limited_volts)
        )
    return RailMoment(
        "Servo stalled at full lock",
        Figure(wanted[1], "A", low=wanted[0], high=wanted[2]),
        Figure(given[1], "A", low=min(given), high=max(given)),
        figure,
        measured,
    )


def _quick(known: _Known, reversal: Figure) -> tuple[RailMoment, tuple[CapacitorLine, ...], float]:
    """A quick change of lock: the servo is reversed while it turns. And what capacitors buy in it."""
    share = banded("rail", "reversal speed", "1")
    series = banded("rail", "capacitor series", "Ω")
    speeds = {-1: low_of(share), 0: share.value, 1: high_of(share)}
    volts, wanted, given = [], [], []
    buys: dict[float, list[float]] = {size: [] for size in CAPACITORS_uF}
    needed_uF = 0.0
    for worse in (-1, 0, 1):
        supply, ohm, steady, restarts = known.case(worse)
        back_V = speeds[worse] * supply.open_V
        load = Load(ohm, back_V=back_V, steady_A=steady)
        volts.append(rail_volts(supply=supply, load=load))
        wanted.append(servo_current(volts_V=supply.open_V, servos_ohm=ohm, back_V=back_V) + steady)
        given.append(min(supply.limit_A, wanted[-1]))
        end_V = limited_volts(supply=supply, load=load)
        from_V = supply.open_V - max(wanted[-1] - supply.limit_A, 0.0) * series.value
        for size in CAPACITORS_uF:
            buys[size].append(
                ride_through(capacitance_F=size * 1e-6, ohm=ohm, from_V=from_V, to_V=restarts, end_V=end_V)
            )
        if worse == 0:
            needed_uF = 1e6 * capacitance_for(
                seconds=reversal.value, ohm=ohm, from_V=from_V, to_V=restarts, end_V=end_V
            )
    origins = rests_on(rail_volts, limited_volts, servo_current)
    moment = RailMoment(
        "Quick change of lock",
        Figure(wanted[1], "A", low=wanted[0], high=wanted[2], origins=(*origins, *share.origins)),
        Figure(given[1], "A", low=min(given), high=max(given)),
        Figure(volts[1], "V", low=volts[2], high=volts[0], origins=origins),
    )
    lines = tuple(_line(size, buys[size], reversal, series.origins) for size in CAPACITORS_uF)
    return moment, lines, needed_uF


def _line(size_uF: float, buys: list[float], reversal: Figure, origins: tuple[Origin, ...]) -> CapacitorLine:
    best, usual, worst = buys
    figure = Figure(usual, "s", low=worst, high=best, origins=(*rests_on(ride_through), *origins))
    at_worst = "" if math.isinf(worst) else f" (at worst {_ms(worst)})"
    if math.isinf(usual):
        words = f"not needed by the likely figures{at_worst}"
    else:
        bridges = "bridges it" if usual >= reversal.value else "too short"
        words = f"{_ms(usual)}{at_worst}: {bridges}"
    return CapacitorLine(size_uF, figure, words)


def _ms(seconds: float) -> str:
    return f"{seconds * 1e3:.0f} ms" if seconds >= 0.01 else f"{seconds * 1e3:.1f} ms"


def _verdict(stalled: RailMoment, known: _Known) -> Verdict:
    volts, restarts = stalled.volts, known.restarts
    if low_of(volts) >= high_of(restarts):
        return Verdict.HOLDS
    if volts.value < restarts.value:
        return Verdict.CAN_RESET
    return Verdict.MAY_RESET


def _sentence(verdict: Verdict, quick: RailMoment, known: _Known) -> str:
    if verdict is Verdict.CAN_RESET:
        return "This servo can reset this receiver."
    if verdict is Verdict.MAY_RESET:
        return "This servo may reset this receiver: the estimates cannot tell. Ten seconds on the stand can."
    if low_of(quick.volts) >= high_of(known.restarts):
        return "This servo should not reset this receiver."
    how = "can" if quick.volts.value < known.restarts.value else "may"
    return f"Stalled, this servo should not reset this receiver. A quick change of lock {how}: try it."


def _why(stalled: RailMoment, known: _Known) -> str:
    restarts = f"Receivers like this restart below about {_volts(known.restarts)}."
    if stalled.measured:
        return f"You read {stalled.volts.value:.1f} V with the servo stalled. {restarts}"
    wanted = f"Stalled, it wants about {stalled.wanted.value:.1f} A with the receiver"
    gives = f"the ESC’s supply gives about {known.limit.value:.1f} A ({_ends(known.limit)})"
    left = f"That leaves about {_volts(stalled.volts)}."
    return f"{wanted} ({_ends(stalled.wanted)}); {gives}. {left} {restarts}"


def _volts(figure: Figure) -> str:
    low, high = low_of(figure), high_of(figure)
    if high - low < 0.05:
        return f"{figure.value:.1f} V"
    return f"{figure.value:.1f} V ({low:.1f} to {high:.1f})"


def _ends(figure: Figure) -> str:
    return f"{low_of(figure):.1f} to {high_of(figure):.1f}"


def _capacitor_sentence(verdict: Verdict, needed_uF: float, reversal: Figure) -> str:
    lasts = f"A quick change of lock asks for nearly twice as much for about {reversal.value * 1e3:.0f} ms."
    no_cure = (
        " No capacitor cures a servo that stays stalled: it is empty within thousandths of a second."
        if verdict is not Verdict.HOLDS
        else ""
    )
    if needed_uF == 0.0:
        return f"{lasts} By the likely figures the supply carries it without a capacitor.{no_cure}"
    if needed_uF > LARGEST_uF:
        return f"{lasts} No capacitor that fits a receiver bridges that: the supply is too small.{no_cure}"
    rounded = math.ceil(needed_uF / 500.0) * 500.0
    return f"{lasts} By the likely figures about {rounded:,.0f} µF bridges it.{no_cure}".replace(",", " ")


def _linear_heat(build: Build, supply_row: Cells, known: _Known) -> Figure | None:
    cells = size_of(build, "pack", "cells_count")
    if text(supply_row, "sort") != "linear" or cells is None:
        return None
    watts = [
        linear_supply_heat(pack_V=FULL_CELL_V * cells[1], rail_V=known.open.value, current_A=current)
        for current in (low_of(known.limit), known.limit.value, high_of(known.limit))
    ]
    return Figure(watts[1], "W", low=watts[0], high=watts[2], origins=rests_on(linear_supply_heat))


def _heat_note(heat: Figure | None) -> tuple[str, ...]:
    if heat is None:
        return ()
    watts = f"If the supply is a linear one, it turns about {heat.value:.0f} W into heat on a full pack"
    return (
        f"{watts} with the servo stalled, and shuts down when too hot: the steering goes dead for a while.",
    )


def moments_with_rest(found: Rail) -> tuple[tuple[str, Figure], ...]:
    """What a picture of the rail shows: no load, then the moments."""
    rest = (("No load", found.open),)
    return tuple(chain(rest, ((moment.name, moment.volts) for moment in found.moments)))
