"""A part that brings sizes of its own changes the build, without the build being edited by hand.

Authority: laws of this project.
"""

from __future__ import annotations

import pytest

from snugfast.core.errors import BadInput, WrongData
from snugfast.facts.model import Build
from snugfast.usecases.journal.cars import draft_build, draft_fitted
from snugfast.usecases.journal.keeping import keep, undo
from snugfast.usecases.shared.lookup import car_and_build
from snugfast.usecases.shared.workshop import Workshop
from tests.usecases.bench import with_truck, workshop_in_memory


def build_of(workshop: Workshop) -> Build:
    return car_and_build(workshop, "Bramble")[1]


def teeth(workshop: Workshop, place: str = "pinion") -> object:
    found = build_of(workshop).place(place)
    assert found is not None
    return found.sizes["teeth_count"]


@pytest.mark.parametrize("words", ["pinion, 17 teeth", "Pinion 17T, module 0.8", "17 tooth pinion"])
def test_the_build_has_the_teeth_that_the_new_pinion_says_of_itself(words: str) -> None:
    with workshop_in_memory() as (workshop, _):
        with_truck(workshop)
        assert teeth(workshop) == 15.0
        draft = draft_fitted(workshop, "Bramble", "pinion", part=words)
        assert "the build says so from now on: number of teeth 17." in draft.echo[0]
        keep(workshop, draft.entries)
        assert teeth(workshop) == 17.0
        pinion = build_of(workshop).place("pinion")
        assert pinion is not None
        assert pinion.part == words
        assert pinion.sizes["bore_mm"] == 5.0


def test_a_typed_size_goes_before_the_words() -> None:
    with workshop_in_memory() as (workshop, _):
        with_truck(workshop)
        for typed in ("teeth_count=18", "number of teeth = 18"):
            draft = draft_fitted(workshop, "Bramble", "pinion", part="pinion, 17 teeth", sizes=(typed,))
            assert draft.entries[0].fact.sizes == {"teeth_count": 18.0}  # type: ignore[union-attr]


def test_larger_tyres_are_read_from_their_words_and_a_motor_is_not() -> None:
    with workshop_in_memory() as (workshop, _):
        with_truck(workshop)
        keep(workshop, draft_fitted(workshop, "Bramble", "tyres", part="soft tyre, 125 mm, banded").entries)
        tyres = build_of(workshop).place("tyres")
        assert tyres is not None
        assert tyres.sizes["outer_mm"] == 125.0
        motor = draft_fitted(workshop, "Bramble", "motor", part="motor, can 36 mm")
        assert motor.entries[0].fact.sizes == {}  # type: ignore[union-attr]


def test_undoing_the_fitting_gives_the_old_teeth_back() -> None:
    with workshop_in_memory() as (workshop, _):
        with_truck(workshop)
        keep(workshop, draft_fitted(workshop, "Bramble", "pinion", part="pinion, 17 teeth").entries)
        undo(workshop)
        assert teeth(workshop) == 15.0


def test_a_build_edited_later_goes_before_an_earlier_fitting() -> None:
    from snugfast.facts.load import build_toml

    with workshop_in_memory() as (workshop, _):
        with_truck(workshop)
        keep(workshop, draft_fitted(workshop, "Bramble", "pinion", part="pinion, 17 teeth").entries)
        text = build_toml(build_of(workshop)).replace("teeth_count = 17.0", "teeth_count = 16.0")
        keep(workshop, [draft_build(workshop, "Bramble", text, "build")])
        assert teeth(workshop) == 16.0


def test_the_same_part_again_changes_no_size() -> None:
    with workshop_in_memory() as (workshop, _):
        with_truck(workshop)
        for part in ("", "pinion, 15 teeth"):
            assert draft_fitted(workshop, "Bramble", "pinion", part=part).entries[0].fact.sizes == {}  # type: ignore[union-attr]


@pytest.mark.parametrize(
    ("sizes", "spots", "sentence"),
    [
        (("teeth=17",), (), "“teeth=17” is no size."),
        (("teeth_count=",), (), "“teeth_count=” is no size."),
        (("teeth_count=many",), (), "number of teeth: “many” is not a number."),
    ],
)
def test_a_size_that_cannot_be_read_is_refused(
    sizes: tuple[str, ...], spots: tuple[str, ...], sentence: str
) -> None:
    with workshop_in_memory() as (workshop, _):
        with_truck(workshop)
        with pytest.raises(BadInput) as refused:
            draft_fitted(workshop, "Bramble", "pinion", sizes=sizes, spots=spots)
        assert refused.value.sentence == sentence
        assert refused.value.way_out


def test_one_tyre_of_four_cannot_have_a_size_of_its_own() -> None:
    with workshop_in_memory() as (workshop, _):
        with_truck(workshop)
        with pytest.raises(BadInput, match="one size for all its spots"):
            draft_fitted(workshop, "Bramble", "tyres", part="tyre, 125 mm", spots=("front left",))


def test_a_size_that_no_standard_knows_is_refused() -> None:
    with workshop_in_memory() as (workshop, _):
        with_truck(workshop)
        with pytest.raises((BadInput, WrongData)):
            draft_fitted(workshop, "Bramble", "pinion", sizes=("bore_mm=-5",))
