"""Makes the field sheet: tonight's sheet, fault hunt, runs, what is due after wet, packs, tools, in one file.

Its script and style stand in the file and are named by their hash in its policy, which forbids all else: the
file can ask nobody for anything.
"""

from __future__ import annotations

import base64
import json
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from hashlib import sha256
from pathlib import Path
from typing import TYPE_CHECKING, Any
from uuid import UUID

from snugfast.core.spelling import respell_all, respell_page
from snugfast.core.zones import local_time
from snugfast.exchange.paper.sheet import cautions_short
from snugfast.records.entries import Done, Ground, Wet
from snugfast.usecases.bench.bench_sheet import bench_sheet
from snugfast.usecases.bench.sheet import Asked, Line, Sheet
from snugfast.usecases.bench.treatments import treatments_of
from snugfast.usecases.hunt.tables import hunt_tables
from snugfast.usecases.journal.answer_form import answer_form
from snugfast.usecases.mechanics.tool_kit import tool_kit
from snugfast.usecases.packs.shelf import shelf_of
from snugfast.usecases.packs.state import packs_now
from snugfast.usecases.packs.words import moment_words
from snugfast.usecases.shared.ledger import ledger_now
from snugfast.usecases.shared.lookup import cars_here, packs_here
from snugfast.usecases.shared.workshop import Workshop
from snugfast.web.numbers import minutes
from snugfast.web.showing import HERE as WEB
from snugfast.web.showing import templates

if TYPE_CHECKING:
    from snugfast.usecases.shared.cautions import Caution

HERE = Path(__file__).resolve().parent
SCRIPT, HUNT_SCRIPTS = "field.js", ("hunt.js", "hunt_page.js")
LARGEST = 1_500_000  # bytes
GROUNDS = tuple(ground.value for ground in Ground)
WETS = tuple(wet.value for wet in Wet)
DID = (
    (Done.PUT_RIGHT.value, "Fixed"),
    (Done.RENEWED.value, "Replaced"),
    (Done.LEFT.value, "Not fixed yet"),
)


@dataclass(frozen=True, slots=True)
class FieldLine:
    """One line to do, with what may be found: (what is sent, what it says)."""

    key: str
    car: str
    check: str
    packs: tuple[str, ...]
    number: int
    title: str
    under: str
    minutes: str
    must: bool
    adults: bool
    steps: tuple[str, ...]
    good: str
    bad: str
    cautions: tuple[str, ...]
    found: tuple[tuple[str, str], ...]


@dataclass(frozen=True, slots=True)
class FieldRound:
    """One round of lines."""

    title: str
    hands: str
    cautions: tuple[str, ...]
    opening: tuple[tuple[str, tuple[str, ...]], ...]
    lines: tuple[FieldLine, ...]


@dataclass(frozen=True, slots=True)
class FieldDue:
    """Work after wet."""

    key: str
    car: str
    treatment: str
    title: str
    when: str
    steps: tuple[str, ...]
    late: str
    cautions: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class FieldPack:
    """A pack on the shelf."""

    name: str
    about: str
    sign: str
    what: str
    by: str


@dataclass(frozen=True, slots=True)
class FieldPage:
    """All that stands on a field sheet."""

    id: UUID
    position: int
    title: str
    made: str
    strong: tuple[str, ...]
    fix_first: tuple[tuple[str, str], ...]
    rounds: tuple[FieldRound, ...]
    due: tuple[FieldDue, ...]
    shelf: tuple[FieldPack, ...]
    cars: tuple[str, ...]
    packs: tuple[str, ...]
    grounds: tuple[str, ...]
    wets: tuple[str, ...]
    dids: tuple[tuple[str, str], ...]
    tools: tuple[tuple[str, str], ...]
    spares: tuple[tuple[str, str], ...]
    hunt: Mapping[str, Any]


def field_sheet(workshop: Workshop, asked: Asked) -> str:
    """The file, whole. Nothing is kept: what is noted on it comes home with `take_in_notes`."""
    sheet = bench_sheet(workshop, asked)
    page = _page(workshop, sheet)
    parts = (SCRIPT, *(HUNT_SCRIPTS if page.hunt else ()))
    style, script = _style(), "\n".join([*((HERE / name).read_text("utf-8") for name in parts), "show();"])
    policy = (
        f"default-src 'none'; style-src '{_hash(style)}'; script-src '{_hash(script)}'; "
        "font-src data:; base-uri 'none'; form-action 'none'"
    )
    template = templates().from_string((HERE / "field.html").read_text("utf-8"))
    tables = json.dumps(_respelled(page.hunt), ensure_ascii=False, separators=(",", ":")).replace(
        "<", "\\u003c"
    )
    html = template.render(page=page, style=style, script=script, policy=policy, hunt_json=tables)
    return respell_page(html)


def _page(workshop: Workshop, sheet: Sheet) -> FieldPage:
    with workshop.store.reading() as reads:
        ledger = ledger_now(reads)
    at = local_time(sheet.made_at, workshop.zone)
    shelf = shelf_of(workshop, packs_now(workshop))
    kit = tool_kit(workshop)
    names = [car.name for car in sheet.cars]
    strong = [
        *(f"{one.sentence} {one.way_out}" for one in sheet.blocked),
        *(one.sentence for one in sheet.plugged_in),
        *filter(None, (sheet.shortfall, *sheet.unguarded)),
        *(sentence for ready in sheet.readiness for sentence in ready.sentences),
    ]
    held: list[Caution] = [*sheet.cautions]
    held += (caution for one in sheet.blocked for caution in one.cautions)
    held += (caution for one in sheet.plugged_in for caution in one.cautions)
    held += (caution for one in sheet.readiness for caution in one.cautions)
    strong += [f"For the whole job: {' '.join(cautions_short(held))}"] if held else []
    return FieldPage(
        id=workshop.new_id(),
        position=sheet.position,
        title=f"{', '.join(names) or 'Field sheet'}, in the field",
        made=f"{at:%A} {at.day} {at:%B %Y, %H:%M}",
        strong=tuple(strong),
        fix_first=tuple((f"{job.car_name}: {job.title}", job.job) for job in sheet.fix_first),
        rounds=_rounds(workshop, sheet, several=len(names) > 1),
        due=tuple(
            FieldDue(
                one.key,
                one.car_name,
                one.treatment,
                f"{one.car_name}: {one.name}",
                one.when,
                one.steps,
                one.when_late,
                cautions_short(one.cautions),
            )
            for one in treatments_of(workshop)
        ),
        shelf=tuple(
            FieldPack(
                row.name,
                row.about,
                f"{row.sign.shape} {row.sign.word}",
                row.what,
                moment_words(row.by, workshop.zone, shelf.at) if row.by else "",
            )
            for row in shelf.rows
        ),
        cars=tuple(car.name for car in cars_here(ledger)),
        packs=tuple(pack.name for pack in packs_here(ledger)),
        grounds=GROUNDS,
        wets=WETS,
        dids=DID,
        tools=tuple((tool.name, ", ".join(tool.turns)) for tool in kit.tools),
        hunt=hunt_tables(workshop, ledger, [ledger.cars[car.id] for car in sheet.cars]) if names else {},
        spares=tuple((piece.name, f"{piece.keep.value:.0f}") for piece in kit.hardware),
    )


def _rounds(workshop: Workshop, sheet: Sheet, *, several: bool) -> tuple[FieldRound, ...]:
    with workshop.store.reading() as reads:
        cars = ledger_now(reads).cars
    builds = {car.id: workshop.build(cars[car.id].build) for car in sheet.cars}

    def line(one: Line) -> FieldLine:
        check = one.check
        offered = answer_form(
            workshop.facts, builds[check.car], workshop.facts.checks[check.check], check.chemistry
        )
        found = [(option.said, option.label) for group in offered.found for option in group.options]
        return FieldLine(
            key=check.key,
            car=check.car_name,
            check=check.check,
            packs=one.packs,
            number=one.number,
            title=one.title,
            under=" · ".join(filter(None, (one.place, ", ".join(one.packs), one.tool))),
            minutes=minutes(one.minutes),
            must=one.must,
            adults=one.adults_only,
            steps=check.steps,
            good=check.good,
            bad=check.bad,
            cautions=cautions_short(caution for each in one.checks for caution in each.cautions),
            found=tuple(found),
        )

    return tuple(
        FieldRound(
            title=f"{held.car_name}: {held.name}" if several else held.name,
            hands=held.hands,
            cautions=cautions_short(one for one in held.cautions if one not in sheet.cautions),
            opening=tuple((step.name, step.steps) for step in held.opening),
            lines=tuple(line(one) for one in held.lines),
        )
        for held in sheet.rounds
    )


def _respelled(hunt: Mapping[str, Any]) -> Mapping[str, Any]:
    """The tables of the hunt with their texts as the owner writes them; what is compared stays as it is."""
    return {**hunt, "texts": respell_all(hunt["texts"])} if hunt else hunt


@cache
def _style() -> str:
    font = base64.b64encode((WEB / "static/fonts/encode-sans-latin.woff2").read_bytes()).decode()
    return (HERE / "field.css").read_text("utf-8").replace("FONT", f"data:font/woff2;base64,{font}")


def _hash(text: str) -> str:
    return "sha256-" + base64.b64encode(sha256(text.encode()).digest()).decode()
