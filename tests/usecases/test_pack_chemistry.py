"""A nickel pack is looked at for what nickel packs do, and a lithium pack for what lithium packs do.

Authority: the trade (a pouch swells, a steel can vents; a nickel pack has no balance plug), and the tables.
"""

from __future__ import annotations

import pytest

from snugfast.core.errors import BadInput
from snugfast.facts.load import load_facts
from snugfast.physics.packs.chemistry import Chemistry
from snugfast.usecases.bench.bench_sheet import bench_sheet
from snugfast.usecases.bench.sheet import Asked
from snugfast.usecases.journal.answer_form import answer_form
from snugfast.usecases.journal.bench_answers import FoundSaid, draft_found
from snugfast.usecases.journal.cars import draft_car, starter
from snugfast.usecases.journal.keeping import keep
from snugfast.usecases.shared.applicability import of_pack, pack_modes, sees
from snugfast.usecases.shared.chemistry import chemistry_of, taken_as
from tests.usecases.bench import ran
from tests.usecases.pack_bench import PACK, Bench
from tests.usecases.test_pack_signs import belief

pytestmark = pytest.mark.slow  # through a whole use-case: not in make check

NICK, NICKEL_CAR, SHORT_COURSE = "Nick", "Fern", "short-course-1-10-2wd-brushed"


def keys(chemistry: str) -> set[str]:
    return {mode.key for mode in pack_modes(load_facts(), chemistry)}


def add_nick(packs: Bench) -> None:
    """A nickel pack, and the beginner's car it goes in."""
    keep(packs.workshop, [draft_car(packs.workshop, NICKEL_CAR, starter(packs.workshop, SHORT_COURSE))])
    packs.add_pack(NICK, chemistry="nimh", cells="7", capacity="4200 mAh")


def found(packs: Bench, check: str, *words: str, pack: str = NICK) -> None:
    keep(packs.workshop, draft_found(packs.workshop, FoundSaid("Bramble", check, words, pack=pack)).entries)


def test_each_chemistry_has_its_own_ways_to_fail_and_the_plug_is_common_to_all() -> None:
    lithium, nickel = keys("lithium-polymer"), keys("NiMH")
    assert lithium & nickel == {"pack_plug_hot", "pack_lead_torn"}
    assert {"pack_damaged", "pack_imbalance", "pack_aged"} <= lithium
    assert {"nickel_cell_reversed", "nickel_vented", "nickel_runs_down"} <= nickel
    assert keys("lithium iron phosphate") == keys("high-voltage lithium") == lithium
    assert {mode.key for mode in pack_modes(load_facts())} == lithium


def test_a_word_that_no_table_knows_is_looked_at_as_lithium() -> None:
    """The cautious side: lithium is what burns."""
    assert chemistry_of("unobtainium") is None
    assert taken_as("unobtainium") is Chemistry.LITHIUM_POLYMER
    assert keys("unobtainium") == keys("lithium-polymer")


def test_the_sheet_says_how_to_look_at_the_pack_in_hand(packs: Bench) -> None:
    add_nick(packs)
    for car, name in (("Bramble", PACK), (NICKEL_CAR, NICK)):
        packs.clock.on(days=1)
        ran(packs.workshop, car, packs=(name,))
    packs.clock.on(days=1)
    sheet = bench_sheet(packs.workshop, Asked(("Bramble", NICKEL_CAR), minutes=60.0, packs=1))
    said = {check.pack_name: check for check in sheet.checks if check.check == "pack_look"}
    assert set(said) == {PACK, NICK}
    assert "Puffed" in said[PACK].bad and "crust" not in said[PACK].bad
    assert "crust" in said[NICK].bad and "Puffed" not in " ".join((*said[NICK].steps, said[NICK].bad))
    assert any("caustic" in caution.text for caution in said[NICK].cautions)
    assert not any("caustic" in caution.text for caution in said[PACK].cautions)


def test_crust_on_a_nickel_cell_takes_the_pack_out_of_use(packs: Bench) -> None:
    add_nick(packs)
    found(packs, "pack_look", "crust: left as it is")
    state = packs.state(NICK)
    assert state.damaged and state.verdict == "do not charge"
    with pytest.raises(BadInput, match="no answer"):
        found(packs, "pack_look", "crust", pack=PACK)
    with pytest.raises(BadInput, match="no answer"):
        found(packs, "pack_look", "swollen")


def test_a_check_of_cells_one_by_one_is_refused_for_a_pack_without_a_balance_plug(packs: Bench) -> None:
    add_nick(packs)
    with pytest.raises(BadInput, match="says nothing about a nickel") as refused:
        found(packs, "pack_voltages", "apart")
    assert "nickel_volts" in refused.value.way_out and "pack_voltages" not in refused.value.way_out
    found(packs, "nickel_volts", "a cell short")
    with pytest.raises(BadInput, match="says nothing about a lithium-polymer"):
        found(packs, "nickel_volts", "sound", pack=PACK)


def test_the_form_offers_the_words_of_the_pack_in_hand(packs: Bench) -> None:
    facts = packs.workshop.facts
    build = next(iter(facts.starters.values()))
    look = facts.checks["pack_look"]
    words = {
        chemistry: {group.name for group in answer_form(facts, build, look, chemistry).found}
        for chemistry in ("", "lithium-polymer", "nickel-metal hydride")
    }
    assert "crust" in words["nickel-metal hydride"] and "swollen" not in words["nickel-metal hydride"]
    assert "swollen" in words["lithium-polymer"] and "crust" not in words["lithium-polymer"]
    assert {"crust", "swollen"} <= words[""]


def test_a_check_is_for_the_packs_that_can_have_what_it_mainly_looks_for() -> None:
    """Every check of packs is for lithium or for nickel, but for the look that is worded for both."""
    facts = load_facts()
    for check in facts.checks.values():
        if of_pack(facts, check):
            for_them = [sees(facts, check, keys(made_of)) for made_of in ("lithium-polymer", "NiMH")]
            assert any(for_them), check.key
            for_both = "nickel-metal hydride" in check.for_chemistry
            assert all(for_them) is for_both, check.key


def test_the_story_of_a_nickel_pack_is_told_of_nickel(packs: Bench) -> None:
    add_nick(packs)
    for _ in range(4):
        packs.clock.on(days=1)
        ran(packs.workshop, NICKEL_CAR, packs=(NICK,), hits="3")
    packs.clock.on(days=1)
    before = belief(packs, "nickel_vented", NICK)
    packs.looked(pack=NICK)
    assert belief(packs, "nickel_vented", NICK) < before / 3
    sheet = bench_sheet(packs.workshop, Asked((NICKEL_CAR,), minutes=60.0, packs=1))
    told = {check.check for check in sheet.checks} | {out.name for out in sheet.left_out}
    assert "nickel_volts" in told or any("volts of the NiMH" in name for name in told)
    assert not told & {"pack_voltages", "pack_resistance"} and not sheet.unguarded
    packs.looked("leaking", pack=NICK)
    assert belief(packs, "nickel_vented", NICK) > 0.9
