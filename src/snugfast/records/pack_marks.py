"""What the journal says about the state of one pack: harm that stands, looks, volts, warmth, where it is.

Only what was said, folded entry by entry. What it means is judged elsewhere, by the limits of its cells.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from datetime import datetime, timedelta
from uuid import UUID

from snugfast.core.vocabulary import (
    CHECK_PACK_LOOK,
    CHECK_PACK_RESISTANCE,
    CHECK_PACK_VOLTAGES,
    MODE_NICKEL_VENTED,
    MODE_PACK_DAMAGED,
    MODE_PACK_LEAD_TORN,
    MODE_PACK_PLUG_HOT,
    MODE_PACK_SHORTING,
)
from snugfast.records.entries import (
    Broke,
    Checked,
    Done,
    Entry,
    Failed,
    Hunted,
    PackCharged,
    PackCleared,
    PackHarm,
    PackHurt,
    PackLeft,
    PackLooked,
    PackMeasured,
    PackStands,
    Ran,
    Reading,
    Stands,
)

LOOK, VOLTAGES, RESISTANCES = CHECK_PACK_LOOK, CHECK_PACK_VOLTAGES, CHECK_PACK_RESISTANCE
DAMAGED, SHORTING, VENTED = MODE_PACK_DAMAGED, MODE_PACK_SHORTING, MODE_NICKEL_VENTED  # modes that are harm
HARMFUL = (DAMAGED, SHORTING, VENTED)
HOT_PLUG, LEAD = MODE_PACK_PLUG_HOT, MODE_PACK_LEAD_TORN  # and those that are until they are put right
HARM_OF_WORD = {
    "swollen": PackHarm.SWOLLEN,
    "dented": PackHarm.DENTED,
    "cut": PackHarm.PUNCTURED,
    "smells": PackHarm.SMELL,
    "hissing": PackHarm.HISSING,
    "warm by itself": PackHarm.HEATING_BY_ITSELF,
    "wet": PackHarm.UNDER_WRAP,
    "crust": PackHarm.LEAKING,
    "leaking": PackHarm.LEAKING,
}

NO_WAY_BACK = frozenset(
    (
        PackHarm.SWOLLEN,
        PackHarm.PUNCTURED,
        PackHarm.DENTED,
        PackHarm.LEAKING,
        PackHarm.SMELL,
        PackHarm.HISSING,
        PackHarm.HEATING_BY_ITSELF,
        PackHarm.OTHER,
    )
)
NEEDS_HELP = frozenset(
    (
        PackHarm.IMMERSED,
        PackHarm.UNDER_WRAP,
        PackHarm.OVER_DISCHARGED,
        PackHarm.OVER_CHARGED,
        PackHarm.DAMAGED_PLUG,
    )
)
SOONEST_BACK = timedelta(hours=20)  # “the next day”, from an evening to a morning


@dataclass(frozen=True, slots=True)
class PackMarks:
    """The state of a pack as the journal has it.

    `used_at` is the last run, charge or hurt, `strained_at` the last run or hurt: a look counts when it came
    after that. `rest_V` are the last rest readings, gone with the next run or charge. `lowest_V` and
    `highest_V` reach back to the last way back that was walked, `lowest_ever_V` to the beginning. `in_car` is
    the car it was last said to be in.
    """

    harms: Mapping[PackHarm, datetime] = field(default_factory=dict)
    looked_at: datetime | None = None
    used_at: datetime | None = None
    strained_at: datetime | None = None
    hottest_degC: float | None = None
    hottest_at: datetime | None = None
    warmth_degC: float | None = None
    warmth_at: datetime | None = None
    rest_V: tuple[float, ...] = ()
    rest_at: datetime | None = None
    lowest_V: float | None = None
    highest_V: float | None = None
    lowest_ever_V: float | None = None
    in_car: UUID | None = None
    stands: Stands | None = None
    shelf_degC: float | None = None


def marked(marks: PackMarks, entry: Entry, pack: UUID) -> PackMarks:
    """The marks of a pack after one more entry about it."""
    at = entry.happened_at
    match entry.fact:
        case Ran() as ran:
            then = replace(marks, used_at=at, strained_at=at, rest_V=(), rest_at=None)
            then = replace(then, in_car=ran.car, stands=None)
            return _broken(_warmed(then, _pack_warmth(ran.readings), at), ran.broke, pack, at)
        case Failed(broke=broke) | Hunted(broke=Broke() as broke):
            return _broken(marks, (broke,), pack, at)
        case Checked() as checked:
            return _checked(marks, checked, at)
        case PackLooked(found=found):
            return _harmed(replace(marks, looked_at=at), found, at)
        case PackHurt(harms=harms, hottest_degC=hottest, car=car):
            then = replace(marks, used_at=at, strained_at=at, in_car=car or marks.in_car)
            return _harmed(_warmed(then, hottest, at), harms, at)
        case PackCleared(harms=harms):
            return _cleared(marks, harms, at)
        case PackCharged(cells_V=volts):
            then = replace(marks, used_at=at, rest_V=(), rest_at=None, stands=None)
            return replace(then, highest_V=max((*volts, *_known(marks.highest_V)), default=None))
        case PackMeasured() as measured:
            return _measured(marks, measured, at)
        case PackStands(stands=stands, car=car, shelf_degC=shelf):
            in_car = None if stands is Stands.UNPLUGGED else car or marks.in_car
            return replace(marks, stands=stands, in_car=in_car, shelf_degC=shelf)
        case PackLeft():
            return replace(marks, in_car=None)
        case _:
            return marks


def can_be_cleared(marks: PackMarks) -> frozenset[PackHarm]:
    """The harm that stands and has a way back."""
    return frozenset(marks.harms) - NO_WAY_BACK


def _pack_warmth(readings: Iterable[Reading]) -> float | None:
    """The warmest the pack was read on a run."""
    return max((r.value for r in readings if r.unit == "°C" and r.spot.startswith("pack")), default=None)


def _warmed(marks: PackMarks, warmth_degC: float | None, at: datetime) -> PackMarks:
    if warmth_degC is None:
        return marks
    then = replace(marks, warmth_degC=warmth_degC, warmth_at=at)
    if marks.hottest_degC is not None and marks.hottest_degC >= warmth_degC:
        return then
    return replace(then, hottest_degC=warmth_degC, hottest_at=at)


def _harmed(marks: PackMarks, harms: Iterable[PackHarm], at: datetime) -> PackMarks:
    return replace(marks, harms={**marks.harms, **dict.fromkeys(harms, at)})


def _broken(marks: PackMarks, several: Iterable[Broke], pack: UUID, at: datetime) -> PackMarks:
    found = []
    for broke in several:
        if broke.pack == pack and broke.mode in HARMFUL:
            found.append(PackHarm.OTHER)
        if broke.pack == pack and broke.mode in (HOT_PLUG, LEAD) and broke.done is Done.LEFT:
            found.append(PackHarm.DAMAGED_PLUG)
    return _harmed(marks, found, at)


def _checked(marks: PackMarks, checked: Checked, at: datetime) -> PackMarks:
    found = []
    for answer in checked.answers:
        if answer.mode in HARMFUL:
            found.append(HARM_OF_WORD.get(answer.word, PackHarm.OTHER))
        if answer.mode in (HOT_PLUG, LEAD) and answer.done is Done.LEFT:
            found.append(PackHarm.DAMAGED_PLUG)
    then = _harmed(marks, found, at)
    return replace(then, looked_at=at) if checked.check == LOOK and checked.looked else then


def _cleared(marks: PackMarks, harms: Iterable[PackHarm], at: datetime) -> PackMarks:
    """What was cleared is over; the look that it took counts as a look."""
    over = set(harms)
    then = replace(
        marks,
        harms={harm: since for harm, since in marks.harms.items() if harm not in over},
        looked_at=at,
        hottest_degC=None,
        hottest_at=None,
    )
    if PackHarm.OVER_DISCHARGED in over:
        then = replace(then, lowest_V=None, rest_V=(), rest_at=None)
    if PackHarm.OVER_CHARGED in over:
        then = replace(then, highest_V=None, rest_V=(), rest_at=None)
    return then


def _measured(marks: PackMarks, measured: PackMeasured, at: datetime) -> PackMarks:
    then = marks
    if measured.temperature_degC is not None:
        then = _warmed(then, measured.temperature_degC, at)
    if not measured.rest_V:
        return then
    low, high = min(measured.rest_V), max(measured.rest_V)
    return replace(
        then,
        rest_V=measured.rest_V,
        rest_at=at,
        lowest_V=min((low, *_known(marks.lowest_V))),
        highest_V=max((high, *_known(marks.highest_V))),
        lowest_ever_V=min((low, *_known(marks.lowest_ever_V))),
    )


def _known(value: float | None) -> tuple[float, ...]:
    return () if value is None else (value,)
