"""The smallest set of tools that turns every screw and nut of some cars, and the hardware to keep."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from snugfast.core.figures import Figure, Origin
from snugfast.facts.model import Build, Place
from snugfast.numerics.covering import cheapest_cover
from snugfast.records.ledger import CarRecord
from snugfast.usecases.mechanics.tables import from_table, mechanics, number, text
from snugfast.usecases.shared.citing import Cited, cited
from snugfast.usecases.shared.ledger import ledger_now
from snugfast.usecases.shared.lookup import car_and_build, cars_here
from snugfast.usecases.shared.workshop import Workshop

# What form of tool can turn what: a socket reaches a nut deep in a wheel, an open wrench the flats of a rod.
FORMS = {
    "hex driver": ("hex driver",),
    "nut": ("socket", "open"),
    "wheel nut": ("socket",),
    "flats": ("open",),
    "cross recess": ("cross recess",),
    "six-lobe": ("six-lobe",),
}
# Far below the price of one tool, so that it only decides between sets of equal number.
PER_SIZE = 1e-3
SPARES_SHARE, FEWEST_SPARES = 0.25, 2
SPARES = Origin("elicited-mechanics", "a quarter of what the cars carry, at least two")


@dataclass(frozen=True, slots=True, order=True)
class Need:
    """One thing to be turned: what it is, and its width across flats (0 where it goes by type)."""

    kind: str
    size_mm: float

    @property
    def words(self) -> str:
        """As a person says it: “hex driver 2 mm”, “wheel nut 7 mm”."""
        return f"{self.kind} {self.size_mm:g} mm" if self.size_mm else self.kind


@dataclass(frozen=True, slots=True)
class Tool:
    """One tool of the kit: what it turns here, and how many screws and nuts that is."""

    name: str
    turns: tuple[str, ...]
    count: int
    cars: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class CarKit:
    """The smallest set for one car."""

    car: str
    tools: tuple[Tool, ...]


@dataclass(frozen=True, slots=True)
class Hardware:
    """One kind of screw or nut: how many the cars carry, and how many to keep."""

    thread: str
    head: str
    length_mm: float | None
    tool: str
    count: int
    keep: Figure
    by_car: tuple[tuple[str, int], ...]

    @property
    def name(self) -> str:
        """As one asks for it: “M3 × 8 button”."""
        length = f" × {self.length_mm:g}" if self.length_mm else ""
        return f"{self.thread}{length} {self.head}".strip()


@dataclass(frozen=True, slots=True)
class ToolKit:
    """Tools and hardware of some cars. `hex_keys` counts the screws that each key turns, most first."""

    cars: tuple[str, ...]
    tools: tuple[Tool, ...]
    per_car: tuple[CarKit, ...]
    hex_keys: tuple[tuple[float, int], ...]
    hardware: tuple[Hardware, ...]
    tools_from: Figure
    sources: tuple[Cited, ...] = ()


@dataclass(frozen=True, slots=True)
class _Turned:
    """Something to be turned at one place of a car."""

    car: str
    place: Place
    need: Need
    count: int


def tool_kit(workshop: Workshop, cars: Sequence[str] = ()) -> ToolKit:
    """The kit for the cars named, or for all that are here. Raises NotKnown for a car that is not here."""
    builds = [(car.name, build) for car, build in _builds(workshop, cars)]
    turned = [one for car, build in builds for one in _turned(car, build)]
    tools = _smallest(turned)
    hardware = tuple(_hardware(builds))
    counted = Figure(len(tools), "1", origins=(from_table("bench_tools"),))
    return ToolKit(
        cars=tuple(car for car, _ in builds),
        tools=tools,
        per_car=tuple(CarKit(car, _smallest([one for one in turned if one.car == car])) for car, _ in builds),
        hex_keys=_hex_keys(turned),
        hardware=hardware,
        tools_from=counted,
        sources=cited(workshop.facts, (counted, hardware)),
    )


def tools_for(places: Iterable[tuple[str, Place]]) -> tuple[Tool, ...]:
    """The fewest tools that turn what sits in these places, each with the name of its car."""
    once = {(car, place.key): (car, place) for car, place in places}.values()
    return _smallest(
        [_Turned(car, place, need, place.pieces) for car, place in once for need in _needs(place)]
    )


def _builds(workshop: Workshop, names: Sequence[str]) -> list[tuple[CarRecord, Build]]:
    if not names:
        with workshop.store.reading() as reads:
            names = [car.name for car in cars_here(ledger_now(reads))]
    return [car_and_build(workshop, name) for name in names]


def _turned(car: str, build: Build) -> Iterable[_Turned]:
    for place in build.places:
        for need in _needs(place):
            yield _Turned(car, place, need, place.pieces)


def _needs(place: Place) -> Iterable[Need]:
    """What the sizes of a place ask for."""
    key_mm, wrench_mm = place.sizes.get("key_mm"), place.sizes.get("wrench_mm")
    head = str(place.sizes.get("head", ""))
    if isinstance(key_mm, float):
        yield Need("hex driver", key_mm)
    if isinstance(wrench_mm, float):
        if place.role == "wheel_nut":
            yield Need("wheel nut", wrench_mm)
        else:
            yield Need("nut" if head else "flats", wrench_mm)
    for form in ("cross recess", "six-lobe"):
        if form in head and not isinstance(key_mm, float):
            yield Need(form, 0.0)


def _smallest(turned: Sequence[_Turned]) -> tuple[Tool, ...]:
    """The fewest tools that turn everything; of equal sets the plainest."""
    needs = sorted({one.need for one in turned})
    sold = _sold(needs)
    covers = [[number for number, need in enumerate(needs) if _fits(sizes, need)] for sizes in sold.values()]
    costs = [1.0 + PER_SIZE * len(sizes) for sizes in sold.values()]
    taken = cheapest_cover(covers, costs, len(needs))
    names = list(sold)
    return tuple(_tool(names[number], [needs[item] for item in covers[number]], turned) for number in taken)


def _sold(needs: Sequence[Need]) -> dict[str, set[tuple[str, float]]]:
    """The tools there are, with the forms and sizes they turn; what no tool turns is its own tool."""
    sold: dict[str, set[tuple[str, float]]] = {}
    for row in mechanics("bench_tools").rows:
        sizes = sold.setdefault(text(row, "tool"), set())
        sizes.add((text(row, "form"), number(row, "size_mm") or 0.0))
    for need in needs:
        if not any(_fits(sizes, need) for sizes in sold.values()):
            sold[f"a tool for {need.words}"] = {(FORMS[need.kind][0], need.size_mm)}
    return sold


def _fits(sizes: set[tuple[str, float]], need: Need) -> bool:
    return any((form, need.size_mm) in sizes for form in FORMS[need.kind])


def _tool(name: str, needs: Sequence[Need], turned: Sequence[_Turned]) -> Tool:
    used = [one for one in turned if one.need in needs]
    return Tool(
        name=name,
        turns=tuple(need.words for need in needs),
        count=sum(one.count for one in used),
        cars=tuple(dict.fromkeys(one.car for one in used)),
    )


def _hex_keys(turned: Sequence[_Turned]) -> tuple[tuple[float, int], ...]:
    counts: Counter[float] = Counter()
    for one in turned:
        if one.need.kind == "hex driver":
            counts[one.need.size_mm] += one.count
    return tuple(counts.most_common())


@dataclass(frozen=True, slots=True, order=True)
class _Kind:
    """What is bought alike: thread, head and length (0 for a nut)."""

    thread: str
    head: str
    length_mm: float


def _hardware(builds: Sequence[tuple[str, Build]]) -> Iterable[Hardware]:
    """Screws and nuts that are bought by thread, head and length, with how many each car carries."""
    carried: dict[_Kind, Counter[str]] = {}
    tools: dict[_Kind, str] = {}
    for car, build in builds:
        for place in build.places:
            if "thread" in place.sizes and "head" in place.sizes:
                kind = _kind(place)
                carried.setdefault(kind, Counter())[car] += place.pieces
                tools.setdefault(kind, " and ".join(need.words for need in _needs(place)))
    for kind in sorted(carried):
        count = carried[kind].total()
        keep = max(FEWEST_SPARES, math.ceil(SPARES_SHARE * count))
        yield Hardware(
            thread=kind.thread,
            head=kind.head,
            length_mm=kind.length_mm or None,
            tool=tools[kind],
            count=count,
            keep=Figure(float(keep), "1", origins=(SPARES,)),
            by_car=tuple(carried[kind].items()),
        )


def _kind(place: Place) -> _Kind:
    length = place.sizes.get("length_mm")
    return _Kind(
        str(place.sizes["thread"]), str(place.sizes["head"]), length if isinstance(length, float) else 0.0
    )
