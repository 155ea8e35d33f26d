"""Which parts are the same part, and whether one fits a car: by the sizes that the builds give."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from enum import Enum
from typing import Any

from snugfast.core.vocabulary import in_sentence
from snugfast.facts.model import Build, Facts, FitSize, Place, SparePart
from snugfast.facts.texts import size_text
from snugfast.records.box import BoxItem
from snugfast.usecases.shared.telling import tell_size

CLOSE_mm = 0.02  # a 3.17 and a 3.175 mm shaft are one size, told with other digits

Size = str | float


@dataclass(frozen=True, slots=True)
class Kind:
    """What is bought as one part: the same bearing is one kind in whichever cars and places it sits."""

    family: str
    sizes: tuple[tuple[str, Size], ...]
    design: str = ""


class Verdict(Enum):
    """Whether a part fits."""

    FITS = "fits"
    DOES_NOT = "does not fit"
    NOT_KNOWN = "not known"


@dataclass(frozen=True, slots=True)
class Fit:
    """Whether a part fits one place of a car, and why or why not."""

    car: str
    place: str
    pieces: int
    verdict: Verdict
    reasons: tuple[str, ...]


def sizes_that_count(row: SparePart, sizes: Mapping[str, Any]) -> dict[str, Size]:
    """Of all sizes of a part those that it is bought by."""
    named = (*(fit.size for fit in row.must), *row.may)
    return {name: _plain(sizes[name]) for name in named if name in sizes}


def kind_of(facts: Facts, role: str, sizes: Mapping[str, Any], design: str) -> Kind:
    """The kind of a part of that role with those sizes."""
    row = facts.spare_parts[role]
    counted = sizes_that_count(row, sizes)
    whose = design if row.of_design or not counted else ""
    own = f"{role}/" if row.of_design or not counted else ""
    return Kind(f"{own}{row.family}", tuple(sorted(counted.items())), whose)


def kind_of_place(facts: Facts, build: Build, place: Place) -> Kind:
    """The kind of the part that sits in a place."""
    return kind_of(facts, place.role, place.sizes, _design(facts, build, place))


def kind_of_item(facts: Facts, item: BoxItem) -> Kind | None:
    """The kind of a part in the box; None where no table knows its role any more."""
    return kind_of(facts, item.role, item.sizes, item.design) if item.role in facts.spare_parts else None


def fits_of(facts: Facts, item: BoxItem, cars: Iterable[tuple[str, Build]]) -> tuple[Fit, ...]:
    """Whether it fits each place of these cars that takes a part of its family."""
    return tuple(
        fit
        for car, build in cars
        for place in build.places
        if (fit := fit_in(facts, car, build, place, item)) is not None
    )


def design_of(build: Build, place: Place) -> str:
    """What a part is made for that no size tells all about: the place in cars of that build."""
    return f"{build.key}/{place.key}"


def made_for(build: Build, place: Place) -> str:
    """The same in words."""
    return f"{in_sentence(place.name)} of a {build.name}"


def fit_in(facts: Facts, car: str, build: Build, place: Place, item: BoxItem) -> Fit | None:
    """Whether it fits a place; None where the place takes something else altogether."""
    row, mine = facts.spare_parts.get(place.role), facts.spare_parts.get(item.role)
    if row is None or mine is None or row.family != mine.family:
        return None
    if (row.of_design or mine.of_design) and place.role != item.role:
        return None
    wrong, unknown, same = _compared(facts, build, place, row, item)
    if row.of_design:
        if not item.design:
            unknown.append("no car is named that it is made for")
        elif item.design != design_of(build, place):
            wrong.append(f"made for the {item.made_for or item.design}")
        else:
            same.append(f"made for the {item.made_for}")
    verdict = Verdict.DOES_NOT if wrong else Verdict.NOT_KNOWN if unknown or not same else Verdict.FITS
    other = [] if wrong else _other(facts, place, row, item)
    reasons = wrong or [*(unknown or same), *other]
    return Fit(car, place.name, place.pieces, verdict, tuple(reasons))


def _compared(
    facts: Facts, build: Build, place: Place, row: SparePart, item: BoxItem
) -> tuple[list[str], list[str], list[str]]:
    """What is wrong, what is not known, and what is the same, size by size."""
    wrong, unknown, same = [], [], []
    for fit in row.must:
        name, mine = facts.size_names[fit.size], item.sizes.get(fit.size)
        theirs, whose = _theirs(facts, build, place, fit)
        if theirs is None:
            continue  # such a car is not sized there: nothing to hold it against
        told = tell_size(facts, fit.size, theirs)
        if mine is None:
            unknown.append(f"its {name} is not entered; {whose} {told}")
        elif not same_size(mine, theirs):
            wrong.append(f"{name} {tell_size(facts, fit.size, mine)}, but {whose} {told}")
        else:
            same.append(f"{name} {told}")
    return wrong, unknown, same


def _theirs(facts: Facts, build: Build, place: Place, fit: FitSize) -> tuple[Size | None, str]:
    """The size that it has to equal, and whose that is, in words."""
    if fit.of_role:
        for other in build.of_role(fit.of_role):
            if fit.of_size in other.sizes:
                whose = f"the {facts.size_names[fit.of_size]} of the {in_sentence(other.name)} is"
                return other.sizes[fit.of_size], whose
    return place.sizes.get(fit.size), "this place takes"


def _other(facts: Facts, place: Place, row: SparePart, item: BoxItem) -> list[str]:
    """What is other than the part that sits there, though it fits."""
    return [
        f"{facts.size_names[name]} {tell_size(facts, name, item.sizes[name])}, "
        f"now {tell_size(facts, name, place.sizes[name])}"
        for name in row.may
        if name in item.sizes and name in place.sizes and not same_size(item.sizes[name], place.sizes[name])
    ]


def same_size(one: Any, other: Any) -> bool:
    """Whether two sizes are the same, however they were typed: 3.17 and 3.175 mm, “48DP” and “48 DP”."""
    if isinstance(one, int | float) and isinstance(other, int | float):
        return abs(float(one) - float(other)) <= CLOSE_mm
    return _squeezed(one) == _squeezed(other)


def sizes_words(facts: Facts, sizes: Mapping[str, Any]) -> str:
    """“bore 5 mm, outside diameter 11 mm”."""
    return ", ".join(
        f"{facts.size_names.get(name, name)} {tell_size(facts, name, _plain(value))}"
        for name, value in sizes.items()
    )


def scale_factor(build: Build) -> float:
    """How much heavier and larger parts are than those of a 1/10 car: the third power of the scale."""
    over, _, under = build.scale.partition("/")
    try:
        return (10.0 * float(over) / float(under)) ** 3
    except (ValueError, ZeroDivisionError):
        return 1.0


def _design(facts: Facts, build: Build, place: Place) -> str:
    row = facts.spare_parts[place.role]
    counted = sizes_that_count(row, place.sizes)
    return design_of(build, place) if row.of_design or not counted else ""


def _plain(value: Any) -> Size:
    return float(value) if isinstance(value, int | float) else str(value)


def _squeezed(value: Any) -> str:
    return "".join(size_text(_plain(value)).casefold().split())
