"""What an owner writes: all mistakes at once, and back again unchanged.

Authority: laws of this project (a text read, written and read again is the same build).
"""

from __future__ import annotations

import copy
import json
from contextlib import suppress
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from snugfast.core.errors import WrongData
from snugfast.facts.load import build_document, build_toml, load_facts, parse_build_toml, read_build
from snugfast.facts.model import Build, Facts, Pedigree, Place
from tests.fuzz.fields import NASTY, places_in

TRUCK = "truck-1-10-4wd-3s"
FACTS = load_facts()


@pytest.fixture
def facts() -> Facts:
    return FACTS


def problems(document: dict[str, Any], facts: Facts) -> list[str]:
    with pytest.raises(WrongData) as wrong:
        read_build(document, "my.toml", facts)
    return [finding.sentence for finding in wrong.value.findings]


def nut(**changes: Any) -> dict[str, Any]:
    place: dict[str, Any] = {
        "key": "wheel_nuts",
        "role": "wheel_nut",
        "name": "Wheel nuts",
        "part": "nut",
        "spots": ["front left", "front right"],
        "price_minor": 60,
        "sizes": {"thread": "M4", "wrench_mm": 7},
    }
    return {**place, **changes}


def car(*places: dict[str, Any], **changes: Any) -> dict[str, Any]:
    return {"key": "mine", "name": "Mine", "scale": "1/10", "place": list(places), **changes}


def test_ten_mistakes_are_told_at_once(facts: Facts) -> None:
    document = car(
        nut(role="wheel_nutt"),
        nut(spots=["front left", "front left"], price_minor=0),
        nut(key="b", sizes={"thread": "M7", "wrench_mm": "5,5", "wrench": 7}),
        nut(key="c", role="wheel_bearing", sizes={"bore_mm": 10, "outer_mm": 15, "width_mm": 5}),
        nut(key="d", price_minor="1,50", colour="red"),
        traits={"tyre_mount": "nailed", "wings": "two"},
        currency="crowns",
        source="hearsay",
    )
    told = problems(document, facts)
    expected = [
        "no role is called “wheel_nutt”; did you mean “wheel_nut”?",
        "the place “wheel_nuts” is there twice",
        "“spots” names “front left” twice",
        "“price_minor” is 0 and must be 1 or more",
        "“thread” cannot be M7",
        "“wrench_mm” should be a number, not “5,5”; write 5.5 with a full stop and without quotes",
        "no size is called “wrench”; did you mean “wrench_mm”?",
        "no bearing of 10 × 15 × 5 mm is known here; with this bore there are 10 × 15 × 3, 10 × 15 × 4",
        "“price_minor” should be a whole number, not “1,50”",
        "there is no key “colour” here",
        "the trait “tyre_mount” cannot be “nailed”; choose from “clamped”, “glued”",
        "no trait is called “wings”",
        "“currency” cannot be “crowns”",
        "no source is called “hearsay”",
    ]
    missing = [part for part in expected if not any(part in sentence for sentence in told)]
    assert not missing, "\n".join(told)
    assert len(told) == len(expected), "\n".join(told)


def test_each_mistake_says_where(facts: Facts) -> None:
    told = problems(car(nut(), nut(key="hexes", role="wheel_hexx")), facts)
    assert told == [
        "my.toml, place 2 “hexes”: no role is called “wheel_hexx”; did you mean “wheel_hex”?",
    ]


@pytest.mark.parametrize(
    ("change", "told"),
    [
        ({"price_minor": -5}, "“price_minor” is -5 and must be 1 or more"),
        ({"price_minor": 1.5}, "“price_minor” should be a whole number, not 1.5"),
        ({"price_minor": True}, "“price_minor” should be a whole number, not True"),
        ({"sizes": {"wrench_mm": -7}}, "“wrench_mm” is -7 and must be above 0"),
        ({"sizes": {"wrench_mm": float("nan")}}, "“wrench_mm” should be a number, not nan"),
        ({"sizes": {"wrench_mm": 9}}, "the nearest that are made: 7, 8, 10"),
        ({"sizes": {"thread": 4}}, "“thread” should be a text, not 4; put it in quotes"),
        ({"sizes": ["M4"]}, "“sizes” should be a table"),
        ({"spots": "front left"}, "“spots” should be a list of texts"),
        ({"spots": [" "]}, "a spot has no name"),
        ({"key": "Wheel Nuts"}, "“key” cannot be “Wheel Nuts”"),
        ({"name": " "}, "“name” is empty"),
        ({"wet_rated": "yes"}, "“wet_rated” should be true or false"),
    ],
)
def test_one_wrong_value_is_one_sentence(change: dict[str, Any], told: str, facts: Facts) -> None:
    sentences = problems(car(nut(**change)), facts)
    assert len(sentences) == 1
    assert told in sentences[0]


@pytest.mark.parametrize("document", [{}, {"place": "none"}, {"place": []}, {"place": [3]}, {"traits": 5}])
def test_a_document_of_the_wrong_shape_is_refused_in_words(document: dict[str, Any], facts: Facts) -> None:
    assert all(sentence.startswith("my.toml") for sentence in problems(document, facts))


def test_a_decimal_comma_in_a_text_is_named_line_by_line() -> None:
    text = "key = 'mine'\nwidth_mm = 4,5\nsizes = { bore_mm = 1,5, outer_mm = 3 }\n"
    with pytest.raises(WrongData) as wrong:
        parse_build_toml(text, "my.toml")
    assert [finding.sentence for finding in wrong.value.findings] == [
        "my.toml, line 2: “4,5” has a comma where a full stop belongs; write 4.5",
        "my.toml, line 3: “1,5” has a comma where a full stop belongs; write 1.5",
    ]


def test_a_broken_text_says_which_line() -> None:
    with pytest.raises(WrongData, match="line 2"):
        parse_build_toml("key = 'mine'\nname = = 'Mine'\n", "my.toml")


def test_an_owner_need_not_name_a_source(facts: Facts) -> None:
    build = read_build(car(nut()), "my.toml", facts)
    assert build.pedigree == build.places[0].pedigree == Pedigree("mine")


@pytest.mark.slow
def test_a_starter_comes_back_unchanged_from_document_and_text(facts: Facts) -> None:
    for build in facts.starters.values():
        document = build_document(build)
        assert read_build(document, "x", facts) == build
        assert read_build(json.loads(json.dumps(document)), "x", facts) == build
        text = build_toml(build)
        assert read_build(parse_build_toml(text, "x"), "x", facts) == build
        assert build_toml(read_build(parse_build_toml(text, "x"), "x", facts)) == text


SAYING = st.text(st.characters(exclude_categories=["Cs"]), min_size=1, max_size=30).filter(str.strip)
MAYBE = st.one_of(st.just(""), SAYING)


@st.composite
def places(draw: st.DrawFn, key: str) -> Place:
    sizes: dict[str, str | float] = {}
    if draw(st.booleans()):
        sizes["length_mm"] = draw(st.floats(min_value=1e-9, max_value=1e9))
    if draw(st.booleans()):
        sizes["closure"] = draw(SAYING)
    return Place(
        key=key,
        role=draw(st.sampled_from(sorted(FACTS.roles))),
        name=draw(SAYING),
        part=draw(SAYING),
        spots=tuple(draw(st.lists(SAYING, max_size=4, unique=True))),
        price_minor=draw(st.integers(min_value=1, max_value=10**12)),
        sizes=sizes,
        pedigree=Pedigree(draw(st.sampled_from(sorted(FACTS.sources))), draw(MAYBE)),
        material=draw(MAYBE),
        into=draw(MAYBE),
        wet_rated=draw(st.sampled_from([None, True, False])),
        note=draw(MAYBE),
    )


def test_a_value_of_any_shape_is_read_or_refused_in_words(facts: Facts) -> None:
    """Each kind of value once, put in place of each thing a build may say."""
    document = car(nut(), traits={"tyre_mount": "glued"}, currency="EUR", source="practice", where="x")
    for way in places_in(document):
        for value in NASTY:
            changed = copy.deepcopy(document)
            inside: Any = changed
            for step in way[:-1]:
                inside = inside[step]
            inside[way[-1]] = value
            with suppress(WrongData):
                read_build(changed, "my.toml", facts)


@st.composite
def builds(draw: st.DrawFn) -> Build:
    keys = draw(
        st.lists(st.from_regex(r"[a-z][a-z0-9_]{0,8}", fullmatch=True), min_size=1, max_size=4, unique=True)
    )
    traits = {
        key: draw(st.sampled_from(sorted(FACTS.traits[key].values)))
        for key in draw(st.lists(st.sampled_from(sorted(FACTS.traits)), unique=True))
    }
    return Build(
        key=draw(st.from_regex(r"[a-z0-9][a-z0-9_.-]{0,8}", fullmatch=True)),
        name=draw(SAYING),
        description=draw(MAYBE),
        scale=draw(SAYING),
        traits=traits,
        places=tuple(draw(places(key)) for key in keys),
        pedigree=Pedigree(draw(st.sampled_from(sorted(FACTS.sources))), draw(MAYBE)),
        currency=draw(st.from_regex(r"[A-Z]{3}", fullmatch=True)),
    )


@pytest.mark.slow
@given(builds())
def test_any_build_comes_back_unchanged(build: Build) -> None:
    """Law: reading undoes writing, for the document and for the text an owner edits."""
    assert read_build(build_document(build), "x", FACTS) == build
    assert read_build(parse_build_toml(build_toml(build), "x"), "x", FACTS) == build
