"""What goes into a car's shocks, diffs and joints, when a rebuild is due by its beliefs, and what harms what.

A rebuild is due by what the car went through, not by a calendar: the chance that it is due now, and the
running from now on at which it is as likely as not.
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

from snugfast.core.errors import NotKnown
from snugfast.core.figures import Figure, Origin
from snugfast.facts.model import Build, Clock, Place
from snugfast.facts.tables import Table
from snugfast.physics.chassis.fills import air_to_leave, shock_volume
from snugfast.records.ledger import CarRecord
from snugfast.usecases.beliefs.stakes import AtRisk
from snugfast.usecases.bench.outlook import Outlook, outlooks
from snugfast.usecases.chassis.setup_record import Cell, set_up_now
from snugfast.usecases.mechanics.tables import Cells, table_of, text, the_number
from snugfast.usecases.shared.applicability import fits
from snugfast.usecases.shared.cautions import Caution, cautioned, cautions_of
from snugfast.usecases.shared.citing import Cited, cited, rests_on
from snugfast.usecases.shared.guides import Guide, guide, guides_of
from snugfast.usecases.shared.lookup import car_and_build
from snugfast.usecases.shared.workshop import Workshop

FOLDER = "fluids"
DUE = 0.5  # as likely as not
TOLD_FROM, MOST_TOLD = 0.02, 4
FAR_OFF = 3.0  # times outside what is common, from where a mistake is likelier than taste
FARTHEST_PACKS = 200.0  # beyond it a figure says nothing
BORE = re.compile(r"bore (\d+(?:\.\d+)?) ?mm")
SCALES = {
    "1/8": "1/8",
    "1/7": "1/8",
    "1/6": "1/8",
    "1/5": "1/5",
    "1/16": "1/18",
    "1/18": "1/18",
    "1/24": "1/18",
}
CAUTIONS = ("power-off", "silicone-oil", "local-rules")
BELIEF = Origin("christer-lee-2000", "delay time: the chance of a defect now, and its rate")
OILS = {"shock oil": "shock", "diff oil": "diff"}


@dataclass(frozen=True, slots=True)
class Oil:
    """The oil at one end of the car: how thick now, what is common, how much of it. None: not known."""

    where: str
    role: str
    now_mm2_s: float | None
    since: str
    usual: Figure | None  # mm²/s at 25 °C
    each: Figure | None  # ml
    count: int
    sentence: str


@dataclass(frozen=True, slots=True)
class DueLine:
    """How soon a job is due at one place, by one way to fail. `packs` is infinite where it is far away."""

    place: str
    mode: str
    chance: float
    running_min: float
    packs: float
    why: str
    sentence: str


@dataclass(frozen=True, slots=True)
class Rebuild:
    """One guided job on this car."""

    job: Guide
    due: tuple[DueLine, ...]
    parts: tuple[str, ...]
    renews: tuple[tuple[str, str], ...]  # places whose parts are new afterwards, as key and name: log them
    log_as: str  # the check to answer when nothing was replaced, "" where there is none


@dataclass(frozen=True, slots=True)
class GreaseLine:
    """What goes where."""

    where: str
    what: str
    how_much: str
    never: str


@dataclass(frozen=True, slots=True)
class AttackLine:
    """What attacks what."""

    substance: str
    on: str
    what_happens: str
    instead: str
    seen: str


@dataclass(frozen=True, slots=True)
class Fluids:
    """The fluids of one car."""

    car: str
    oils: tuple[Oil, ...]
    air: Figure | None  # share of a diff to leave empty
    rebuilds: tuple[Rebuild, ...]
    greases: tuple[GreaseLine, ...]
    attacks: tuple[AttackLine, ...]
    notes: tuple[str, ...]
    cautions: tuple[Caution, ...]
    sources: tuple[Cited, ...]


@cautioned
def fluids_of(workshop: Workshop, car_name: str) -> Fluids:
    """Oils with amounts, greases, rebuilds with when they are due, and what attacks what on this car."""
    car, build = car_and_build(workshop, car_name)
    facts = workshop.facts
    outlook = _outlook(workshop, car)
    jobs = tuple(_jobs(workshop, build, outlook))
    oils = tuple(_oils(workshop, car, build))
    diffs = any(oil.role == "diff" for oil in oils)
    pedigrees = (
        *(_of_row(table, row) for table, row in _rows_here(("greases", "attacks"), build)),
        Figure(0.0, "1", origins=tuple(Origin(job.job.source, job.job.name) for job in jobs)),
        Figure(0.0, "1", origins=(BELIEF,) if jobs else ()),
    )
    found = Fluids(
        car=car.name,
        oils=oils,
        air=_air() if diffs else None,
        rebuilds=jobs,
        greases=tuple(
            GreaseLine(text(row, "where"), text(row, "what"), text(row, "how_much"), text(row, "never"))
            for _, row in _rows_here(("greases",), build)
        ),
        attacks=tuple(
            AttackLine(
                text(row, "substance"),
                text(row, "on"),
                text(row, "what_happens"),
                text(row, "instead"),
                facts.sources[text(row, "row_source")].seen.value,
            )
            for _, row in _rows_here(("attacks",), build)
        ),
        notes=_notes(oils),
        cautions=cautions_of(facts, CAUTIONS),
        sources=(),
    )
    return replace(found, sources=cited(facts, (found, pedigrees)))


def rebuild_of(workshop: Workshop, car_name: str, key: str) -> Rebuild:
    """One guided job on a car. Raises NotKnown for one that this car has nothing for."""
    car, build = car_and_build(workshop, car_name)
    jobs = {job.key: job for job in _guides(workshop, build)}
    wanted = key.strip().casefold().replace("-", "_").replace(" ", "_")
    named = {short_name(name): name for name in jobs}
    job = jobs.get(named.get(wanted, wanted))
    if job is None:
        there = ", ".join(named) or "none"
        raise NotKnown(f"{car.name} has no rebuild “{key.strip()}”.", f"It has: {there}.")
    return _rebuild(workshop, build, job, _outlook(workshop, car))


def short_name(key: str) -> str:
    """A job as it is typed: “shock”, “diff”."""
    return key.removesuffix("_rebuild").removesuffix("_grease")


# Tables.


def _table(name: str) -> Table:
    return table_of(FOLDER, name)


def _rows_here(names: Sequence[str], build: Build) -> Iterator[tuple[Table, Cells]]:
    """The rows of tables that this car has a place for."""
    for name in names:
        table = _table(name)
        for row in table.rows:
            trait, _, value = text(row, "traits").partition("=") if "traits" in row else ("", "", "")
            if build.of_role(text(row, "role")) and (not trait or build.traits.get(trait) == value):
                yield table, row


def _of_row(table: Table, row: Cells) -> Figure:
    return Figure(0.0, "1", origins=(Origin(text(row, "row_source"), table.pedigree.where),))


def _fill(key: str, unit: str) -> Figure:
    row = next(row for row in _table("fills").rows if row["key"] == key)
    low, usual, high = (the_number(row, end) for end in ("low", "usual", "high"))
    return Figure(usual, unit, low=low, high=high, origins=(Origin(text(row, "row_source"), key),))


# Oils.


def _oils(workshop: Workshop, car: CarRecord, build: Build) -> Iterator[Oil]:
    """The oil of each end, as the set-up has it now; corners with the same oil are told together."""
    scale = _scale(build)
    for row in set_up_now(workshop, car.name).rows:
        role = OILS.get(row.item.key)
        if role is None:
            continue
        ends: dict[tuple[str, float | None], list[tuple[str, Cell]]] = {}
        for where, cell in zip(row.places, row.cells, strict=True):
            now = cell.value if isinstance(cell.value, float) else None
            end = where.split(" ")[0] if role == "shock" else where
            ends.setdefault((end, now), []).append((where, cell))
        for (end, now), cells in ends.items():
            place = _place(build, role, end)
            if place is None:
                continue
            each = _shock_ml(build, place) if role == "shock" else _fill(f"diff {scale}", "ml")
            usual = _usual(role, end, scale)
            whole = role == "shock" and len(cells) > 1
            name = (
                f"{end if whole or role == 'diff' else cells[0][0]} {'shock' if role == 'shock' else 'diff'}"
            )
            since = max((cell.since for _, cell in cells), default="")
            yield Oil(
                f"{name.strip().capitalize()}{'s' if whole else ''}",
                role,
                now,
                since,
                usual,
                each,
                len(cells),
                _oil_words(now, since, usual, each, len(cells)),
            )


def _place(build: Build, role: str, where: str) -> Place | None:
    places = build.of_role(role)
    named = [
        place for place in places if where and where in f"{place.name} {' '.join(place.spots)}".casefold()
    ]
    return next(iter(named or places), None)


def _scale(build: Build) -> str:
    return SCALES.get(build.scale, "1/10")


def _shock_ml(build: Build, place: Place) -> Figure | None:
    stroke = place.sizes.get("stroke_mm")
    if not isinstance(stroke, float):
        return None
    said = BORE.search(place.part)
    scale = _scale(build)
    if said is None and scale == "1/18":
        return None
    bore = Figure(float(said.group(1)), "mm") if said else _fill(f"shock bore {scale}", "mm")
    beyond = _fill("shock length beyond the stroke", "mm")
    low, usual, high = (
        1e6 * shock_volume(bore_m=bore_mm * 1e-3, stroke_m=stroke * 1e-3, beyond_m=beyond_mm * 1e-3)
        for bore_mm, beyond_mm in (
            (_low(bore), _low(beyond)),
            (bore.value, beyond.value),
            (_high(bore), _high(beyond)),
        )
    )
    origins = (*rests_on(shock_volume), *bore.origins, *beyond.origins)
    return Figure(usual, "ml", low=low, high=high, origins=origins)


def _low(figure: Figure) -> float:
    return figure.value if figure.low is None else figure.low


def _high(figure: Figure) -> float:
    return figure.value if figure.high is None else figure.high


def _usual(role: str, where: str, scale: str) -> Figure | None:
    key = "shock" if role == "shock" else f"diff {where or 'rear'}"
    table = _table("usual_oils")
    row = next((row for row in table.rows if row["key"] == key and row["scale"] == scale), None)
    if row is None:
        return None
    low, high = the_number(row, "low_mm2_s"), the_number(row, "high_mm2_s")
    origin = Origin(table.pedigree.source, f"{key} {scale}: {table.pedigree.where}")
    return Figure(math.sqrt(low * high), "mm²/s", low=low, high=high, origins=(origin,))


def _oil_words(now: float | None, since: str, usual: Figure | None, each: Figure | None, count: int) -> str:
    words = f"{now:g} cSt" if now is not None else "not entered"
    if now is not None and since:
        words += f" since {since}"
    if usual is not None:
        words += f" (common: {_low(usual):g} to {_high(usual):g})"
    if now is not None and usual is not None and not _low(usual) / FAR_OFF <= now <= _high(usual) * FAR_OFF:
        words += ". Far from common: is that a “weight”? Read cSt off the bottle"
    if each is not None:
        pieces = f", {count} of them" if count > 1 else ""
        words += f"; about {each.value:.1f} ml each ({_low(each):.1f} to {_high(each):.1f}){pieces}"
    return words


def _air() -> Figure:
    swells, warmer = _fill("swells", "1/K"), _fill("diff gets warmer by", "K")
    low, usual, high = (
        air_to_leave(swells_per_K=per_K, warmer_K=kelvin)
        for per_K, kelvin in (
            (_low(swells), _low(warmer)),
            (swells.value, warmer.value),
            (_high(swells), _high(warmer)),
        )
    )
    origins = (*rests_on(air_to_leave), *swells.origins, *warmer.origins)
    return Figure(usual, "1", low=low, high=high, origins=origins)


def _notes(oils: Sequence[Oil]) -> tuple[str, ...]:
    if not oils:
        return ()
    grams = _fill("oil weighs", "g/ml")
    return (
        "cSt on the bottle is mm²/s at 25 °C. “Weight” numbers are each maker’s own: don’t compare them.",
        f"A millilitre weighs about {grams.value:.2f} g: weigh a fill once and write it down.",
    )


# Jobs.


def _outlook(workshop: Workshop, car: CarRecord) -> Outlook:
    return outlooks(workshop, lambda ledger: [ledger.cars[car.id]]).cars[0]


def _guides(workshop: Workshop, build: Build) -> Iterator[Guide]:
    """The jobs this car has places for."""
    for key in guides_of(FOLDER):
        job = guide(workshop.facts, FOLDER, key, build=build)
        if fits(job.traits, build) and all(build.of_role(role) for role in job.roles):
            yield job


def _jobs(workshop: Workshop, build: Build, outlook: Outlook) -> Iterator[Rebuild]:
    """The jobs, what is likeliest due first."""
    made = [_rebuild(workshop, build, job, outlook) for job in _guides(workshop, build)]
    yield from sorted(made, key=lambda one: -max((line.chance for line in one.due), default=0.0))


def _rebuild(workshop: Workshop, build: Build, job: Guide, outlook: Outlook) -> Rebuild:
    checks = workshop.facts.checks
    due = sorted(
        (_due(risk, outlook) for risk in outlook.risks if risk.mode.key in job.modes and risk.place),
        key=lambda line: (-line.chance, line.packs),
    )
    log_as = next((one for one in job.checks if one in checks and fits(checks[one].traits, build)), "")
    renews = tuple((place.key, place.name) for role in job.uses for place in build.of_role(role))
    return Rebuild(job, _worth_telling(due), _parts(build, job), renews, log_as)


def _worth_telling(due: Sequence[DueLine]) -> tuple[DueLine, ...]:
    """The likeliest few; what is far off and hardly likely is left out, where anything else is told."""
    near = [line for line in due if line.chance >= TOLD_FROM or line.packs <= FARTHEST_PACKS]
    return tuple((near or list(due))[:MOST_TOLD])


def _due(risk: AtRisk, outlook: Outlook) -> DueLine:
    """The chance now, and the running until it is as likely as not, at the rate of the driving ahead."""
    assert risk.place is not None
    ahead = outlook.ahead
    units = math.log((1.0 - risk.presence) / (1.0 - DUE)) / risk.rate if risk.rate > 0.0 else math.inf
    units = max(units, 0.0)
    per_pack = risk.exposure / ahead.packs if ahead.packs else 0.0
    packs = units / per_pack if per_pack > 0.0 else math.inf
    minutes = packs * ahead.running_min / ahead.packs if ahead.packs else math.inf
    chance = f"{risk.presence * 100:.0f} % likely now" if risk.presence >= 0.005 else "hardly likely now"
    if risk.presence >= DUE:
        when = "due by what it went through"
    elif packs > FARTHEST_PACKS:
        when = "far off"
    elif risk.mode.clock is Clock.HARD_HITS:
        when = f"as likely as not after some {_about(units)} more hard hits"
    else:
        when = f"as likely as not after about {_round(minutes)} min more, some {_packs(packs)}"
    why = []
    if risk.multiplier > 1.3:
        why.append(f"this car has it {risk.multiplier:.1f} times as often as most")
    if risk.by_late > 0.1 * max(risk.since_look, 1e-9):
        why.append("wet left undried counts")
    if risk.by_stress > 0.1 * max(risk.since_look, 1e-9):
        why.append("heat and load count")
    reasons = f" ({'; '.join(why)})" if why else ""
    name = f"{risk.place.name}: {risk.mode.name[:1].lower()}{risk.mode.name[1:]}"
    return DueLine(
        place=risk.place.name,
        mode=risk.mode.key,
        chance=risk.presence,
        running_min=minutes,
        packs=packs,
        why="; ".join(why),
        sentence=f"{name}, {chance}; {when}{reasons}.",
    )


def _packs(packs: float) -> str:
    count = _about(packs)
    return f"{count} pack{'s' if count > 1 else ''}"


def _about(value: float) -> int:
    """No finer than it is known: to one below twenty, to ten, to fifty from two hundred on."""
    step = 1 if value < 20.0 else 10 if value < 200.0 else 50
    return max(round(value / step) * step, 1)


def _round(minutes: float) -> str:
    step = 5.0 if minutes < 60.0 else 10.0 if minutes < 200.0 else 50.0
    return f"{max(round(minutes / step), 1) * step:.0f}"


def _parts(build: Build, job: Guide) -> tuple[str, ...]:
    """What it uses up, by the build's own parts and prices."""
    found = []
    for role, count in job.uses.items():
        for place in build.of_role(role):
            price = f", {place.price_minor * count / 100:.2f} {build.currency}" if place.price_minor else ""
            found.append(f"{place.name}: {place.part} × {count:g}{price}")
    return tuple(found)
