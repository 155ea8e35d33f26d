"""Verdicts on packs. Authority: the published and practised limits in the tables, and laws of severity."""

from __future__ import annotations

import re
import tomllib
from dataclasses import fields, replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from snugfast.core.errors import BadInput, ImpossibleInput, RefusedAction
from snugfast.physics.packs.chemistry import Chemistry, NoTable
from snugfast.physics.packs.condition import Condition, Crash, Looks, Past, Sign, Wet, Worn
from snugfast.physics.packs.reasons import Level, Reason
from snugfast.physics.packs.verdict import Cleared, Verdict, Withheld, judge, require_cleared
from tests.physics.pack_tables import PACKS, kelvin, product_limits

LIMITS = product_limits()
GOOD = Condition(
    chemistry=Chemistry.LITHIUM_POLYMER,
    cells=2,
    looks=Looks(),
    temperature_K=kelvin(22),
    rest_V=(3.82, 3.82),
)


def judged(condition: Condition = GOOD, **changes: object) -> Verdict:
    now = replace(condition, **changes)  # type: ignore[arg-type]
    return judge(now, warmth=LIMITS.warmth, wear=LIMITS.wear, cell=LIMITS.cell)


def test_a_good_pack_may_be_used() -> None:
    verdict = judged()
    assert verdict == Cleared(Level.USE, ())
    assert require_cleared(verdict, to_drive=True) is verdict


@pytest.mark.parametrize(
    ("apart_mV", "level"),
    [
        (30, Level.USE),
        (31, Level.GENTLY),
        (100, Level.GENTLY),
        (101, Level.REST),
        (300, Level.REST),
        (301, Level.DO_NOT_CHARGE),
    ],
)
def test_cells_that_stand_apart_are_judged_to_the_millivolt(apart_mV: int, level: Level) -> None:
    """The lines of the table (practice): 30 mV to watch, 100 to stop; 300 is a cell that failed."""
    assert judged(rest_V=(3.80, 3.80 + apart_mV / 1000.0)).level is level


DAMAGED = [
    *({"looks": Looks(frozenset({sign}))} for sign in Sign),
    *({"wet": frozenset({place})} for place in Wet),
    *({"crash": frozenset({what})} for what in Crash),
    *({"past": frozenset({what})} for what in Past),
    {"rest_V": (3.82, 2.99)},
    {"rest_V": (3.0, 2.49)},
    {"rest_V": (4.20, 4.26)},
    {"lowest_ever_V": 1.9},
    {"hottest_K": kelvin(61)},
    {"temperature_K": kelvin(61)},
]


@pytest.mark.parametrize("damage", DAMAGED, ids=str)
def test_a_damaged_pack_is_not_to_be_charged_and_hears_why_and_the_way_back(
    damage: dict[str, object],
) -> None:
    verdict = judged(**damage)
    assert isinstance(verdict, Withheld)
    assert verdict.level is Level.DO_NOT_CHARGE
    assert verdict.reasons[0].says and verdict.reasons[0].way_back and verdict.reasons[0].caution
    with pytest.raises(RefusedAction, match=re.escape(verdict.reasons[0].says)):
        require_cleared(verdict)


@pytest.mark.slow
@pytest.mark.parametrize("damage", DAMAGED, ids=str)
@given(
    capacity=st.floats(0.0, 1.2),
    ratio=st.floats(0.5, 5.0),
    degC=st.floats(-20.0, 44.0),
)
def test_damage_forces_do_not_charge_whatever_else_is_so(
    damage: dict[str, object], capacity: float, ratio: float, degC: float
) -> None:
    other = {"temperature_K": kelvin(degC), "worn": Worn(resistance_ratio=ratio, capacity_share=capacity)}
    verdict = judged(**(other | damage))
    assert isinstance(verdict, Withheld)
    assert verdict.level is Level.DO_NOT_CHARGE


def test_a_withheld_pack_has_no_number_anywhere() -> None:
    """Law of the type: levels and words only, so no door can print a charge for it."""
    assert {field.name for field in fields(Withheld)} == {"level", "reasons"}
    assert {field.type for field in fields(Reason)} == {"Level", "str", "bool"}


def test_not_having_looked_bars_the_charge() -> None:
    verdict = judged(looks=None)
    assert isinstance(verdict, Withheld)
    assert verdict.level is Level.REST


@pytest.mark.parametrize(
    ("degC", "level", "charge"),
    [
        (-1, Level.REST, False),
        (0, Level.GENTLY, False),
        (5, Level.GENTLY, False),
        (9.9, Level.GENTLY, False),
        (10, Level.USE, True),
        (40, Level.USE, True),
        (40.1, Level.GENTLY, False),
        (45, Level.GENTLY, False),
        (46, Level.REST, False),
        (60, Level.REST, False),
        (60.1, Level.DO_NOT_CHARGE, False),
    ],
)
def test_warmth_is_judged_by_the_published_lines(degC: float, level: Level, charge: bool) -> None:
    """10 °C (standard charging range), 40 °C (fire service), 45 °C (cell makers), 60 °C (practice)."""
    verdict = judged(temperature_K=kelvin(degC))
    assert verdict.level is level
    assert isinstance(verdict, Cleared) is charge


def test_between_the_two_published_upper_limits_the_stricter_holds() -> None:
    verdict = judged(temperature_K=kelvin(43))
    assert "40 °C: the fire service" in verdict.reasons[0].says
    with pytest.raises(RefusedAction, match="40 °C"):
        require_cleared(verdict)


@pytest.mark.parametrize(
    ("rest_V", "level"),
    [
        ((3.25, 3.26), Level.REST),
        ((3.30, 3.31), Level.USE),
        ((3.80, 3.84), Level.GENTLY),
        ((3.70, 3.81), Level.REST),
        ((4.19, 4.22), Level.USE),
    ],
)
def test_low_and_uneven_packs_may_be_charged_but_not_driven(
    rest_V: tuple[float, float], level: Level
) -> None:
    verdict = judged(rest_V=rest_V)
    assert isinstance(verdict, Cleared)
    assert verdict.level is level
    assert verdict.may_drive is (level < Level.REST)
    if not verdict.may_drive:
        with pytest.raises(RefusedAction):
            require_cleared(verdict, to_drive=True)


@pytest.mark.parametrize(
    ("worn", "level"),
    [
        (Worn(resistance_ratio=1.49), Level.USE),
        (Worn(resistance_ratio=1.5), Level.USE),
        (Worn(resistance_ratio=2.0), Level.GENTLY),
        (Worn(resistance_ratio=3.0), Level.RETIRE),
        (Worn(capacity_share=0.85), Level.USE),
        (Worn(capacity_share=0.80), Level.GENTLY),
        (Worn(capacity_share=0.60), Level.RETIRE),
        (Worn(age_years=4.5), Level.GENTLY),
        (Worn(cycles=300), Level.GENTLY),
    ],
)
def test_wear_is_judged_by_the_lines_of_the_table(worn: Worn, level: Level) -> None:
    assert judged(worn=worn).level is level


@pytest.mark.parametrize("worn", [Worn(resistance_ratio=1.5), Worn(capacity_share=0.85)])
def test_the_watch_line_gives_a_note(worn: Worn) -> None:
    assert "Watch it" in judged(worn=worn).reasons[0].way_back


def test_one_weak_cell_retires_the_pack_and_is_named() -> None:
    verdict = judged(cells=4, rest_V=(3.8, 3.8, 3.8, 3.8), resistances_ohm=(0.003, 0.003, 0.0049, 0.0031))
    assert verdict.level is Level.RETIRE
    assert verdict.reasons[0].says.startswith("Cell 3 ")


conditions = st.builds(
    Condition,
    chemistry=st.just(Chemistry.LITHIUM_POLYMER),
    cells=st.just(2),
    looks=st.builds(Looks, st.frozensets(st.sampled_from(Sign), max_size=2)),
    temperature_K=st.floats(kelvin(-20), kelvin(80)),
    wet=st.frozensets(st.sampled_from(Wet), max_size=1),
    crash=st.frozensets(st.sampled_from(Crash), max_size=1),
    past=st.frozensets(st.sampled_from(Past), max_size=1),
    rest_V=st.tuples(st.floats(2.0, 4.3), st.floats(2.0, 4.3)),
    worn=st.builds(
        Worn,
        resistance_ratio=st.floats(0.5, 5),
        capacity_share=st.floats(0, 1.1),
        age_years=st.floats(0, 10),
        cycles=st.floats(0, 900),
    ),
)


@given(conditions, st.floats(0, 3), st.floats(0, 0.5), st.floats(0, 6), st.floats(0, 500))
def test_a_more_worn_pack_never_gets_a_milder_verdict(
    condition: Condition, resistance: float, capacity: float, years: float, cycles: float
) -> None:
    worn = condition.worn
    worse = Worn(
        resistance_ratio=(worn.resistance_ratio or 0) + resistance,
        capacity_share=max((worn.capacity_share or 0) - capacity, 0.0),
        age_years=(worn.age_years or 0) + years,
        cycles=(worn.cycles or 0) + cycles,
    )
    assert judged(condition, worn=worse).level >= judged(condition).level


@given(conditions, st.sampled_from(Sign), st.sampled_from(Wet), st.sampled_from(Crash), st.integers(1, 7))
def test_more_damage_never_gets_a_milder_verdict(
    condition: Condition, sign: Sign, place: Wet, what: Crash, which: int
) -> None:
    looks = condition.looks or Looks()
    worse = replace(
        condition,
        looks=Looks(looks.signs | {sign}) if which & 1 else looks,
        wet=condition.wet | {place} if which & 2 else condition.wet,
        crash=condition.crash | {what} if which & 4 else condition.crash,
    )
    assert judged(worse).level >= judged(condition).level
    assert isinstance(judged(worse), Withheld)


@given(conditions)
def test_reasons_come_hardest_first_and_the_verdict_is_the_hardest(condition: Condition) -> None:
    verdict = judged(condition)
    levels = [reason.level for reason in verdict.reasons]
    assert levels == sorted(levels, reverse=True)
    assert verdict.level is (levels[0] if levels else Level.USE)


def test_every_caution_a_reason_names_is_in_the_table() -> None:
    cautions = tomllib.loads((PACKS.parent / "cautions/packs.toml").read_text(encoding="utf-8"))
    harmed = [judged(**damage) for damage in DAMAGED]
    plain = [
        judged(looks=None),
        judged(temperature_K=kelvin(-5)),
        judged(temperature_K=kelvin(5)),
        judged(temperature_K=kelvin(43)),
        judged(rest_V=(3.2, 3.2)),
        judged(rest_V=(3.8, 3.84)),
        judged(rest_V=(4.19, 4.22)),
        judged(worn=Worn(capacity_share=0.5)),
    ]
    named = {reason.caution for verdict in harmed + plain for reason in verdict.reasons}
    assert named - {""} <= set(cautions)


def test_a_chemistry_without_a_table_is_judged_by_looks_and_never_by_volts() -> None:
    nickel = replace(GOOD, chemistry=Chemistry.NICKEL_METAL_HYDRIDE, cells=7, rest_V=())
    swollen = replace(nickel, looks=Looks(frozenset({Sign.SWOLLEN})))

    def told(condition: Condition) -> Verdict:
        return judge(condition, warmth=LIMITS.warmth, wear=LIMITS.wear, cell=None)

    assert isinstance(told(nickel), Cleared)
    assert isinstance(told(swollen), Withheld)
    with pytest.raises(NoTable, match="nickel-metal hydride"):
        told(replace(nickel, rest_V=(1.3,) * 7))
    with pytest.raises(NoTable, match="nickel-metal hydride"):
        judged(nickel)


def test_three_readings_for_four_cells_give_no_verdict() -> None:
    with pytest.raises(BadInput, match="Three readings for four cells"):
        judged(cells=4, rest_V=(3.8, 3.8, 3.8))


def test_four_point_three_five_volts_on_a_standard_cell_gives_no_verdict() -> None:
    with pytest.raises(BadInput, match=r"4\.35 V"):
        judged(rest_V=(4.35, 4.2))


def test_a_pack_without_cells_or_with_negative_wear_cannot_be() -> None:
    with pytest.raises(ImpossibleInput):
        replace(GOOD, cells=0)
    with pytest.raises(ImpossibleInput):
        Worn(resistance_ratio=-1.0)


@pytest.mark.parametrize("name", ["hottest_K", "lowest_ever_V", "temperature_K"])
def test_a_number_that_is_none_cannot_slip_past_a_limit(name: str) -> None:
    with pytest.raises(ImpossibleInput):
        replace(GOOD, **{name: float("nan")})


def test_levels_have_words() -> None:
    assert [level.words for level in Level] == ["OK", "go easy", "check first", "retire", "do not charge"]
