"""Rules over the tables of treatments, wet rules and one-off sheets, and what the loader refuses in them.

Authority: laws of this project; the order of the steps (power off, rinse, displace, oil) is common practice.
"""

from __future__ import annotations

import re
from itertools import pairwise
from pathlib import Path

import pytest

from snugfast.core.errors import WrongData
from snugfast.facts.load import load_facts
from snugfast.facts.model import Clock, Facts, Gate, Occasion, StepKind, Treatment
from snugfast.facts.texts import extra_texts, filled, treatment_texts, unresolved
from snugfast.facts.upkeep_rows import WETNESS

PACK_ROLES = {"pack", "pack_plug"}
# A text that speaks of a thing that hurts must carry one of these cautions.
HAZARDS = {
    r"displacing (?:oil|spray)": {"displacing-oil"},
    r"\bstream of\b": {"rinse-gently"},
    r"\bblow\b": {"dust-brush"},
    r"overnight|four hours": {"dry-without-heat"},
    r"\bthe pack out\b": {"pack-wet"},
    r"measure each (?:pack|battery)": {"pack-measure"},
    r"\bstorage charge\b": {"pack-storage"},
    r"silicone oil|seals and oil|new seals, oil": {"silicone-oil"},
}


@pytest.fixture(scope="module")
def facts() -> Facts:
    return load_facts()


def test_every_kind_of_wet_has_its_treatment_and_its_rule(facts: Facts) -> None:
    real = set(WETNESS) - {"damp"}
    assert [one.key for one in facts.treatments.values() if not one.after] == ["brush_dust"]
    assert {wet for treatment in facts.treatments.values() for wet in treatment.after} == real
    assert set(facts.wet_rules) == real


def test_salt_asks_for_most_of_all(facts: Facts) -> None:
    """Salt is the worst of all, even for parts sold as waterproof."""
    rules = {wet: set(rule.must_be_rated) for wet, rule in facts.wet_rules.items()}
    assert rules["fresh water"] <= rules["salt water"] and rules["mud"] <= rules["salt water"]
    salt = facts.treatments["wash_salt"]
    for other in facts.treatments.values():
        if other is not salt:
            assert other.key in salt.includes
            assert salt.deadline_h < other.deadline_h and salt.minutes > other.minutes


def by_mode(treatment: Treatment) -> dict[str, tuple[float, float]]:
    return {p.mode: (p.factor, -(p.defect_in_d or 1e9)) for p in treatment.protects}


def test_what_includes_another_harms_at_least_as_much_when_late(facts: Facts) -> None:
    """Otherwise doing the greater work late would be kinder than doing the lesser one late."""
    for treatment in facts.treatments.values():
        mine = by_mode(treatment)
        for other in treatment.includes:
            for mode, (factor, days) in by_mode(facts.treatments[other]).items():
                if mode in mine:
                    assert mine[mode][0] >= factor and mine[mode][1] >= days, (treatment.key, mode)


def test_treatments_protect_what_the_same_wet_wears(facts: Facts) -> None:
    """A mode that the mode table says is none the worse for it has no business here; packs are wiped dry."""
    for treatment in facts.treatments.values():
        for protected in treatment.protects:
            mode = facts.modes[protected.mode]
            assert mode.role not in PACK_ROLES, mode.key
            wetter = any(mode.wet_factor.get(wet, 1.0) > 1.0 for wet in treatment.after)
            assert wetter or mode.clock is Clock.WET_RUNS, (treatment.key, mode.key)


def test_what_salt_wears_most_is_protected_from_it(facts: Facts) -> None:
    """Six times as soon in salt, or more; what runs closed in its own oil is left to its check."""
    protected = by_mode(facts.treatments["wash_salt"])
    bare = [
        key
        for key, mode in facts.modes.items()
        if mode.wet_factor.get("salt water", 1.0) >= 6.0 and key not in protected and key not in IN_OIL
    ]
    assert not bare


IN_OIL = {"portal_dry"}


def test_steps_stand_in_the_order_that_makes_sense(facts: Facts) -> None:
    for treatment in facts.treatments.values():
        kinds = [step.kind for step in treatment.steps]
        assert kinds[0] is StepKind.UNPLUG, treatment.key
        first = {kind: kinds.index(kind) for kind in kinds}
        last = {kind: len(kinds) - 1 - kinds[::-1].index(kind) for kind in kinds}
        order = [k for k in (StepKind.RINSE, StepKind.DISPLACE, StepKind.OIL) if k in first]
        assert all(last[a] < first[b] for a, b in pairwise(order)), treatment.key
        assert not treatment.after or last[StepKind.DRY] < first[StepKind.OIL], treatment.key


def test_every_size_a_step_names_is_on_a_starter_build(facts: Facts) -> None:
    for build in facts.starters.values():
        for treatment in facts.treatments.values():
            texts = treatment_texts(treatment)
            assert not [name for text in texts for name in unresolved(text, build)], treatment.key
            assert not any("{" in filled(text, build) for text in texts)
        for sheet in facts.one_off_sheets.values():
            for extra in (*sheet.before, *sheet.after):
                fits = all(build.traits.get(k) in v.split("|") for k, v in extra.traits.items())
                if fits:
                    assert not [n for t in extra_texts(extra) for n in unresolved(t, build)], extra.name


def test_no_hazard_stands_without_its_caution(facts: Facts) -> None:
    rows = [(t.key, " ".join(treatment_texts(t)), t.cautions) for t in facts.treatments.values()]
    rows += [
        (extra.name, " ".join(extra_texts(extra)), extra.cautions)
        for sheet in facts.one_off_sheets.values()
        for extra in (*sheet.before, *sheet.after)
    ]
    bare = [
        f"{name}: “{match.group()}” wants {' or '.join(sorted(wanted))}"
        for name, text, cautions in rows
        for pattern, wanted in HAZARDS.items()
        if (match := re.search(pattern, text)) and not wanted & set(cautions)
    ]
    assert not bare, "\n".join(bare)
    assert all({"wet-electrics"} <= set(t.cautions) for t in facts.treatments.values() if t.after)
    assert all({"pack-wet", "local-rules"} <= set(rule.cautions) for rule in facts.wet_rules.values())


def test_every_occasion_has_one_sheet_and_every_arrival_ends_safe(facts: Facts) -> None:
    """A car that is about to run has its gates on the sheet; one that is put away has none powered."""
    sheets = {sheet.occasion: sheet for sheet in facts.one_off_sheets.values()}
    assert set(sheets) == set(Occasion) and len(facts.one_off_sheets) == len(Occasion)
    gates = {key for key, check in facts.checks.items() if Gate.FIRST_PACK in check.gates}
    for occasion, sheet in sheets.items():
        if occasion.arrives:  # its own sheet brings the checks, gates and all
            assert not sheet.checks, sheet.key
            continue
        if occasion is not Occasion.LAY_UP:
            assert gates <= set(sheet.checks), sheet.key
        assert "pack_look" in sheet.checks, sheet.key


def test_texts_are_whole(facts: Facts) -> None:
    texts = [s.text for t in facts.treatments.values() for s in t.steps]
    texts += [t.when_late for t in facts.treatments.values()]
    texts += [x for r in facts.wet_rules.values() for x in (r.when_rated, r.when_not)]
    texts += [o.why for o in facts.one_off_sheets.values()]
    for sheet in facts.one_off_sheets.values():
        texts += [text for extra in (*sheet.before, *sheet.after) for text in extra.steps]
    for text in texts:
        assert text.endswith("."), text


def test_numbers_say_that_they_are_estimates(facts: Facts) -> None:
    assert {facts.sources[t.pedigree.source].seen.value for t in facts.treatments.values()} == {"elicited"}


OWN = """
[my_dry]
name = 'Dry it my way'
after = ['fresh water']
deadline_h = 3
spent_d = 2
minutes = 5
steps = [{ do = 'dry', text = 'Dry it.' }]
protects = [{ modes = ['wheel_bearing_worn'], factor = 2 }]
when_late = 'Rust.'
"""


def test_an_owners_treatment_is_marked_as_theirs(tmp_path: Path) -> None:
    (tmp_path / "treatments.toml").write_text(OWN, "utf-8")
    assert load_facts(tmp_path).treatments["my_dry"].pedigree.source == "mine"


@pytest.mark.slow
@pytest.mark.parametrize(
    ("was", "put", "says"),
    [
        ("['fresh water']", "['brine']", "no word for how wet"),
        ("deadline_h = 3", "deadline_h = -3", "must be above 0"),
        ("do = 'dry'", "do = 'boil'", "cannot be “boil”"),
        ("'wheel_bearing_worn'", "'wheel_bearing_wrn'", "no mode is called"),
        ("factor = 2 }", "factor = 0.5 }", "must be above 1"),
        ("when_late", "cautions = ['no-such']\nwhen_late", "no caution is called"),
        ("when_late", "includes = ['my_dry']\nwhen_late", "includes itself"),
        ("'Dry it.'", "'Dry {wheel_nut.wrench_mm}.'", "not among the roles"),
        ("minutes = 5", "minuets = 5", "there is no key “minuets”"),
    ],
)
def test_a_wrong_treatment_is_refused_with_a_way_out(tmp_path: Path, was: str, put: str, says: str) -> None:
    (tmp_path / "treatments.toml").write_text(OWN.replace(was, put), "utf-8")
    with pytest.raises(WrongData, match=re.escape(says)):
        load_facts(tmp_path)


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("checks = ['wheel_nutz']", "no check is called"),
        ("occasion = 'birthday'", "cannot be “birthday”"),
        ("before = [{ name = 'A', minutes = 1, steps = ['A.'], parts = { sail = 1 } }]", "no role is called"),
    ],
)
def test_a_wrong_one_off_sheet_is_refused(tmp_path: Path, text: str, says: str) -> None:
    row = "[mine_too]\nname = 'Mine'\nwhy = 'So.'\n"
    occasion = "" if text.startswith("occasion") else "occasion = 'lay-up'\n"
    (tmp_path / "one_off_sheets.toml").write_text(row + occasion + text + "\n", "utf-8")
    with pytest.raises(WrongData, match=re.escape(says)):
        load_facts(tmp_path)
