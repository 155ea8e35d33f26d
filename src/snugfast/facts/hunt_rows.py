"""One row of the tables of a fault hunt, read strictly; and what holds between the rows."""

from __future__ import annotations

from collections import Counter
from collections.abc import Collection, Iterator, Mapping
from typing import TYPE_CHECKING

from snugfast.core.findings import Finding
from snugfast.facts.hunts import (
    STRENGTHS,
    Afterwards,
    Cause,
    FaultTest,
    PossibleAnswer,
    Strength,
    Symptom,
    WhereSafe,
)
from snugfast.facts.reading import Row, nearest
from snugfast.facts.upkeep_rows import pedigree, words

if TYPE_CHECKING:
    from snugfast.facts.model import Facts

CAUTION_WHERE = {WhereSafe.ON_STAND: "stand-clear", WhereSafe.CLEAR_GROUND: "fast-car-people"}
"""The caution that a powered test must carry."""


def read_strength(key: str, row: Row) -> Strength:
    """One word and its number."""
    strength = Strength(
        key=key,
        name=row.text("name"),
        chance=row.number("chance", above=0, most=0.99),
        pedigree=pedigree(row),
    )
    if key not in STRENGTHS:
        row.fault(f"there is no strength “{key}”", f"use {', '.join(STRENGTHS)}")
    row.done()
    return strength


def _links(row: Row) -> dict[str, str]:
    links: dict[str, str] = {}
    for strength in STRENGTHS:
        for cause in row.texts(strength):
            if cause in links:
                row.fault(f"“{cause}” is linked twice", "leave it under one word")
            links[cause] = strength
    if not links:
        row.fault("this is linked to no cause", f"add {STRENGTHS[0]} = [ … ]")
    return links


def read_symptom(key: str, row: Row) -> Symptom:
    """One symptom. One that stops everything also asks for a look at the battery first."""
    symptom = Symptom(
        key=key,
        name=row.text("name"),
        links=_links(row),
        pedigree=pedigree(row),
        also=row.texts("also"),
        first=row.texts("first"),
        stops=row.flag("stops"),
        pack_first=row.flag("pack_first"),
        cautions=row.texts("cautions"),
    )
    if symptom.stops and not (symptom.pack_first and symptom.cautions):
        row.fault("what stops everything has cautions and looks at the battery first", "add them")
    row.done()
    return symptom


def read_cause(key: str, row: Row) -> Cause:
    """One cause: it has modes, a chance of its own, or both."""
    cause = Cause(
        key=key,
        name=row.text("name"),
        mend=row.text("mend"),
        mend_min=row.number("mend_min", above=0),
        after=row.choice("after", Afterwards),
        pedigree=pedigree(row),
        modes=row.texts("modes"),
        chance=row.number("chance", default=0.0, least=0, most=0.5),
        roles=row.texts("roles"),
        traits=words(row, "traits"),
        checks=row.texts("checks"),
        parts=row.texts("parts"),
        temporary=row.text("temporary", default=""),
        cautions=row.texts("cautions"),
    )
    if not cause.modes and not cause.chance:
        row.fault("a cause has modes or a chance", "add chance = …")
    row.done()
    return cause


def read_fault_test(key: str, row: Row) -> FaultTest:
    """One test. A cause gives one answer at most, so its chances over the answers stay within 1."""
    test = FaultTest(
        key=key,
        name=row.text("name"),
        where=row.choice("where_safe", WhereSafe),
        seconds=row.number("seconds", above=0, most=3600),
        steps=row.texts("steps", required=True),
        good=row.text("good"),
        answers=tuple(_answer(each) for each in row.rows("answers", required=True)),
        pedigree=pedigree(row),
        access=row.text("access", default=""),
        roles=row.texts("roles"),
        traits=words(row, "traits"),
        tools=row.texts("tools"),
        cautions=row.texts("cautions"),
        until_good=row.flag("until_good"),
        warm=row.flag("warm"),
    )
    said = Counter([test.good, *(answer.word for answer in test.answers)])
    for word, times in said.items():
        if times > 1:
            row.fault(f"“{word}” is an answer twice", "word one of them otherwise")
    needed = CAUTION_WHERE.get(test.where)
    if needed and needed not in test.cautions:
        row.fault(f"a test {test.where.value} has the caution “{needed}”", "add it")
    row.done()
    return test


def _answer(row: Row) -> PossibleAnswer:
    answer = PossibleAnswer(
        word=row.text("word"), means=row.text("means"), links=_links(row), stops=row.flag("stops")
    )
    row.done()
    return answer


def dangling_hunts(facts: Facts, places: Mapping[tuple[str, str], str]) -> Iterator[Finding]:
    """One Finding for every reference of the hunt that answers to nothing, and for what cannot be found."""
    if missing := [word for word in STRENGTHS if word not in facts.hunt_strengths]:
        yield Finding("hunt_strengths.toml", f"{', '.join(missing)} is missing", "add it")
        return
    for key, symptom in facts.hunt_symptoms.items():
        where = places["hunt_symptoms", key]
        yield from _each(where, "cause", symptom.links, facts.hunt_causes)
        yield from _each(where, "test", symptom.first, facts.hunt_tests)
        yield from _each(where, "caution", symptom.cautions, facts.cautions)
    for key, cause in facts.hunt_causes.items():
        where = places["hunt_causes", key]
        yield from _each(where, "mode", cause.modes, facts.modes)
        yield from _each(where, "role", (*cause.roles, *cause.parts), facts.roles)
        yield from _each(where, "check", cause.checks, facts.checks)
        yield from _each(where, "caution", cause.cautions, facts.cautions)
        yield from _traits(where, cause.traits, facts)
    for key, test in facts.hunt_tests.items():
        where = places["hunt_tests", key]
        yield from _each(where, "role", test.roles, facts.roles)
        yield from _each(where, "caution", test.cautions, facts.cautions)
        yield from _each(where, "access work", [test.access] if test.access else [], facts.access)
        yield from _traits(where, test.traits, facts)
        yield from _answers(where, test, facts)
    shown = {cause for test in facts.hunt_tests.values() for one in test.answers for cause in one.links}
    for key, symptom in facts.hunt_symptoms.items():
        for linked in symptom.links:
            if linked in facts.hunt_causes and linked not in shown:
                yield Finding(places["hunt_symptoms", key], f"no test shows “{linked}”", "add one")


def _answers(where: str, test: FaultTest, facts: Facts) -> Iterator[Finding]:
    total: Counter[str] = Counter()
    for answer in test.answers:
        yield from _each(where, "cause", answer.links, facts.hunt_causes)
        for cause, strength in answer.links.items():
            total[cause] += round(1000 * facts.hunt_strengths[strength].chance)
    for cause, thousandths in total.items():
        if thousandths > 1000:
            yield Finding(where, f"“{cause}” gives its answers more than always", "use weaker words")


def _each(where: str, what: str, names: Collection[str], known: Collection[str]) -> Iterator[Finding]:
    for name in names:
        if name not in known:
            yield Finding(where, f"no {what} is called “{name}”", nearest(name, known))


def _traits(where: str, traits: Mapping[str, str], facts: Facts) -> Iterator[Finding]:
    for key, values in traits.items():
        if key not in facts.traits:
            yield from _each(where, "trait", [key], facts.traits)
            continue
        yield from _each(where, f"value of the trait “{key}”", values.split("|"), facts.traits[key].values)
