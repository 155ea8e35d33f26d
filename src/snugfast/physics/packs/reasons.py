"""The single reasons a verdict is made of: one thing that is so, how hard it is, and the way back."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from enum import IntEnum
from statistics import median

from snugfast.core.units import ZERO_CELSIUS_K
from snugfast.physics.packs.cell_readings import checked_cell_volts, millivolts
from snugfast.physics.packs.condition import Condition, Crash, Looks, Past, Sign, Wet, Worn
from snugfast.physics.packs.limits import CellLimits, WarmthLimits, WearLimits
from snugfast.physics.validation import require_positive


class Level(IntEnum):
    """How hard the verdict is; a larger one is harder."""

    USE = 0
    GENTLY = 1
    REST = 2
    RETIRE = 3
    DO_NOT_CHARGE = 4

    @property
    def words(self) -> str:
        """How a person says it."""
        return _WORDS[self]


_WORDS = {
    Level.USE: "OK",
    Level.GENTLY: "go easy",
    Level.REST: "check first",
    Level.RETIRE: "retire",
    Level.DO_NOT_CHARGE: "do not charge",
}


@dataclass(frozen=True, slots=True)
class Reason:
    """One reason: how hard, what is so, the way back, the key of its caution, whether it bars a charge.

    `advises_charge` marks a way back that is a charge; it is not said of a pack that must not be charged.
    """

    level: Level
    says: str
    way_back: str
    caution: str = ""
    bars_charge: bool = False
    advises_charge: bool = False


NO_WAY_BACK = "There is no way back: quarantine it, then take it to a hazardous-waste point."
LOOK_COLD = (
    "When it is cold, and at the soonest the next day, look it over outdoors; with no sign of damage and "
    "steady rest volts, record that."
)
WEAR_ADVICE = {
    Level.USE: "Watch it: measure again next month.",
    Level.GENTLY: "Keep it for light cars and easy driving.",
    Level.RETIRE: "It is done: discharge it gently, tape the plug and hand it in.",
}


def from_looks(looks: Looks | None) -> Iterator[Reason]:
    """What looking, feeling and smelling found; not having looked bars a charge."""
    if looks is None:
        yield Reason(
            Level.REST,
            "Nobody has looked at, felt and smelled this pack since it was last driven or damaged.",
            "Look it over, unplugged and cold, and record what was found.",
            "pack-look-first",
            bars_charge=True,
        )
        return
    for sign in sorted(looks.signs, key=lambda sign: sign.value):
        if sign is Sign.DAMAGED_PLUG:
            yield Reason(
                Level.DO_NOT_CHARGE,
                "A lead or a plug is damaged.",
                "Have the lead replaced by somebody who knows how; then look it over again.",
                "pack-plugs",
            )
        else:
            yield Reason(
                Level.DO_NOT_CHARGE, f"The pack shows: {sign.value}.", NO_WAY_BACK, "pack-quarantine"
            )


def from_water(wet: frozenset[Wet]) -> Iterator[Reason]:
    """Where water reached; each place takes the pack out of use."""
    for place in sorted(wet, key=lambda place: place.value):
        if place is Wet.IN_PLUG:
            way_back = (
                "Unplug it with dry hands, let the plug dry in moving air for a day, look for corrosion "
                "and for water under the wrap; when both are clear, record that."
            )
        else:
            way_back = (
                "Quarantine it outside. Only the maker's own instructions can bring it back; otherwise "
                "take it to a hazardous-waste point."
            )
        yield Reason(Level.DO_NOT_CHARGE, f"{place.value.capitalize()}.", way_back, "pack-wet")


def from_crash(crash: frozenset[Crash]) -> Iterator[Reason]:
    """What a crash did; a dent has no way back."""
    for what in sorted(crash, key=lambda what: what.value):
        way_back = (
            NO_WAY_BACK
            if what is Crash.DENTED
            else "Set it outside and watch it from a distance for at least half an hour. " + LOOK_COLD
        )
        yield Reason(Level.DO_NOT_CHARGE, f"{what.value.capitalize()}.", way_back, "pack-crash")


def from_warmth(condition: Condition, warmth: WarmthLimits) -> Iterator[Reason]:
    """Too hot, too cold, or so hot before that damage must be looked for."""
    now_degC = condition.temperature_K - ZERO_CELSIUS_K
    hottest_degC = max(condition.hottest_K or 0.0, condition.temperature_K) - ZERO_CELSIUS_K
    if hottest_degC > warmth.very_hot_degC:
        yield Reason(
            Level.DO_NOT_CHARGE,
            f"The pack was above {warmth.very_hot_degC:.0f} °C and may be damaged.",
            "Keep it outside and away from anything that burns. " + LOOK_COLD,
            "pack-hot",
        )
    if now_degC > warmth.hot_degC:
        yield Reason(
            Level.REST,
            f"The pack is above {warmth.hot_degC:.0f} °C.",
            f"Let it cool below {warmth.warm_degC:.0f} °C on a surface that cannot burn, then look it over.",
            "pack-hot",
            bars_charge=True,
        )
    elif now_degC > warmth.warm_degC:
        yield Reason(
            Level.GENTLY,
            f"The pack is above {warmth.warm_degC:.0f} °C: the fire service says not to charge it.",
            f"Let it cool below {warmth.warm_degC:.0f} °C on a surface that cannot burn, then charge it.",
            "pack-charge-temperature",
            bars_charge=True,
        )
    if now_degC < warmth.coldest_charge_degC:
        yield Reason(
            Level.REST,
            f"The pack is below {warmth.coldest_charge_degC:.0f} °C; charging would harm the cells.",
            "Bring it indoors and wait until it is warm through.",
            "pack-charge-temperature",
            bars_charge=True,
        )
    elif now_degC < warmth.cold_degC:
        yield Reason(
            Level.GENTLY,
            f"The pack is below {warmth.cold_degC:.0f} °C, too cold to charge.",
            "Bring it to room temperature before a charge or a hard run.",
            "pack-charge-temperature",
            bars_charge=True,
        )


def from_past(past: frozenset[Past]) -> Iterator[Reason]:
    """What once happened to the cells, whatever they read now."""
    for what in sorted(past, key=lambda what: what.value):
        caution = "pack-over-charged" if what is Past.OVER_CHARGED else "pack-over-discharged"
        yield Reason(
            Level.DO_NOT_CHARGE,
            f"{what.value.capitalize()}.",
            "Keep it in quarantine. Only the maker's own instructions or qualified help can bring it back.",
            caution,
        )


def from_volts(condition: Condition, limits: CellLimits) -> Iterator[Reason]:
    """What rest readings say: over-charged, over-discharged, far apart. Raises BadInput when unfit."""
    ever = condition.lowest_ever_V
    if ever is not None and millivolts(ever) < millivolts(limits.ever_ruined_V):
        yield Reason(
            Level.DO_NOT_CHARGE,
            f"A cell has been below {limits.ever_ruined_V:.2f} V and is treated as damaged.",
            NO_WAY_BACK,
            "pack-over-discharged",
        )
    if not condition.rest_V:
        return
    volts = checked_cell_volts(cell_V=condition.rest_V, cells=condition.cells, limits=limits)
    yield from _from_highest(max(volts), limits)
    yield from _from_lowest(min(volts), limits)
    yield from _from_spread(millivolts(max(volts)) - millivolts(min(volts)), limits)


def _from_highest(volts: float, limits: CellLimits) -> Iterator[Reason]:
    if millivolts(volts) > millivolts(limits.over_charged_V):
        yield Reason(
            Level.DO_NOT_CHARGE,
            f"A cell is above {limits.over_charged_V:.2f} V: over-charged.",
            "Set it outside, away from anything that burns, and get qualified help. Check the charger too.",
            "pack-over-charged",
        )
    elif millivolts(volts) > millivolts(limits.full_V):
        yield Reason(
            Level.USE,
            f"A cell is a little above {limits.full_V:.2f} V.",
            "Compare the meter with another; if it stands, have the charger checked.",
            "pack-charger-matches",
        )


def _from_lowest(volts: float, limits: CellLimits) -> Iterator[Reason]:
    if millivolts(volts) < millivolts(limits.ruined_V):
        yield Reason(
            Level.DO_NOT_CHARGE,
            f"A cell is below {limits.ruined_V:.2f} V.",
            NO_WAY_BACK,
            "pack-over-discharged",
        )
    elif millivolts(volts) < millivolts(limits.empty_V):
        yield Reason(
            Level.DO_NOT_CHARGE,
            f"A cell is below {limits.empty_V:.2f} V: over-discharged.",
            "No ordinary charge. Only the maker's own instructions or qualified help can bring it back; "
            "otherwise retire it.",
            "pack-over-discharged",
        )
    elif millivolts(volts) < millivolts(limits.danger_V):
        yield Reason(
            Level.REST,
            f"A cell is below {limits.danger_V:.2f} V and has no reserve.",
            "Unplug it and charge it today, attended; do not drive it first.",
            "pack-attended",
            advises_charge=True,
        )


def _from_spread(spread_mV: int, limits: CellLimits) -> Iterator[Reason]:
    if spread_mV > millivolts(limits.spread_damaged_V):
        yield Reason(
            Level.DO_NOT_CHARGE,
            f"The cells stand {spread_mV} mV apart at rest: one of them has failed.",
            "Read it again with another cell checker. If it stands, quarantine the pack and take it to a "
            "battery recycling point.",
            "pack-quarantine",
        )
    elif spread_mV > millivolts(limits.spread_stop_V):
        yield Reason(
            Level.REST,
            f"The cells stand {spread_mV} mV apart at rest.",
            "Balance-charge it once, slowly and attended, and read it an hour later; if they part again, "
            "retire it.",
            "pack-attended",
            advises_charge=True,
        )
    elif spread_mV > millivolts(limits.spread_watch_V):
        yield Reason(
            Level.GENTLY,
            f"The cells stand {spread_mV} mV apart at rest.",
            "Balance-charge it and read it again.",
            "pack-charger-matches",
            advises_charge=True,
        )


def from_wear(worn: Worn, limits: WearLimits) -> Iterator[Reason]:
    """How far the pack has aged against itself as new."""
    if worn.resistance_ratio is not None:
        yield from _stepped(
            (
                (limits.done_resistance_ratio, Level.RETIRE),
                (limits.gentle_resistance_ratio, Level.GENTLY),
                (limits.watch_resistance_ratio, Level.USE),
            ),
            worn.resistance_ratio,
            "Its resistance is {:.1f} times that of the new pack",
        )
    if worn.capacity_share is not None:
        yield from _stepped(
            (
                (1 - limits.done_capacity, Level.RETIRE),
                (1 - limits.gentle_capacity, Level.GENTLY),
                (1 - limits.watch_capacity, Level.USE),
            ),
            1 - worn.capacity_share,
            "It has lost {:.0%} of its capacity",
        )
    if worn.age_years is not None:
        yield from _stepped(
            ((limits.gentle_age_years, Level.GENTLY),), worn.age_years, "It is {:.1f} years old"
        )
    if worn.cycles is not None:
        yield from _stepped(
            ((limits.gentle_cycles, Level.GENTLY),), worn.cycles, "It has {:.0f} cycles behind it"
        )


def _stepped(steps: tuple[tuple[float, Level], ...], value: float, says: str) -> Iterator[Reason]:
    """The hardest step reached, if any. A hair of slack keeps 85 % from missing its line by rounding."""
    for line, level in steps:
        if value >= line - 1e-9:
            caution = "pack-disposal" if level is Level.RETIRE else ""
            yield Reason(level, says.format(value) + ".", WEAR_ADVICE[level], caution)
            return


def from_resistances(resistances_ohm: Sequence[float], limits: WearLimits) -> Iterator[Reason]:
    """A cell that resists far more than the middle one of its pack."""
    if len(resistances_ohm) < 2:
        return
    require_positive(resistance_ohm=min(resistances_ohm))
    ratio = max(resistances_ohm) / median(resistances_ohm)
    if ratio > limits.weak_cell_ratio:
        weak = max(range(len(resistances_ohm)), key=resistances_ohm.__getitem__) + 1
        yield Reason(
            Level.RETIRE,
            f"Cell {weak} has {ratio:.1f} times the resistance of the middle cell of its pack.",
            "Measure again, all cells at one warmth; if it stands, retire the pack.",
            "pack-disposal",
        )
