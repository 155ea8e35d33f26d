"""Spares on paper: what to carry with boxes to tick, and what to buy."""

from __future__ import annotations

from snugfast.core.zones import local_time
from snugfast.exchange.paper.leaf import Leaf, Row, Section
from snugfast.exchange.paper.sheet import NO_LINK
from snugfast.usecases.shared.workshop import Workshop
from snugfast.usecases.spares.buy import BuyList
from snugfast.usecases.spares.carry import CarryLine, CarryList


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
