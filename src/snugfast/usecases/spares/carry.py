"""What to carry to the next outing: the pieces that save most within what somebody takes along.

Each piece is weighed by what it saves on average: the rest of an outing that would end without it.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from math import inf

from snugfast.core.errors import BadInput
from snugfast.core.figures import Figure, Origin
from snugfast.core.units import Kind as Unit
from snugfast.core.units import read_number, read_quantity
from snugfast.facts.model import Facts, Place
from snugfast.facts.texts import filled
from snugfast.records.entries import Ground, Wet
from snugfast.upkeep.spares import (
    Box,
    Limits,
    Part,
    best_box,
    demand_chances,
    expected_backorders,
    marginal_curve,
)
from snugfast.usecases.beliefs.stakes import Values
from snugfast.usecases.bench.sheet_asked import packs_planned
from snugfast.usecases.mechanics.tool_kit import Tool, tools_for
from snugfast.usecases.shared.applicability import car_checks
from snugfast.usecases.shared.citing import Cited, cited, rests_on
from snugfast.usecases.shared.typed_words import called, read_choice, read_money
from snugfast.usecases.shared.workshop import Workshop
from snugfast.usecases.spares.demand import Day, Going, KindWanted, by_kind, cars_going, first_places

ESTIMATED = Origin("elicited-2026", "weight and room of parts, and what somebody takes along")


@dataclass(frozen=True, slots=True)
class CarrySaid:
    """Which cars go and what may be taken, every field a text; empty means not said."""

    cars: tuple[str, ...] = ()
    pieces: str = ""
    grams: str = ""
    litres: str = ""
    money: str = ""  # to spend on what is not in the box; not said, a box with something in it is all
    trip: str = ""  # what the way there is worth, lost with a car that stands
    packs: str = ""
    wet: str = ""
    ground: str = ""


@dataclass(frozen=True, slots=True)
class CarryLine:
    """One part to take: how many, how many of them are in the box, and why."""

    number: int
    name: str
    take: int
    have: int
    place: str
    buy: int
    chance: Figure  # that one or more are wanted
    saves: Figure
    why: tuple[str, ...]
    cars: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class CurveStep:
    """One more piece on the curve, the one that saves most first, and what is left at stake with it."""

    name: str
    saves: Figure
    left: Figure


@dataclass(frozen=True, slots=True)
class CarryList:
    """What to take, what it saves, what the best of all choices could save more, and the tools for it."""

    cars: tuple[str, ...]
    lines: tuple[CarryLine, ...]
    pieces: int
    mass: Figure
    room: Figure
    at_stake: Figure  # what missing parts would cost on average with nothing taken
    saves: Figure
    gap: Figure
    limits: tuple[str, ...]
    curve: tuple[CurveStep, ...]
    tools: tuple[Tool, ...]
    also: tuple[str, ...]  # what the checks behind these failures need besides
    sources: tuple[Cited, ...] = ()

    @property
    def is_proved(self) -> bool:
        """Whether no other choice within these limits saves more."""
        return self.gap.value < 0.005


def carry_list(workshop: Workshop, said: CarrySaid) -> CarryList:
    """What to carry. Raises NotKnown for a car that is not here, BadInput for words that are no limits."""
    ledger, going = cars_going(workshop, said.cars, day_said(workshop, said))
    values = Values.of(ledger.settings, workshop.facts)
    trip = read_money(said.trip, ledger).minor if said.trip.strip() else 0
    kinds = by_kind(workshop, ledger, going, values, trip=float(trip))
    has_some = any(item.count for item in ledger.stock.kept())
    limits, told = _limits(workshop, said, values.currency, inf if not has_some else 0.0)
    parts = parts_to_weigh(kinds)
    least = workshop.assume("carry_piece_min") * values.bench_minute
    box = best_box(parts, limits, least_worth=least)
    return _told(workshop, going, values, kinds, parts, box, limits, told)


def day_said(workshop: Workshop, said: CarrySaid) -> Day:
    """The day as far as it was said. Raises BadInput for words that are no numbers or no weather."""
    return Day(
        packs=packs_planned(said.packs),
        wet=_wet(workshop, said.wet),
        ground=_ground(workshop, said.ground),
    )


def parts_to_weigh(kinds: Sequence[KindWanted]) -> list[Part]:
    """The kinds as parts of the packing. What has no price here can only be taken from the box."""
    return [
        Part(
            key=f"{n}",
            demand=kind.demand,
            loss=kind.loss,
            price=kind.price if kind.price is not None else 0.0,
            mass_g=kind.mass_g,
            volume_ml=kind.volume_ml,
            have=kind.have,
            most=12 if kind.price is not None else min(12, kind.have),
        )
        for n, kind in enumerate(kinds)
    ]


def _told(
    workshop: Workshop,
    going: Sequence[Going],
    values: Values,
    kinds: Sequence[KindWanted],
    parts: Sequence[Part],
    box: Box,
    limits: Limits,
    told: tuple[str, ...],
) -> CarryList:
    unit = values.currency
    taken = [(kinds[int(key)], count) for key, count in box.counts.items()]
    taken.sort(key=lambda pair: -_saved(*pair))
    lines = tuple(_line(number, kind, count, unit) for number, (kind, count) in enumerate(taken, 1))
    chosen = [parts[int(key)] for key in box.counts]
    curve = marginal_curve(
        parts=[Part(part.key, part.demand, part.loss, mass_g=part.mass_g, volume_ml=part.volume_ml,
                    most=box.counts[part.key]) for part in chosen],
        limits=Limits(limits.pieces, inf, limits.mass_g, limits.volume_ml),
    )  # fmt: skip
    at_stake = Figure(box.without / 100.0, unit, origins=(*rests_on(expected_backorders), ESTIMATED))
    left = box.without
    steps = []
    for step in curve:
        left -= step.saves
        name = kinds[int(step.key)].name
        steps.append(CurveStep(name, Figure(step.saves / 100.0, unit), Figure(left / 100.0, unit)))
    found = CarryList(
        cars=tuple(one.car.name for one in going),
        lines=lines,
        pieces=sum(box.counts.values()),
        mass=Figure(sum(kind.mass_g * n for kind, n in taken), "g", origins=(ESTIMATED,)),
        room=Figure(sum(kind.volume_ml * n for kind, n in taken) / 1000.0, "l", origins=(ESTIMATED,)),
        at_stake=at_stake,
        saves=Figure(box.saves / 100.0, unit, origins=rests_on(marginal_curve)),
        gap=Figure(box.gap / 100.0, unit),
        limits=told,
        curve=tuple(steps),
        tools=tools_for([(one.car, one.place) for kind, _ in taken for one in kind.wanted]),
        also=_also(workshop.facts, going, [one for kind, _ in taken for one in first_modes(kind)]),
    )
    return replace(found, sources=cited(workshop.facts, (found.at_stake, found.saves, found.mass)))


def first_modes(kind: KindWanted, most: int = 2) -> list[tuple[str, str, Place]]:
    """(car, way to fail, place) where it is likeliest to be wanted."""
    ranked = sorted(kind.wanted, key=lambda one: -one.demand.mean)
    return [(one.car, one.mode.key, one.place) for one in ranked[:most]]


def _also(facts: Facts, going: Sequence[Going], modes: Sequence[tuple[str, str, Place]]) -> tuple[str, ...]:
    """What the checks of these ways to fail name besides keys and drivers, which are counted anyway."""
    builds = {one.car.name: one.build for one in going}
    named: dict[str, None] = {}
    for car, mode, _ in modes:
        sees = [
            (cover.detects, check.key, check.tools)
            for check in car_checks(facts, builds[car])
            for cover in check.covers
            if cover.mode == mode
        ]
        tools = max(sees)[2] if sees else ()
        named.update(dict.fromkeys(filled(tool, builds[car]) for tool in tools))
    return tuple(name for name in named if " mm" not in name)


def _line(number: int, kind: KindWanted, count: int, unit: str) -> CarryLine:
    none = float(demand_chances(mean=kind.demand.mean, variance=kind.demand.variance, most=0)[0, 0])
    return CarryLine(
        number=number,
        name=kind.name,
        take=count,
        have=min(kind.have, count),
        place=kind.item.place if kind.item else "",
        buy=max(0, count - kind.have),
        chance=Figure(1.0 - none, "1", origins=rests_on(demand_chances)),
        saves=Figure(_saved(kind, count) / 100.0, unit),
        why=first_places(kind),
        cars=tuple(dict.fromkeys(one.car for one in kind.wanted)),
    )


def _saved(kind: KindWanted, count: int) -> float:
    short = expected_backorders(mean=kind.demand.mean, variance=kind.demand.variance, most=count)[0]
    return float(kind.loss * (short[0] - short[count]))


def _limits(
    workshop: Workshop, said: CarrySaid, currency: str, usual_money: float
) -> tuple[Limits, tuple[str, ...]]:
    """What was said, or is usual. Nobody shops on the way: what the box has is what there is to take."""
    pieces = _number(said.pieces, "pieces", workshop.assume("carry_pieces"))
    mass_g = (
        read_quantity(said.grams, Unit.MASS, default_unit="g", where="weight") * 1000.0
        if said.grams.strip()
        else workshop.assume("carry_mass_g")
    )
    litres = _number(said.litres, "litres", workshop.assume("carry_volume_ml") / 1000.0)
    money = _number(said.money, "money", usual_money)
    told = [f"{pieces:g} pieces", f"{mass_g / 1000.0:g} kg", f"{litres:g} l"]
    if money < inf:
        told.append(f"{money:.2f} {currency} to spend before" if money else "from the box alone")
    return Limits(pieces, money * 100.0, mass_g, litres * 1000.0), tuple(told)


def _number(text: str, where: str, usual: float) -> float:
    if not text.strip():
        return usual
    value = read_number(text, where=where)
    if value < 0.0:
        raise BadInput(f"{where}: {value:g} is less than nothing.", "Give 0 or more.")
    return value


def _wet(workshop: Workshop, text: str) -> Wet | None:
    also = called(workshop.facts, "wet")
    return read_choice(text, Wet, where="wet", also=also) if text.strip() else None


def _ground(workshop: Workshop, text: str) -> Ground | None:
    also = called(workshop.facts, "ground")
    return read_choice(text, Ground, where="ground", also=also) if text.strip() else None
