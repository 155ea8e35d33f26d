"""The set-up of a car as it stands, as it stood on a day, two side by side, and the way back as jobs."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from uuid import UUID

from snugfast.core.errors import BadInput, NotKnown
from snugfast.core.units import Kind, read_quantity
from snugfast.core.zones import local_day, local_time
from snugfast.facts.model import Build, Place
from snugfast.records.entries import Entry, SetUpChanged, SteeringSet
from snugfast.records.ledger import CarRecord, fold
from snugfast.records.moments import read_moment
from snugfast.records.standing import standing
from snugfast.usecases.chassis.setup_items import (
    CORNERS,
    ITEMS,
    Item,
    Per,
    items_of,
    key_of,
    places_of,
    read_change,
    split_key,
    told,
)
from snugfast.usecases.mechanics.drive_ratios import diff_ratio, mesh_ratio
from snugfast.usecases.shared.cautions import Caution, cautions_of
from snugfast.usecases.shared.draft import Draft
from snugfast.usecases.shared.lookup import car_and_build
from snugfast.usecases.shared.workshop import Workshop

NOT_ENTERED = "–"


@dataclass(frozen=True, slots=True)
class SetUpSaid:
    """A change as typed; empty means not said. `changes` are each like “camber front -2”."""

    car: str
    changes: tuple[str, ...] = ()
    why: str = ""
    drove: str = ""
    track: str = ""
    weather: str = ""
    air: str = ""
    when: str = ""
    id: UUID | None = None


@dataclass(frozen=True, slots=True)
class Cell:
    """One value: in words, since when, what stood before, and whether only the build says it."""

    text: str
    value: float | str | None = None
    since: str = ""
    before: str = ""
    of_build: bool = False


@dataclass(frozen=True, slots=True)
class RecordRow:
    """One quantity with its value at each place; `places` and `cells` belong together."""

    item: Item
    places: tuple[str, ...]
    cells: tuple[Cell, ...]

    @property
    def entered(self) -> bool:
        """Whether anything is known."""
        return any(cell.value is not None for cell in self.cells)


@dataclass(frozen=True, slots=True)
class Change:
    """One entry of the record."""

    id: UUID
    day: str
    what: str
    why: str
    drove: str
    where: str  # track and weather


@dataclass(frozen=True, slots=True)
class SetUp:
    """A set-up at one time. `strip` is the drivetrain from battery to wheels, as name and value."""

    car: str
    at: datetime
    day: str
    strip: tuple[tuple[str, str], ...]
    corners: tuple[RecordRow, ...]
    rest: tuple[RecordRow, ...]
    steering: str
    notes: tuple[str, ...]
    changes: tuple[Change, ...]
    tracks: tuple[str, ...]

    @property
    def rows(self) -> tuple[RecordRow, ...]:
        """All quantities."""
        return (*self.corners, *self.rest)


@dataclass(frozen=True, slots=True)
class Difference:
    """One thing that differs between two records."""

    name: str
    where: str
    one: str
    other: str


@dataclass(frozen=True, slots=True)
class Job:
    """One thing to do to get back to a set-up."""

    text: str
    how: str
    cautions: tuple[Caution, ...]


@dataclass(frozen=True, slots=True)
class WayBack:
    """What it takes to be back at a set-up of before."""

    car: str
    day: str
    jobs: tuple[Job, ...]
    unknown: tuple[str, ...]  # set now, and not known of that day


def set_up_now(workshop: Workshop, car_name: str) -> SetUp:
    """The set-up as it stands."""
    return _set_up(workshop, car_name, workshop.now())


def set_up_at(workshop: Workshop, car_name: str, words: str) -> SetUp:
    """The set-up on a day, or when it was last entered at a track of that name."""
    car, _ = car_and_build(workshop, car_name)
    return _set_up(workshop, car_name, _moment_of(workshop, car, words))


def draft_set_up(workshop: Workshop, said: SetUpSaid) -> Draft:
    """The entry of a change. Raises BadInput or NotKnown for what this car's set-up does not have."""
    car, build = car_and_build(workshop, said.car)
    values: dict[str, float | str] = {}
    for change in said.changes:
        for one in filter(None, (part.strip() for part in change.replace("\n", ";").split(";"))):
            values.update(read_change(one, build))
    if not values and not said.drove.strip() and not said.why.strip():
        raise BadInput(
            "Nothing was changed and nothing was said.",
            "Write a change like “camber front -2” or “shock oil rear 350”, or how it drove.",
        )
    moment = read_moment(said.when, now=workshop.now(), zone=workshop.zone)
    air_degC = None
    if said.air.strip():
        air_degC = read_quantity(said.air, Kind.TEMPERATURE, default_unit="°C", where="air") - 273.15
        if not -40.0 <= air_degC <= 60.0:
            raise BadInput(f"{air_degC:g} °C is no weather to drive in.", "Give the air like 14 °C.")
    fact = SetUpChanged(
        car.id,
        values,
        said.why.strip(),
        said.drove.strip(),
        said.track.strip(),
        said.weather.strip(),
        round(air_degC, 1) if air_degC is not None else None,
    )
    entry = workshop.entry(
        fact, happened_at=moment.at, precision=moment.precision, id=said.id, typed="; ".join(said.changes)
    )
    return Draft.told_now(workshop, (entry,))


def changed_fields(workshop: Workshop, car_name: str, fields: Mapping[str, str]) -> tuple[str, ...]:
    """Of a whole form, “camber/front left” to what stands in it, the changes: those that differ from now."""
    now = {
        key_of(row.item, place): cell
        for row in set_up_now(workshop, car_name).rows
        for place, cell in zip(row.places, row.cells, strict=True)
    }
    changes = []
    for key, text in fields.items():
        item, where = split_key(key)
        if item is None or not text.strip() or (key in now and text.strip() == field_text(now[key])):
            continue
        changes.append(" ".join(filter(None, (item.key, where, text.strip()))))
    return tuple(changes)


def field_text(cell: Cell) -> str:
    """A value as it stands in a field."""
    if cell.value is None:
        return ""
    return cell.value if isinstance(cell.value, str) else f"{cell.value:g}"


def differences(one: SetUp, other: SetUp) -> tuple[Difference, ...]:
    """What differs between two records, drivetrain first; what neither has is left out."""
    found = [
        Difference(name, "", left or NOT_ENTERED, right or NOT_ENTERED)
        for name, left, right in _both(dict(one.strip), dict(other.strip))
        if left != right
    ]
    mine, theirs = _cells(one), _cells(other)
    for key in sorted({*mine, *theirs}, key=_order):
        item, where = split_key(key)
        left, right = mine.get(key), theirs.get(key)
        if item is None or (left and left.value) == (right and right.value):
            continue
        found.append(
            Difference(
                item.name, where, left.text if left else NOT_ENTERED, right.text if right else NOT_ENTERED
            )
        )
    if one.steering != other.steering:
        found.append(
            Difference("Steering end points", "", one.steering or NOT_ENTERED, other.steering or NOT_ENTERED)
        )
    return tuple(_merged(found))


def way_back(workshop: Workshop, car_name: str, words: str) -> WayBack:
    """The jobs that put a car back to how it was on a day, or last at a track."""
    now, then = set_up_now(workshop, car_name), set_up_at(workshop, car_name, words)
    jobs, unknown = [], []
    for difference in differences(now, then):
        where = f", {difference.where}" if difference.where else ""
        name = f"{difference.name}{where}"
        if difference.other == NOT_ENTERED:
            unknown.append(f"{name} (now {difference.one})")
            continue
        item = next((item for item in ITEMS if item.name == difference.name), None)
        now_words = f" (now {difference.one})" if difference.one != NOT_ENTERED else ""
        how = item.how if item else _how_of_strip(difference.name)
        keys = item.cautions if item else ("power-off", "hot-parts")
        jobs.append(Job(f"{name}: {difference.other}{now_words}", how, cautions_of(workshop.facts, keys)))
    return WayBack(now.car, then.day, tuple(jobs), tuple(unknown))


def _how_of_strip(name: str) -> str:
    if name == "Gearing":
        return "Change the gears, set the mesh, then say so under “Change parts”."
    if name == "Steering end points":
        return "On that radio, this car’s model; then listen at full lock, two seconds at most."
    return "Fit this part, then say so under “Change parts”."


def _set_up(workshop: Workshop, car_name: str, at: datetime) -> SetUp:
    car, _ = car_and_build(workshop, car_name)
    entries = _entries(workshop, car)
    until = [entry for entry in entries if entry.happened_at <= at]
    build = _build_then(workshop, car, until)
    stands: dict[str, tuple[float | str, Entry]] = {}
    before: dict[str, float | str] = {}
    for entry in until:
        if isinstance(entry.fact, SetUpChanged):
            for key, value in entry.fact.values.items():
                if key in stands and stands[key][0] != value:
                    before[key] = stands[key][0]
                stands[key] = (value, entry)
    rows = [_row(item, build, stands, before, workshop.zone) for item in items_of(build)]
    changes = [_change(entry, workshop.zone) for entry in until if isinstance(entry.fact, SetUpChanged)]
    tracks = [entry.fact.track for entry in reversed(until) if isinstance(entry.fact, SetUpChanged)]
    return SetUp(
        car=car.name,
        at=at,
        day=local_day(at, workshop.zone),
        strip=tuple(_strip(build)),
        corners=tuple(row for row in rows if row.item.per is Per.CORNER),
        rest=tuple(row for row in rows if row.item.per is not Per.CORNER),
        steering=_steering(until),
        notes=tuple(_notes(rows)),
        changes=tuple(reversed(changes)),
        tracks=tuple(dict.fromkeys(filter(None, tracks))),
    )


def _entries(workshop: Workshop, car: CarRecord) -> tuple[Entry, ...]:
    with workshop.store.reading() as reads:
        return tuple(standing(reads.entries_of([car.id, *car.swapped_with])).entries)


def _build_then(workshop: Workshop, car: CarRecord, until: Sequence[Entry]) -> Build:
    """The build as it was then; before the car was here, as it came."""
    then = fold(until).cars.get(car.id)
    return workshop.build((then or car).build)


def _row(
    item: Item,
    build: Build,
    stands: Mapping[str, tuple[float | str, Entry]],
    before: Mapping[str, float | str],
    zone: str,
) -> RecordRow:
    places = places_of(item, build)
    cells = []
    for place in places:
        key = key_of(item, place)
        if key in stands:
            value, entry = stands[key]
            was = told(item, before[key]) if key in before else ""
            cells.append(Cell(told(item, value), value, local_day(entry.happened_at, zone), was))
        else:
            known = _of_build(item, place, build)
            cells.append(
                Cell(told(item, known), known, of_build=True) if known is not None else Cell(NOT_ENTERED)
            )
    return RecordRow(item, places, tuple(cells))


_SIZES = {
    "spring": ("shock_spring", "rate_N_per_mm"),
    "shock oil": ("shock", "oil_mm2_s"),
    "diff oil": ("diff", "oil_mm2_s"),
    "bar": ("anti_roll_bar", "section_mm"),
}


def _of_build(item: Item, where: str, build: Build) -> float | str | None:
    """What the build says of a quantity, where it says anything."""
    if item.key == "tyres":
        return next((place.part for place in build.of_role("tyre") if _there(place, where)), None)
    if item.key not in _SIZES:
        return None
    role, size = _SIZES[item.key]
    for place in build.of_role(role):
        value = place.sizes.get(size)
        if isinstance(value, float) and _there(place, where):
            return value
    return None


def _there(place: Place, where: str) -> bool:
    """Whether a place is at an end of the car; a place that names no end is at all of them."""
    end = where.split(" ")[0]
    words = " ".join((place.name, *place.spots)).casefold()
    ends = [one for one in ("front", "centre", "rear") if one in words]
    return not ends or end in ends


def _strip(build: Build) -> list[tuple[str, str]]:
    """The drivetrain from motor to wheels."""
    strip = []
    for role, name in (("motor", "Motor"), ("controller", "ESC")):
        places = build.of_role(role)
        if places:
            strip.append((name, places[0].part))
    pinion, spur = (
        next((place.sizes.get("teeth_count") for place in build.of_role(role)), None)
        for role in ("pinion", "spur")
    )
    if isinstance(pinion, float) and isinstance(spur, float):
        internal = next((place.sizes.get("internal_ratio") for place in build.of_role("spur")), None)
        inner = internal if isinstance(internal, float) else diff_ratio(build)
        mesh = mesh_ratio(build)
        final = f", final drive {mesh * inner:.2f}" if mesh and inner else ""
        strip.append(("Gearing", f"{pinion:.0f}T/{spur:.0f}T{final}"))
    if build.traits.get("diff") != "geared, oil filled":
        strip.append(("Diffs", build.traits.get("diff", "")))
    return [one for one in strip if one[1]]


def _steering(until: Sequence[Entry]) -> str:
    """The end points that stood, in words."""
    sets = [
        entry.fact for entry in until if isinstance(entry.fact, SteeringSet) and entry.fact.left is not None
    ]
    if not sets:
        return ""
    last = sets[-1]
    ends = ", ".join(
        f"{name} {value:g} {last.unit.value}"
        for name, value in (("left", last.left), ("right", last.right), ("sub-trim", last.centre))
        if value is not None
    )
    return f"{last.radio}: {ends}"


def _notes(rows: Sequence[RecordRow]) -> list[str]:
    """What is half known: a side without its other, and sides that differ."""
    notes = []
    for row in rows:
        if row.item.per is not Per.CORNER:
            continue
        for end, pair in (("front", row.cells[:2]), ("rear", row.cells[2:])):
            known = [cell for cell in pair if cell.value is not None]
            if len(known) == 1:
                notes.append(f"{row.item.name}, {end}: entered on one side only.")
            elif len(known) == 2 and known[0].value != known[1].value and row.item.key != "toe":
                notes.append(
                    f"{row.item.name}, {end}: left {known[0].text}, right {known[1].text}. If that is not "
                    "meant, "
                    "measure again."
                )
    return notes


def _change(entry: Entry, zone: str) -> Change:
    fact = entry.fact
    assert isinstance(fact, SetUpChanged)
    parts = []
    for key, value in fact.values.items():
        item, where = split_key(key)
        name = f"{item.name if item else key}{f', {where}' if where else ''}"
        parts.append(Difference(name, "", "", told(item, value) if item else str(value)))
    named = [Difference(*_split(one.name), "", one.other) for one in parts]
    what = "; ".join(
        f"{one.name}{f', {one.where}' if one.where else ''} {one.other}" for one in _merged(named)
    )
    air = f"{fact.air_degC:g} °C" if fact.air_degC is not None else ""
    return Change(
        entry.id,
        local_day(entry.happened_at, zone),
        what,
        fact.why,
        fact.drove,
        ", ".join(filter(None, (fact.track, fact.weather, air))),
    )


def _split(name: str) -> tuple[str, str]:
    head, _, where = name.partition(", ")
    return head, where


def _merged(found: Sequence[Difference]) -> list[Difference]:
    """Corners that say the same put together: “front left” and “front right” are “front”."""
    merged: list[Difference] = []
    for one in found:
        for wheres, name in ((CORNERS[:2], "front"), (CORNERS[2:], "rear")):
            pair = [
                other
                for other in found
                if other.where in wheres
                and (other.name, other.one, other.other) == (one.name, one.one, one.other)
            ]
            if one.where in wheres and len(pair) == 2:
                one = Difference(one.name, name, one.one, one.other)
        if one not in merged:
            merged.append(one)
    return merged


def _cells(set_up: SetUp) -> dict[str, Cell]:
    return {
        key_of(row.item, place): cell
        for row in set_up.rows
        for place, cell in zip(row.places, row.cells, strict=True)
        if cell.value is not None
    }


def _order(key: str) -> tuple[int, str]:
    item, where = split_key(key)
    number = ITEMS.index(item) if item else len(ITEMS)
    return (number, where)


def _both(one: Mapping[str, str], other: Mapping[str, str]) -> list[tuple[str, str, str]]:
    return [(name, one.get(name, ""), other.get(name, "")) for name in dict.fromkeys((*one, *other))]


def _moment_of(workshop: Workshop, car: CarRecord, words: str) -> datetime:
    """The end of a day, or the last time at a track. Raises NotKnown with the tracks there are."""
    wanted = words.strip().casefold()
    entries = [entry for entry in _entries(workshop, car) if isinstance(entry.fact, SetUpChanged)]
    at_track = [
        entry
        for entry in entries
        if isinstance(entry.fact, SetUpChanged)
        and wanted
        and (wanted == entry.fact.track.casefold() or wanted == entry.fact.weather.casefold())
    ]
    if at_track:
        return at_track[-1].happened_at
    try:
        moment = read_moment(words, now=workshop.now(), zone=workshop.zone)
    except BadInput:
        tracks = dict.fromkeys(
            entry.fact.track for entry in entries if isinstance(entry.fact, SetUpChanged) and entry.fact.track
        )
        listed = f" Tracks here: {', '.join(tracks)}." if tracks else ""
        raise NotKnown(
            f"“{words}” is neither a day nor a track of {car.name}.",
            f"Write a day like 2026-05-03 or yesterday.{listed}",
        ) from None
    here = local_time(moment.at, workshop.zone)
    has_time = ":" in words
    return moment.at if has_time else moment.at + (timedelta(days=1) - _into_day(here)) - timedelta(seconds=1)


def _into_day(here: datetime) -> timedelta:
    return timedelta(hours=here.hour, minutes=here.minute, seconds=here.second)
