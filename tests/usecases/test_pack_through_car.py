"""What a car's own check sees of a pack is kept of that pack. Authority: law (Bayes moves it both ways)."""

from __future__ import annotations

import pytest

from snugfast.core.errors import BadInput
from snugfast.usecases.bench.bench_sheet import bench_sheet
from snugfast.usecases.bench.sheet import Asked
from snugfast.usecases.journal.bench_answers import FoundSaid, draft_found
from snugfast.usecases.journal.keeping import keep
from tests.usecases.bench import car_story
from tests.usecases.pack_bench import PACK, Bench
from tests.usecases.test_pack_signs import belief

pytestmark = pytest.mark.slow  # through a whole use-case: not in make check


def found(packs: Bench, check: str, *words: str, pack: str = "") -> None:
    said = FoundSaid("Bramble", check, words, pack=pack)
    keep(packs.workshop, draft_found(packs.workshop, said).entries)


def of_car(packs: Bench, mode: str) -> float:
    story, car = car_story(packs.workshop)
    scope = story.scope(car)
    rows = [int(scope.rows[n]) for n, one in enumerate(scope.modes) if one.key == mode]
    return float(story.bank[rows].presence.max())


@pytest.mark.parametrize(
    ("check", "word"),
    [
        ("plugs_look", "pack half browned"),
        ("plugs_look", "pack half slack"),
        ("heat_after_run", "pack plug hot"),
    ],
)
def test_a_fault_of_the_pack_told_through_the_car_reaches_the_pack(
    packs: Bench, check: str, word: str
) -> None:
    for _ in range(3):
        packs.ran()
    car_before, before = of_car(packs, "controller_plug_hot"), belief(packs, "pack_plug_hot")
    found(packs, check, f"{word}: left as it is")
    assert belief(packs, "pack_plug_hot") > 10 * before  # heat alone may be a false alarm
    assert of_car(packs, "controller_plug_hot") < car_before  # looked at too, and nothing said of it
    assert packs.state().damaged  # a hot or slack plug stays out of use until it is mended


def test_a_sound_look_at_both_halves_counts_for_both(packs: Bench) -> None:
    for _ in range(3):
        packs.ran()
    car_before, before = of_car(packs, "controller_plug_hot"), belief(packs, "pack_plug_hot")
    found(packs, "plugs_look", "sound")
    assert belief(packs, "pack_plug_hot") < before / 3
    assert of_car(packs, "controller_plug_hot") < car_before / 3


def test_which_pack_is_asked_when_it_can_be_several(packs: Bench) -> None:
    packs.add_pack("Ember 2")
    packs.ran()
    packs.ran("Ember 2")
    packs.stands("unplugged", pack=PACK)
    packs.stands("unplugged", pack="Ember 2")
    with pytest.raises(BadInput, match="which one"):
        found(packs, "plugs_look", "pack half browned")
    before = belief(packs, "pack_plug_hot")
    found(packs, "plugs_look", "pack half browned: left as it is", pack="Ember 2")
    assert belief(packs, "pack_plug_hot", "Ember 2") > 0.9
    assert belief(packs, "pack_plug_hot") == pytest.approx(before, rel=1e-6)


def test_the_look_at_both_halves_is_worth_what_it_sees_of_the_pack(packs: Bench) -> None:
    for _ in range(12):
        packs.clock.on(days=3)
        packs.looked()
        packs.ran()
    packs.clock.on(days=1)
    sheet = bench_sheet(packs.workshop, Asked(("Bramble",), minutes=300.0))
    (check,) = [check for check in sheet.checks if check.check == "plugs_look"]
    assert "pack_plug_hot" in {why.mode for why in check.why}
    assert check.pack_name == PACK
    found(packs, "plugs_look", "sound", pack=PACK)
    again = bench_sheet(packs.workshop, Asked(("Bramble",), minutes=300.0))
    assert "plugs_look" not in {check.check for check in again.checks}
