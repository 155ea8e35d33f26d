"""Whether every name in the tables answers to something: modes, roles, sources, cautions, sizes in texts."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping

from snugfast.core.findings import Finding
from snugfast.facts.hunt_rows import dangling_hunts
from snugfast.facts.model import Facts, Moment, Pedigree
from snugfast.facts.reading import nearest
from snugfast.facts.texts import (
    access_texts,
    braces_pair,
    check_texts,
    extra_texts,
    placeholders,
    treatment_texts,
)

Places = Mapping[tuple[str, str], str]
"""Where each row stands: ("modes", key) to its file and row."""


def dangling(facts: Facts, places: Places) -> list[Finding]:
    """One Finding for every reference that answers to nothing."""
    return [
        *_sources(facts, places),
        *_modes(facts, places),
        *_checks(facts, places),
        *_access(facts, places),
        *_treatments(facts, places),
        *_wet_rules(facts, places),
        *_one_off_sheets(facts, places),
        *_stress(facts, places),
        *_rounds(facts, places),
        *_presence(facts, places),
        *_duty(facts, places),
        *_roots(facts, places),
        *_also_called(facts, places),
        *_spare_parts(facts, places),
        *dangling_hunts(facts, places),
    ]


def _unknown(where: str, what: str, name: str, known: Collection[str]) -> Iterator[Finding]:
    if name not in known:
        yield Finding(where, f"no {what} is called “{name}”", nearest(name, known))


def _sources(facts: Facts, places: Places) -> Iterator[Finding]:
    rows: list[tuple[str, str, Pedigree]] = []
    rows += [("cautions", key, row.pedigree) for key, row in facts.cautions.items()]
    rows += [("modes", key, row.pedigree) for key, row in facts.modes.items()]
    rows += [("checks", key, row.pedigree) for key, row in facts.checks.items()]
    rows += [("access", key, row.pedigree) for key, row in facts.access.items()]
    rows += [("treatments", key, row.pedigree) for key, row in facts.treatments.items()]
    rows += [("wet_rules", key, row.pedigree) for key, row in facts.wet_rules.items()]
    rows += [("one_off_sheets", key, row.pedigree) for key, row in facts.one_off_sheets.items()]
    rows += [("stress", key, row.pedigree) for key, row in facts.stress.items()]
    rows += [("overload", key, row.pedigree) for key, row in facts.overload.items()]
    rows += [("rounds", key, row.pedigree) for key, row in facts.rounds.items()]
    rows += [("presence", key, row.pedigree) for key, row in facts.presence.items()]
    rows += [("duty", key, row.pedigree) for key, row in facts.duty.items()]
    rows += [("roots", key, row.pedigree) for key, row in facts.roots.items()]
    rows += [("also_called", key, row.pedigree) for key, row in facts.also_called.items()]
    rows += [("price_levels", key, row.pedigree) for key, row in facts.price_levels.items()]
    rows += [("spare_parts", key, row.pedigree) for key, row in facts.spare_parts.items()]
    rows += [("hunt_strengths", key, row.pedigree) for key, row in facts.hunt_strengths.items()]
    rows += [("hunt_symptoms", key, row.pedigree) for key, row in facts.hunt_symptoms.items()]
    rows += [("hunt_causes", key, row.pedigree) for key, row in facts.hunt_causes.items()]
    rows += [("hunt_tests", key, row.pedigree) for key, row in facts.hunt_tests.items()]
    rows += [("assumptions", key, row.pedigree) for key, row in facts.assumptions.items()]
    for kind, key, pedigree in rows:
        where = places.get((kind, key), f"{kind}, {key}")
        yield from _unknown(where, "source", pedigree.source, facts.sources)


def _traits(where: str, traits: Mapping[str, str], facts: Facts) -> Iterator[Finding]:
    """Traits asked for; several values that would do are parted by “|”."""
    for key, values in traits.items():
        if key not in facts.traits:
            yield from _unknown(where, "trait", key, facts.traits)
            continue
        for value in values.split("|"):
            yield from _unknown(where, f"value of the trait “{key}”", value, facts.traits[key].values)


def _modes(facts: Facts, places: Places) -> Iterator[Finding]:
    for key, mode in facts.modes.items():
        where = places["modes", key]
        for role in (mode.role, *mode.cure_parts, *mode.failure_parts):
            yield from _unknown(where, "role", role, facts.roles)
        yield from _traits(where, mode.traits, facts)


def _checks(facts: Facts, places: Places) -> Iterator[Finding]:
    for key, check in facts.checks.items():
        where = places["checks", key]
        for role in check.roles:
            yield from _unknown(where, "role", role, facts.roles)
        for covered in check.covers:
            yield from _unknown(where, "mode", covered.mode, facts.modes)
        for answer in check.answers:
            if answer.mode:
                yield from _unknown(where, "mode", answer.mode, facts.modes)
        if check.access:
            yield from _unknown(where, "access work", check.access, facts.access)
        yield from _cautions(where, check.cautions, facts)
        for words in check.for_chemistry.values():
            yield from _cautions(where, words.cautions, facts)
        yield from _traits(where, check.traits, facts)
        yield from _sizes(where, check_texts(check), check.roles, facts)


def _access(facts: Facts, places: Places) -> Iterator[Finding]:
    for key, access in facts.access.items():
        where = places["access", key]
        for role in access.roles:
            yield from _unknown(where, "role", role, facts.roles)
        if access.parent:
            yield from _unknown(where, "access work", access.parent, facts.access)
            if key in _above(access.parent, facts):
                yield Finding(where, "this has to be open before itself", "put its parent right")
        yield from _cautions(where, access.cautions, facts)
        yield from _sizes(where, access_texts(access), access.roles, facts)


def _treatments(facts: Facts, places: Places) -> Iterator[Finding]:
    for key, treatment in facts.treatments.items():
        where = places["treatments", key]
        for role in treatment.roles:
            yield from _unknown(where, "role", role, facts.roles)
        for protected in treatment.protects:
            yield from _unknown(where, "mode", protected.mode, facts.modes)
        for other in treatment.includes:
            yield from _unknown(where, "treatment", other, facts.treatments)
        yield from _cautions(where, treatment.cautions, facts)
        yield from _sizes(where, treatment_texts(treatment), treatment.roles, facts)


def _wet_rules(facts: Facts, places: Places) -> Iterator[Finding]:
    for key, rule in facts.wet_rules.items():
        where = places["wet_rules", key]
        for role in rule.must_be_rated:
            yield from _unknown(where, "role", role, facts.roles)
        yield from _cautions(where, rule.cautions, facts)


def _one_off_sheets(facts: Facts, places: Places) -> Iterator[Finding]:
    for key, sheet in facts.one_off_sheets.items():
        where = places["one_off_sheets", key]
        for check in sheet.checks:
            yield from _unknown(where, "check", check, facts.checks)
        for extra in (*sheet.before, *sheet.after):
            for role in (*extra.roles, *extra.parts):
                yield from _unknown(where, "role", role, facts.roles)
            yield from _cautions(where, extra.cautions, facts)
            yield from _traits(where, extra.traits, facts)
            yield from _sizes(where, extra_texts(extra), extra.roles, facts)


def _stress(facts: Facts, places: Places) -> Iterator[Finding]:
    for table, rows in (("stress", facts.stress), ("overload", facts.overload), ("duty", facts.duty)):
        for key, row in rows.items():
            for mode in row.modes:
                yield from _unknown(places[table, key], "mode", mode, facts.modes)


def _rounds(facts: Facts, places: Places) -> Iterator[Finding]:
    """No check, access or moment is in two rounds; a car as it stands and every moment are in one."""
    homes: dict[tuple[str, str], str] = {}
    for key, row in facts.rounds.items():
        where = places["rounds", key]
        for check in (*row.checks, *row.first):
            yield from _unknown(where, "check", check, facts.checks)
        for access in row.access:
            yield from _unknown(where, "access work", access, ("", *facts.access))
        for treatment in row.begin:
            yield from _unknown(where, "treatment", treatment, facts.treatments)
        held = [("check", check) for check in row.checks]
        held += [("access", access) for access in row.access]
        held += [("moment", moment.value) for moment in row.moments]
        for what in held:
            if what in homes:
                yield Finding(where, f"the {what[0]} “{what[1]}” is in {homes[what]} too", "name it once")
            homes[what] = key
    wanted = [("access", "")]
    wanted += [("moment", moment.value) for moment in Moment if moment is not Moment.COLD_BENCH]
    for kind, name in wanted:
        if (kind, name) not in homes:
            yield Finding("rounds.toml", f"no round has the {kind} “{name}”", "add it to one")


def _presence(facts: Facts, places: Places) -> Iterator[Finding]:
    for key in facts.presence:
        yield from _unknown(places["presence", key], "mode", key, facts.modes)


def _spare_parts(facts: Facts, places: Places) -> Iterator[Finding]:
    """Every role has its row, and every size and role that a row names is there."""
    for key, row in facts.spare_parts.items():
        where = places["spare_parts", key]
        yield from _unknown(where, "role", key, facts.roles)
        for fit in row.must:
            yield from _unknown(where, "size", fit.size, facts.size_names)
            if fit.of_role:
                yield from _unknown(where, "role", fit.of_role, facts.roles)
                yield from _unknown(where, "size", fit.of_size, facts.size_names)
        for size in row.may:
            yield from _unknown(where, "size", size, facts.size_names)
    for role in facts.roles.keys() - facts.spare_parts.keys():
        yield Finding("spare_parts.toml", f"the role “{role}” has no row", "say what its part fits by")


def _also_called(facts: Facts, places: Places) -> Iterator[Finding]:
    """What words stand for is there: roles and modes by key, answers by the word of a check."""
    answers = {answer.word.casefold() for check in facts.checks.values() for answer in check.answers}
    known = {"roles": facts.roles, "modes": facts.modes, "answers": {*answers, "sound", "ticked"}}
    for key, also in facts.also_called.items():
        for meant in also.words.values() if key in known else ():
            for one in meant.split("|"):
                yield from _unknown(places["also_called", key], key.rstrip("s"), one, known[key])


def _duty(facts: Facts, places: Places) -> Iterator[Finding]:
    """Each kind of car is one, and no mode is made faster or slower twice."""
    seen: dict[str, str] = {}
    for key, duty in facts.duty.items():
        for kind in duty.times:
            kinds = facts.traits["car_kind"].values if "car_kind" in facts.traits else {}
            yield from _unknown(places["duty", key], "kind of car", kind, kinds)
        for mode in duty.modes:
            if mode in seen:
                yield Finding(
                    places["duty", key], f"“{mode}” is in “{seen[mode]}” too", "leave it out of one"
                )
            seen[mode] = key


def _roots(facts: Facts, places: Places) -> Iterator[Finding]:
    for key, root in facts.roots.items():
        where = places["roots", key]
        yield from _unknown(where, "mode", key, facts.modes)
        for role in root.parts:
            yield from _unknown(where, "role", role, facts.roles)
        yield from _cautions(where, root.cautions, facts)
        if key in facts.modes:
            roles = (facts.modes[key].role, *root.parts)
            yield from _sizes(where, (root.job, *root.tools), roles, facts)


def _above(key: str, facts: Facts) -> list[str]:
    chain: list[str] = []
    while key in facts.access and key not in chain:
        chain.append(key)
        key = facts.access[key].parent
    return chain


def _cautions(where: str, cautions: Collection[str], facts: Facts) -> Iterator[Finding]:
    for caution in cautions:
        yield from _unknown(where, "caution", caution, facts.cautions)


def _sizes(where: str, texts: Collection[str], roles: Collection[str], facts: Facts) -> Iterator[Finding]:
    for text in texts:
        if not braces_pair(text):
            yield Finding(where, f"the braces in “{text}” do not pair", "write {role.size}")
        for role, size in placeholders(text):
            if role not in facts.roles:
                yield from _unknown(where, "role", role, facts.roles)
            elif role not in roles:
                yield Finding(where, f"the text names “{role}”, which is not among the roles", "add it there")
            yield from _unknown(where, "size", size, facts.size_names)
