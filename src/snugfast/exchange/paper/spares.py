"""Spares on paper: what to carry with boxes to tick, and what to buy."""

from __future__ import annotations

from snugfast.core.zones import local_time
from snugfast.exchange.paper.leaf import Leaf, Row, Section
from snugfast.exchange.paper.sheet import NO_LINK, cautions_short
from snugfast.usecases.shared.workshop import Workshop
from snugfast.usecases.spares.buy import BuyList
from snugfast.usecases.spares.carry import CarryLine, CarryList
from snugfast.usecases.spares.plan import DayPlan


def carry_leaf(workshop: Workshop, found: CarryList, link: str = "") -> Leaf:
    """What to carry, and the tools for it."""
    sections = [Section("Parts", tuple(map(carry_row, found.lines)), right="take")]
    tools = (
        *(Row(tool.name, write=False) for tool in found.tools),
        *(Row(a, write=False) for a in found.also),
    )
    if tools:
        sections.append(Section("Tools for these parts", tools))
    return Leaf(
        title=f"Spares to carry for {', '.join(found.cars) or 'no car'}",
        sub=_day(workshop),
        notes=(f"Within {', '.join(found.limits)}; about {found.mass.value:.0f} g.",),
        sections=tuple(section for section in sections if section.rows),
        link=link,
        no_link=NO_LINK,
    )


def buy_leaf(workshop: Workshop, found: BuyList, link: str = "") -> Leaf:
    """What to buy, with its price."""
    rows = tuple(
        Row(
            f"{line.buy} × {line.name}",
            line.supplier,
            "; ".join(line.why),
            right=f"{line.price.value:.2f} {line.price.unit}" if line.price else "",
            write=False,
        )
        for line in found.lines
    )
    return Leaf(
        title="To buy",
        sub=_day(workshop),
        notes=(f"{found.price.value:.2f} {found.price.unit} in all.",) if rows else ("Nothing now.",),
        sections=(Section("Parts", rows),) if rows else (),
        link=link,
        no_link=NO_LINK,
    )


def plan_leaf(workshop: Workshop, plan: DayPlan, link: str = "") -> Leaf:
    """A day out on one page: packs, what to charge, the sheet before, spares, tools."""
    cars = tuple(
        Row(
            one.car,
            f"{one.runs} × about {one.minutes_each:.0f} min",
            ", ".join(one.packs) or "no pack here is fit for it",
            right=f"{one.lacking} short" if one.lacking else "",
            write=False,
        )
        for one in plan.cars
    )
    charge = tuple(
        Row(
            one.pack,
            one.about,
            f"about {one.charge.value * 100:.0f} % full now" if one.charge else "nobody knows how full",
            right=f"about {one.minutes.value:.0f} min",
        )
        for one in plan.charge
    )
    short = "Where packs are short: charge at the field, or drive less."
    sections = [
        Section("Cars and packs", cars),
        Section(
            "To charge before, attended",
            charge,
            right=f"about {plan.charge_min.value:.0f} min on {max(1, plan.channels)} at once",
            cautions=cautions_short(plan.cautions),
        ),
        Section("See to these first", tuple(Row(one, tick=False, write=False) for one in plan.see_to)),
        Section("The wet", tuple(Row(one, tick=False, write=False) for one in plan.wet)),
        Section("Spares", tuple(map(carry_row, plan.spares.lines)), right="take"),
        Section("Tools", tuple(Row(tool.name, write=False) for tool in plan.spares.tools)),
    ]
    return Leaf(
        title=f"Plan for {', '.join(one.car for one in plan.cars) or 'no car'}",
        sub=_day(workshop),
        notes=(
            f"Bench sheet before: about {plan.sheet_min:.0f} min.",
            *((short,) if any(one.lacking for one in plan.cars) else ()),
        ),
        strong=plan.unguarded,
        sections=tuple(one for one in sections if one.rows),
        link=link,
        no_link=NO_LINK,
        pages=1,
    )


def carry_row(line: CarryLine) -> Row:
    """One part to take, with where it lies."""
    lies = line.place if line.have else ""
    return Row(
        line.name,
        f"buy {line.buy} first" if line.buy else lies,
        "; ".join(line.why),
        right=f"{line.take}",
        write=False,
    )


def _day(workshop: Workshop) -> str:
    here = local_time(workshop.now(), workshop.zone)
    return f"{here:%A} {here.day} {here:%B %Y, %H:%M}"
