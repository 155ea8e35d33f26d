"""Lists on paper: the shelf of packs, what is due after wet, what to take along, tools and hardware."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from datetime import datetime

from snugfast.core.zones import local_time
from snugfast.exchange.paper.leaf import Leaf, Row, Section
from snugfast.exchange.paper.sheet import NO_LINK, cautions_short
from snugfast.exchange.paper.spares import carry_row
from snugfast.usecases.bench.bench_sheet import bench_sheet
from snugfast.usecases.bench.sheet import Asked
from snugfast.usecases.bench.treatments import treatments_of
from snugfast.usecases.chassis.radio import learner_limits
from snugfast.usecases.chassis.setup_record import Change, RecordRow, set_up_now
from snugfast.usecases.mechanics.tool_kit import tool_kit
from snugfast.usecases.packs.shelf import Shelf, ShelfRow, Sign, shelf_of
from snugfast.usecases.packs.state import packs_now
from snugfast.usecases.packs.words import moment_words
from snugfast.usecases.shared.ledger import ledger_now
from snugfast.usecases.shared.lookup import cars_here
from snugfast.usecases.shared.workshop import Workshop
from snugfast.usecases.spares.carry import CarrySaid, carry_list

TO_TAKE = (Sign.READY, Sign.EASY)
RUN_HEADS = ("car", "pack", "min", "ground", "wet", "hits", "felt hot, broke, noticed")
RUN_ROWS = 9
CHANGES_ON_PAPER = 6
FIELD_MINUTES = 5.0


def shelf_leaf(workshop: Workshop, link: str = "") -> Leaf:
    """All packs, those that ask soonest first, with room for a voltage."""
    shelf = shelf_of(workshop, packs_now(workshop))
    held = (caution for row in shelf.rows for one in row.todo for caution in one.cautions)
    rows = tuple(_pack(row, shelf, workshop.zone) for row in shelf.rows)
    return Leaf(
        title="Pack shelf",
        sub=_day(shelf.at, workshop.zone),
        notes=(shelf.sentence,),
        sections=(Section("Packs", rows, cautions=cautions_short(held)),),
        link=link,
        no_link=NO_LINK,
        heads=("V of each cell, done", "by"),
    )


def wet_leaf(workshop: Workshop, link: str = "") -> Leaf:
    """What is due after wet on all cars, step by step, the earliest first."""
    sections = tuple(
        Section(
            title=f"{due.car_name}: {due.name}",
            sub=due.when,
            right=f"{due.minutes:.0f} min",
            cautions=cautions_short(due.cautions),
            rows=(
                *(Row(title=step, write=False) for step in due.steps),
                Row(title=f"When it is late: {due.when_late}", tick=False, write=False),
            ),
        )
        for due in treatments_of(workshop)
    )
    return Leaf(
        title="After wet",
        sub=_day(workshop.now(), workshop.zone),
        notes=() if sections else ("Nothing is due after wet.",),
        sections=sections,
        link=link,
        no_link=NO_LINK,
    )


def outing_leaf(workshop: Workshop, link: str = "") -> Leaf:
    """What to take, what to check before the first pack, and where to write the runs down."""
    with workshop.store.reading() as reads:
        here = [car for car in cars_here(ledger_now(reads)) if car.laid_up_at is None]
    cars = [car.name for car in here]
    limits = {car.name: learner_limits(workshop, car) for car in here}
    shelf = shelf_of(workshop, packs_now(workshop))
    take = [row for row in shelf.rows if row.sign in TO_TAKE]
    stay = [row for row in shelf.rows if row.sign not in TO_TAKE]
    sheet = bench_sheet(workshop, Asked(minutes=FIELD_MINUTES, in_field=True))
    musts = [(held, line) for held in sheet.rounds for line in held.lines if line.must]
    by_look: dict[tuple[str, str, bool], list[str]] = {}
    for _, line in musts:
        whose = ", ".join((line.check.car_name, *line.packs))
        by_look.setdefault((line.title, line.check.good, line.adults_only), []).append(whose)
    kit = tool_kit(workshop)
    blocked = {one.car_name: one.sentence for one in sheet.blocked}
    sections = [
        Section("Cars", tuple(Row(name, text=_of_car(blocked, limits, name), write=False) for name in cars)),
        Section("Packs", tuple(replace(_pack(row, shelf, workshop.zone), write=False) for row in take)),
    ]
    if stay:
        rows = tuple(
            Row(row.name, row.about, f"{row.sign.word}: {row.what}".rstrip(": "), tick=False, write=False)
            for row in stay
        )
        sections.append(Section("Packs to see to first", rows))
    sections += [
        Section(
            "Before the first pack",
            tuple(
                Row(
                    title,
                    "; ".join(whose),
                    f"Good: {good}",
                    must=True,
                    adults="Adults" if adults else "",
                    write=False,
                )
                for (title, good, adults), whose in by_look.items()
            ),
            cautions=cautions_short((*sheet.cautions, *(c for held, _ in musts for c in held.cautions))),
        ),
        Section("Spares", _spares(workshop), sub="the box’s own, what saves most first"),
        Section("Tools", tuple(Row(tool.name, ", ".join(tool.turns), write=False) for tool in kit.tools)),
        Section("Runs", blank=RUN_HEADS, blank_rows=RUN_ROWS, sub="write each down at once"),
    ]
    return Leaf(
        title="Outing list",
        sub=f"{_day(workshop.now(), workshop.zone)}",
        notes=("Also: the transmitter, what charges the packs, water and a cloth.",),
        strong=tuple(sheet.unguarded),
        sections=tuple(one for one in sections if one.rows or one.blank),
        link=link,
        no_link=NO_LINK,
    )


def _of_car(blocked: Mapping[str, str], limits: Mapping[str, str], name: str) -> str:
    learner = f"Before a child drives: {limits[name]}." if limits[name] else ""
    return " ".join(filter(None, (blocked.get(name, ""), learner)))


def set_up_leaf(workshop: Workshop, car: str, link: str = "") -> Leaf:
    """The set-up of a car on one page: drivetrain, four corners, the rest, and the last changes."""
    held = set_up_now(workshop, car)
    sections = [
        Section("Drivetrain", tuple(Row(f"{name}: {value}", tick=False) for name, value in held.strip))
    ]
    for title, rows in (("Corners", held.corners), ("Diffs, bars, tyres, radio", held.rest)):
        lines = tuple(
            Row(row.item.name, text=_places(row), tick=False)
            for row in rows
            if row.entered or row in held.corners
        )
        sections.append(Section(title, lines))
    if held.steering:
        sections.append(Section("Steering end points", (Row(held.steering, tick=False),)))
    changes = tuple(
        Row(f"{one.day}: {one.what or 'as it stood'}", text=_because(one), tick=False, write=False)
        for one in held.changes[:CHANGES_ON_PAPER]
    )
    if changes:
        sections.append(Section("Last changes", changes))
    return Leaf(
        title=f"Set-up of {held.car}",
        sub=_day(held.at, workshop.zone),
        notes=held.notes,
        sections=tuple(one for one in sections if one.rows),
        link=link,
        no_link=NO_LINK,
        pages=1,
        heads=("now", ""),
    )


def _places(row: RecordRow) -> str:
    return "   ".join(
        f"{place}: {cell.text}" if place else cell.text
        for place, cell in zip(row.places, row.cells, strict=True)
    )


def _because(change: Change) -> str:
    return "; ".join(filter(None, (change.where, change.why, change.drove)))


def _spares(workshop: Workshop) -> tuple[Row, ...]:
    """What to take out of the box; nothing where there is no box."""
    with workshop.store.reading() as reads:
        if not ledger_now(reads).stock.kept():
            return ()
    return tuple(map(carry_row, carry_list(workshop, CarrySaid(money="0")).lines))


def kit_leaf(workshop: Workshop, cars: Sequence[str] = (), link: str = "") -> Leaf:
    """Tools and hardware for some cars, or for all."""
    kit = tool_kit(workshop, cars)
    return Leaf(
        title=f"Tools and hardware for {', '.join(kit.cars) or 'no car yet'}",
        sub=_day(workshop.now(), workshop.zone),
        sections=(
            Section(
                "Tools",
                tuple(
                    Row(tool.name, ", ".join(tool.turns), right=f"{tool.count}", write=False)
                    for tool in kit.tools
                ),
                right="turns",
            ),
            Section(
                "Screws and nuts",
                tuple(
                    Row(
                        piece.name,
                        piece.tool,
                        ", ".join(f"{car} {number}" for car, number in piece.by_car),
                        right=f"{piece.count}, keep {piece.keep.value:.0f}",
                        write=False,
                    )
                    for piece in kit.hardware
                ),
                right="on the cars, in the box",
            ),
        ),
        link=link,
        no_link=NO_LINK,
    )


def _pack(row: ShelfRow, shelf: Shelf, zone: str) -> Row:
    said = f"{row.sign.shape} {row.sign.word}"
    charge = f", about {row.charge.value * 100:.0f} % full" if row.charge else ""
    return Row(
        title=row.name,
        under=row.about,
        text=f"{said}{charge}.{f' {row.what}' if row.what else ''}",
        right=moment_words(row.by, zone, shelf.at) if row.by else "",
    )


def _day(at: datetime, zone: str) -> str:
    here = local_time(at, zone)
    return f"{here:%A} {here.day} {here:%B %Y, %H:%M}"
