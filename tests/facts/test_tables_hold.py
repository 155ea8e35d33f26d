"""Rules that hold over every table of the upkeep: read whole, nothing dangling, sizes that exist.

Authority: the standards quoted beside each rule; where none is, the rule is this project's own.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterator
from dataclasses import replace
from itertools import product
from pathlib import Path

import pytest

import snugfast.facts as facts_package
from snugfast.facts.builds import is_number
from snugfast.facts.load import load_facts, read_table
from snugfast.facts.model import Access, Arrival, Build, Check, Clock, Facts, Gate, Mode, Moment, Place
from snugfast.facts.texts import access_texts, check_texts, filled, unresolved
from snugfast.facts.upkeep_rows import CHEMISTRIES, GROUNDS, WETNESS
from snugfast.physics.packs.chemistry import Chemistry
from snugfast.records.entries import Ground, Wet
from snugfast.usecases.shared.telling import tell_size

# ISO 4762 (cap), ISO 7380-1 (button), ISO 10642 (countersunk), ISO 4026 to 4029 (set screws), ISO 4032
# (nuts), as quoted by public dimension tables: width across flats of key or spanner, mm.
KEYS_MM = {
    "socket cap": {"M2": 1.5, "M2.5": 2, "M3": 2.5, "M4": 3, "M5": 4, "M6": 5},
    "button": {"M2": 1.3, "M2.5": 1.5, "M3": 2, "M4": 2.5, "M5": 3, "M6": 4},
    "countersunk": {"M2": 1.3, "M2.5": 1.5, "M3": 2, "M4": 2.5, "M5": 3, "M6": 4},
    "set screw": {"M2": 0.9, "M2.5": 1.3, "M3": 1.5, "M4": 2, "M5": 2.5, "M6": 3},
}
NUTS_MM = {"M2": 4, "M2.5": 5, "M3": 5.5, "M4": 7, "M5": 8, "M6": 10}
NUT_FORMS = {"hex nut", "nylon-insert nut", "flanged nylon-insert nut", "flanged serrated nut"}

# A check whose texts speak of a thing that hurts must carry one of these cautions.
HAZARDS = {
    r"thread-lock, |drop of medium": {"thread-lock"},
    r"\bdegrease": {"solvents"},
    r"\b(?:instant|tyre) glue\b": {"instant-glue"},
    r"plugged in|pack in\b": {"stand-clear"},
    r"\bthrottle so\b|touch of throttle|touch forwards": {"stand-low-throttle"},
    r"thermometer|temp gun": {"hot-parts"},
    r"\bsolder": {"solder"},
    r"scissors|knife|blade away": {"knives"},
    r"\bsilicone oil\b|refill: \{": {"silicone-oil"},
    r"balance plug|cell reader|cell checker": {"pack-measure", "pack-look-first"},
    r"into plastic": {"plastic-threads", "thread-lock-plastic"},
}
HAND_ON_POWER = (
    r"(?i)\bhold\b[^.]*\b(?:powered|plugged in|under power|while it (?:runs|turns))",
    r"(?i)\btouch the (?:motor|can|controller|ESC|plug|connector)",
    r"(?i)\bfinger\b[^.]*\b(?:turning|spinning) (?:gear|wheel|pinion|spur)",
)
SAYS_NO = re.compile(r"(?i)\b(?:no|not|never|nobody|none)\b")


@pytest.fixture(scope="module")
def facts() -> Facts:
    return load_facts()


def all_places(facts: Facts) -> Iterator[tuple[Build, Place]]:
    for build in facts.starters.values():
        for place in build.places:
            yield build, place


def fits(traits: dict[str, str], build: Build) -> bool:
    return all(build.traits.get(key) in value.split("|") for key, value in traits.items())


def modes_of(facts: Facts, build: Build) -> list[Mode]:
    return [m for m in facts.modes.values() if build.of_role(m.role) and fits(dict(m.traits), build)]


def checks_of(facts: Facts, build: Build) -> list[Check]:
    return [
        check
        for check in facts.checks.values()
        if fits(dict(check.traits), build) and any(build.of_role(role) for role in check.roles)
    ]


def test_the_tables_are_wide_enough(facts: Facts) -> None:
    for build in facts.starters.values():
        assert 60 <= len(build.places) <= 140, build.key
        assert len(modes_of(facts, build)) >= 55, build.key
        assert len(checks_of(facts, build)) >= 45, build.key
    assert len(facts.starters) >= 6


def test_wet_and_ground_words_are_those_of_the_journal() -> None:
    assert set(WETNESS) == {word.value for word in Wet} - {"dry"}
    assert set(GROUNDS) == {word.value for word in Ground} - {"unknown"}


# Sizes


def test_every_key_fits_its_head(facts: Facts) -> None:
    wrong = []
    for build, place in all_places(facts):
        head, thread = place.sizes.get("head"), place.sizes.get("thread")
        wanted = KEYS_MM.get(str(head), {}).get(str(thread))
        if wanted is not None and place.sizes.get("key_mm") != wanted:
            wrong.append(f"{build.key}, {place.key}: {head} {thread} takes {wanted}")
        if head in NUT_FORMS and place.sizes.get("wrench_mm") != NUTS_MM[str(thread)]:
            wrong.append(f"{build.key}, {place.key}: {head} {thread} takes {NUTS_MM[str(thread)]}")
    assert not wrong, "\n".join(wrong)


def test_every_screw_says_its_thread_its_key_and_what_it_goes_into(facts: Facts) -> None:
    screws = [(b, p) for b, p in all_places(facts) if p.role in SCREW_ROLES]
    assert screws
    bare = [
        f"{build.key}, {place.key}"
        for build, place in screws
        if not {"thread", "head"} <= set(place.sizes)
        or not {"key_mm", "wrench_mm"} & set(place.sizes)
        or not place.into
    ]
    assert not bare


SCREW_ROLES = {
    "wheel_nut",
    "pinion_screw",
    "motor_screw",
    "slipper_nut",
    "gear_cover_screw",
    "cup_screw",
    "input_screw",
    "diff_screw",
    "screw_gearbox",
    "joint_screw",
    "pin_clip",
    "kingpin",
    "screw_suspension",
    "servo_screw",
    "screw_chassis",
    "screw_metal",
    "hex_screw",
    "ring_screw",
    "portal_screw",
}


def test_a_bore_is_smaller_than_its_outside(facts: Facts) -> None:
    for _, place in all_places(facts):
        bore, outer = place.sizes.get("bore_mm"), place.sizes.get("outer_mm")
        if bore is not None and outer is not None:
            assert float(bore) < float(outer), place.key
    assert all(bore < outer for bore, outer, _ in facts.standard_bearings)


def test_bearing_sizes_said_to_be_from_catalogues_are_those_of_the_bearing_table() -> None:
    """The table of bearings was read in catalogues; the list for builds repeats its sizes and adds others."""
    here = Path(facts_package.__file__).parent
    known: set[tuple[str | float | None, ...]] = set()
    for row in read_table(here / "mechanics" / "bearing_sizes.csv").rows:
        for width in (row["open_width_mm"], row["shielded_width_mm"]):
            if width is not None:
                known.add((row["bore_mm"], row["outer_mm"], width))
    listed = [
        (row["bore_mm"], row["outer_mm"], row["width_mm"])
        for row in read_table(here / "standard_bearings.csv").rows
        if row["where"] == "catalogues"
    ]
    assert set(listed) == known and len(listed) == len(known)


def test_every_bearing_says_all_three_sizes_and_its_closure(facts: Facts) -> None:
    bearings = [p for _, p in all_places(facts) if p.role.endswith("bearing")]
    assert bearings
    for place in bearings:
        assert {"bore_mm", "outer_mm", "width_mm", "seal"} <= set(place.sizes), place.key


def test_things_that_run_together_have_the_same_sizes(facts: Facts) -> None:
    """A pinion that is not of the spur's pitch, a hex that is not the wheel's, would be a wrong build."""
    pairs = [
        ("pinion", "spur", "pitch"),
        ("wheel_hex", "wheel", "hex_mm"),
        ("hex_pin", "wheel_hex", "pin_mm"),
        ("servo", "servo_horn", "spline_teeth"),
        ("pack_plug", "controller_plug", "plug"),
        ("hinge_pin", "arm", "pin_mm=hole_mm"),
        ("motor", "motor_bearing", "shaft_mm=bore_mm"),
        ("motor", "pinion", "shaft_mm=bore_mm"),
        ("axle", "wheel_hex", "shaft_mm=bore_mm"),
        ("shock", "shock_seal", "shaft_mm=bore_mm"),
    ]
    for build in facts.starters.values():
        for one, other, size in pairs:
            mine, _, theirs = size.partition("=")
            if not (build.of_role(one) and build.of_role(other)):
                continue
            left = {place.sizes[mine] for place in build.of_role(one)}
            right = {place.sizes[theirs or mine] for place in build.of_role(other)}
            assert left == right, f"{build.key}: {one}.{mine} {left}, {other}.{theirs or mine} {right}"


def test_what_turns_with_a_wheel_is_named_by_the_corner_of_the_wheel(facts: Facts) -> None:
    """Where one place holds a part for each driven wheel; “left” alone could be front or rear."""
    for build in facts.starters.values():
        corners = {spot for wheel in build.of_role("wheel") for spot in wheel.spots}
        for role in ("outdrive", "drive_shaft", "wheel_hex", "hex_pin", "wheel_nut", "tyre"):
            places = build.of_role(role)
            if len(places) == 1 and len(places[0].spots) > 1:
                assert set(places[0].spots) <= corners, (build.key, places[0].key)


def test_a_wheel_nut_fits_the_thread_of_its_axle_or_hex(facts: Facts) -> None:
    for build in facts.starters.values():
        holders = (*build.of_role("axle"), *build.of_role("wheel_hex"))
        threads = {place.sizes["thread"] for place in holders if "thread" in place.sizes}
        assert threads == {place.sizes["thread"] for place in build.of_role("wheel_nut")}, build.key


def test_shielded_bearings_of_builds_have_the_width_catalogues_give_with_shields(facts: Facts) -> None:
    """Published sizes: many small bearings are wider with shields than open; a few come in two widths."""
    here = Path(facts_package.__file__).parent
    published: dict[tuple[object, object], set[object]] = {}
    for row in read_table(here / "mechanics" / "bearing_sizes.csv").rows:
        size = (row["bore_mm"], row["outer_mm"])
        published.setdefault(size, set()).add(row["shielded_width_mm"])
    seen = 0
    for build, place in all_places(facts):
        if not place.role.endswith("bearing"):
            continue
        widths = published.get((place.sizes["bore_mm"], place.sizes["outer_mm"]))
        if widths is not None and place.sizes["seal"] == "shielded":
            seen += 1
            assert place.sizes["width_mm"] in widths, f"{build.key}, {place.key}"
    assert seen >= 30


def test_a_pinion_screw_is_smaller_than_the_shaft_it_stands_on(facts: Facts) -> None:
    """ISO 4029: the cup of a set screw is a good half of its thread, and has to stand on the shaft whole."""
    cup_mm = {"M2": 1.0, "M2.5": 1.2, "M3": 1.4, "M4": 2.0, "M5": 2.5, "M6": 3.0}
    for build in facts.starters.values():
        (screw,), (motor,) = build.of_role("pinion_screw"), build.of_role("motor")
        assert cup_mm[str(screw.sizes["thread"])] <= float(motor.sizes["shaft_mm"]) / 2, build.key


def test_a_screw_into_metal_is_a_machine_thread_and_a_wheel_hex_suits_the_scale(facts: Facts) -> None:
    """Common practice: 7 mm hexes on minis, 12 mm on tenth scale, 17 on eighth, 24 on fifth and sixth."""
    hexes = {"1/18": 7.0, "1/10": 12.0, "1/8": 17.0, "1/5": 24.0}
    for build in facts.starters.values():
        assert {place.sizes["hex_mm"] for place in build.of_role("wheel_hex")} == {hexes[build.scale]}


# Stamped on a head, or measured on a gear: a starter build cannot know them.
LEFT_TO_OWNERS = {"strength_class", "hand", "face_mm", "rail_V", "rail_A", "stall_A", "area_mm2"}


def test_every_size_name_that_is_used_has_a_row_and_the_other_way_round(facts: Facts) -> None:
    """A size that is told with a unit is a number, and its name ends in that unit."""
    used = {name for _, place in all_places(facts) for name in place.sizes}
    assert used | LEFT_TO_OWNERS == set(facts.size_names)
    assert not used & LEFT_TO_OWNERS
    assert set(facts.standard_sizes) <= set(facts.size_names)
    spelt = {"mm²/s": "mm2_s", "mm²": "mm2", "N/mm": "N_per_mm"}
    ends = {name: spelt.get(unit, unit) for name, unit in facts.size_units.items()}
    assert all(is_number(name) and name.endswith(f"_{end}") for name, end in ends.items())
    assert {"7 mm", "0.9 N/mm"} == {
        tell_size(facts, "wrench_mm", 7.0),
        tell_size(facts, "rate_N_per_mm", 0.9),
    }
    in_mm = {name for name in facts.size_names if name.endswith("_mm") and "_per_" not in name}
    assert in_mm == {name for name, unit in facts.size_units.items() if unit == "mm"}
    for name, values in facts.standard_sizes.items():
        assert all(isinstance(value, float) == is_number(name) for value in values), name


# Roles


def test_every_role_is_carried_by_a_starter_build(facts: Facts) -> None:
    assert {place.role for _, place in all_places(facts)} == set(facts.roles)


def test_every_place_has_a_pedigree_of_its_own(facts: Facts) -> None:
    for _, place in all_places(facts):
        assert place.pedigree.source in {"common-practice", "memory-of-builds"}, place.key


def test_money_of_a_mode_goes_to_parts_its_builds_have(facts: Facts) -> None:
    for build in facts.starters.values():
        for mode in modes_of(facts, build):
            for role in (*mode.cure_parts, *mode.failure_parts):
                assert build.of_role(role), f"{mode.key}: {role}"


# Modes


def test_every_mode_has_a_check_or_says_why_not(facts: Facts) -> None:
    for build in facts.starters.values():
        covered = {cover.mode for check in checks_of(facts, build) for cover in check.covers}
        bare = [m.key for m in modes_of(facts, build) if m.key not in covered and not m.no_check_because]
        assert not bare
        both = [m.key for m in modes_of(facts, build) if m.key in covered and m.no_check_because]
        assert not both


def test_prior_numbers_say_that_they_were_elicited(facts: Facts) -> None:
    assert {facts.sources[mode.pedigree.source].seen.value for mode in facts.modes.values()} == {"elicited"}


def test_a_defect_gives_less_warning_than_it_takes_to_come(facts: Facts) -> None:
    """Otherwise the part would nearly always stand defective and the mode is misread."""
    assert [m.key for m in facts.modes.values() if not m.delay < m.between_defects] == []


def test_failing_costs_more_than_putting_right(facts: Facts) -> None:
    """A mode whose cure costs as much as its failure is never worth looking for.

    Fire is kept out of money on purpose: it costs nothing either way and is guarded by a gate.
    """
    wrong = []
    for build in facts.starters.values():
        price = {role: build.of_role(role)[0].price_minor for role in facts.roles if build.of_role(role)}
        for mode in modes_of(facts, build):
            if mode.key == "pack_shorting":
                continue
            cure = sum(price[r] * n for r, n in mode.cure_parts.items()) + 15 * mode.cure_min
            failure = sum(price[r] * n for r, n in mode.failure_parts.items()) + 15 * mode.failure_min
            if failure + 40 * mode.lost_running_min <= cure:
                wrong.append(mode.key)
    assert not wrong


def test_raised_rates_of_one_mode_die_away_alike(facts: Facts) -> None:
    """The mathematics keeps one raised rate for each mode, with one fading."""
    assert [m.key for m in facts.modes.values() if len({r.decay for r in m.raises}) > 1] == []


def test_salt_water_is_never_kinder_than_fresh(facts: Facts) -> None:
    for mode in facts.modes.values():
        wet = mode.wet_factor
        assert wet.get("salt water", 1.0) >= wet.get("fresh water", 1.0) >= wet.get("damp", 1.0), mode.key


def test_what_can_hurt_somebody_has_a_limit(facts: Facts) -> None:
    words = re.compile(
        r"(?i)burn later|hits somebody|steering is gone|fire|radio is lost|no brake|without brake"
    )
    bare = [
        mode.key
        for mode in facts.modes.values()
        if mode.safety is None and words.search(mode.what_happens + mode.failure)
    ]
    assert not bare


def test_hits_clock_only_what_hits_break(facts: Facts) -> None:
    for mode in facts.modes.values():
        if mode.clock is Clock.HARD_HITS:
            assert mode.arrival is Arrival.STEADY and not mode.ground_factor, mode.key


# Checks


def test_every_check_can_be_done_on_a_starter_build(facts: Facts) -> None:
    for check in facts.checks.values():
        assert any(all(b.of_role(role) for role in check.roles) for b in facts.starters.values()), check.key


def test_every_size_a_step_names_is_on_the_build(facts: Facts) -> None:
    lost = []
    for build in facts.starters.values():
        for check in checks_of(facts, build):
            texts = [*check_texts(check), *(t for a in opened_for(facts, check) for t in access_texts(a))]
            lost += [(build.key, check.key, name) for text in texts for name in unresolved(text, build)]
    assert not lost


def opened_for(facts: Facts, check: Check) -> Iterator[Access]:
    key = check.access
    while key:
        yield facts.access[key]
        key = facts.access[key].parent


def test_filled_texts_show_no_braces_and_no_bare_decimals(facts: Facts) -> None:
    for build in facts.starters.values():
        for check in checks_of(facts, build):
            for text in check_texts(check):
                done = filled(text, build)
                assert "{" not in done and "}" not in done
                assert not re.search(r"\d\.0\b", done), done


def test_answers_point_at_modes_the_check_covers(facts: Facts) -> None:
    lost = [
        (check.key, answer.word)
        for check in facts.checks.values()
        for answer in check.answers
        if answer.mode and answer.mode not in {cover.mode for cover in check.covers}
    ]
    assert not lost


def test_a_word_means_one_mode_at_one_role_of_a_build(facts: Facts) -> None:
    """“loose” may stand for three modes of the pinion screw, of which a build can have one; a pack is of
    one chemistry.
    """
    for build, chemistry in product(facts.starters.values(), CHEMISTRIES):
        here = [m for m in modes_of(facts, build) if not m.chemistries or chemistry in m.chemistries]
        modes = {mode.key: mode for mode in here}
        for check in checks_of(facts, build):
            meant = Counter((a.word, modes[a.mode].role) for a in check.answers if a.mode in modes)
            assert all(count == 1 for count in meant.values()), (check.key, meant)


def test_every_way_a_pack_can_fail_has_a_check_for_its_chemistry(facts: Facts) -> None:
    """A nickel pack has no mode of a pouch, a lithium pack none of a steel can, and each has checks."""
    assert set(CHEMISTRIES) == {chemistry.value for chemistry in Chemistry}
    of_packs = [m for m in facts.modes.values() if m.role in ("pack", "pack_plug")]
    assert all(m.chemistries for m in of_packs if m.role == "pack")
    seen = {cover.mode for check in facts.checks.values() for cover in check.covers}
    for chemistry in CHEMISTRIES:
        here = {m.key for m in of_packs if not m.chemistries or chemistry in m.chemistries}
        assert len(here) >= 4 and here <= seen, chemistry
    nickel = [m for m in of_packs if "nickel-metal hydride" in m.chemistries]
    texts = " ".join(text for m in nickel for text in (m.name, m.what_happens, m.cure, m.failure))
    assert not re.search(r"(?i)swell|swollen|pouch|lithium|balance-charge|copper", texts)


def test_what_mainly_looks_for_a_mode_has_a_word_for_it(facts: Facts) -> None:
    """A check that sees a mode well must let a person say so."""
    mute = [
        (check.key, cover.mode)
        for check in facts.checks.values()
        for cover in check.covers
        if cover.detects >= 0.6 and cover.mode not in {answer.mode for answer in check.answers}
    ]
    assert not mute


def test_no_check_is_certain_and_its_false_alarms_are_rare(facts: Facts) -> None:
    for check in facts.checks.values():
        assert all(cover.detects < 1 for cover in check.covers), check.key
        assert check.false_alarm <= 0.1 and check.harm <= 0.05, check.key


def test_wide_checks_see_each_mode_less_well_than_the_narrow_ones(facts: Facts) -> None:
    best: dict[str, float] = {}
    for key, check in facts.checks.items():
        if key not in WIDE:
            for cover in check.covers:
                best[cover.mode] = max(best.get(cover.mode, 0.0), cover.detects)
    for key in WIDE:
        check = facts.checks[key]
        assert len(check.covers) >= 6 and check.minutes <= 2.5, key
        assert all(cover.detects <= best[cover.mode] for cover in check.covers), key


WIDE = ("push_roll", "suspension_drop", "listen_low_throttle", "full_travel", "walk_round")


def test_gates_stand_where_they_must(facts: Facts) -> None:
    gates = {key: check.gates for key, check in facts.checks.items() if check.gates}
    assert gates == {
        "fail_safe": (Gate.FIRST_PACK, Gate.AFTER_RADIO_WORK),
        "radio_sense": (Gate.FIRST_PACK, Gate.AFTER_RADIO_WORK),
        "transmitter_cells": (Gate.FIRST_PACK,),
        "pack_look": (Gate.EACH_CHARGE,),
        "mesh_feel": (Gate.AFTER_MANY_HITS,),
        "mesh_feel_open": (Gate.AFTER_MANY_HITS,),
    }


def test_wheel_nuts_are_not_only_loose_but_can_bind(facts: Facts) -> None:
    check = facts.checks["wheel_nuts"]
    assert "binding" in {answer.word for answer in check.answers}
    assert "turn freely" in " ".join(check.steps)
    assert "spins freely" in check.how_tight


def test_screws_into_plastic_get_no_thread_lock_and_screws_into_metal_do(facts: Facts) -> None:
    for build in facts.starters.values():
        into = {p.role: p.into for p in build.places if p.role in SCREW_ROLES}
        for check in checks_of(facts, build):
            tightened = [into[role] for role in check.roles if role in into and role not in NYLON]
            if check.how_tight and check.thread_lock and "plastic" in tightened:
                assert check.thread_lock.startswith("None"), check.key
            if check.how_tight and tightened and set(tightened) == {"metal"}:
                assert "medium" in check.thread_lock.lower() and not check.thread_lock.startswith("None"), (
                    check.key
                )


NYLON = {"wheel_nut", "slipper_nut"}


# What can hurt


def test_no_hazard_word_stands_without_its_caution(facts: Facts) -> None:
    rows = [
        (key, " ".join(check_texts(worded)), worded.cautions)
        for key, check in facts.checks.items()
        for worded in (replace(check, for_chemistry={}), *map(check.worded_for, check.for_chemistry))
    ]
    rows += [(k, " ".join(access_texts(a)), a.cautions) for k, a in facts.access.items()]
    bare = [
        f"{key}: “{match.group()}” wants {' or '.join(sorted(wanted))}"
        for key, text, cautions in rows
        for pattern, wanted in HAZARDS.items()
        if (match := re.search(pattern, text)) and not wanted & set(cautions)
    ]
    assert not bare, "\n".join(bare)


def test_a_cold_check_on_the_car_begins_with_the_pack_out(facts: Facts) -> None:
    # Without body work the check says so itself, or carries the caution that does.
    spared = {
        "transmitter_cells",
        "pack_look",
        "pack_voltages",
        "pack_resistance",
        "nickel_volts",
        "nickel_gives",
        "plugs_look",
        "strap_pull",
    }
    spared |= {"cut_off_setting", "cut_off_setting_nickel", "pack_bar_look", "series_pair"}
    bare = [
        key
        for key, check in facts.checks.items()
        if check.moment is Moment.COLD_BENCH and key not in spared and "power-off" not in check.cautions
    ]
    assert not bare


def test_powered_checks_are_on_a_stand_with_hands_away(facts: Facts) -> None:
    powered = [c for c in facts.checks.values() if c.moment is Moment.ON_STAND]
    assert len(powered) >= 5
    for check in powered:
        assert "stand-clear" in check.cautions, check.key
        assert re.search(r"on a stand", " ".join(check.steps)), check.key


def test_nobody_is_told_to_put_a_hand_on_what_is_powered_or_hot(facts: Facts) -> None:
    texts = [t for c in facts.checks.values() for t in check_texts(c)]
    texts += [t for a in facts.access.values() for t in access_texts(a)]
    for text in texts:
        for sentence in re.split(r"(?<=[.;:])\s", text):
            if not SAYS_NO.search(sentence):
                assert not any(re.search(pattern, sentence) for pattern in HAND_ON_POWER), sentence


def test_work_for_adults_is_marked(facts: Facts) -> None:
    marked = {key for key, caution in facts.cautions.items() if caution.adults_only}
    assert {"thread-lock", "instant-glue", "solvents", "knives", "solder", "mains-charger"} <= marked


# Words


def test_texts_are_whole_and_plain(facts: Facts) -> None:
    """No names in capitals, no codes of makers, straight apostrophes nowhere, a full stop at each end."""
    for check in facts.checks.values():
        for text in (
            *check.steps,
            check.good,
            check.bad,
            check.how_tight,
            check.thread_lock,
            check.harm_text,
            *(t for words in check.for_chemistry.values() for t in (*words.steps, words.good, words.bad)),
        ):
            assert not text or text.endswith("."), (check.key, text)
    for mode in facts.modes.values():
        for text in (mode.what_happens, mode.cure, mode.failure):
            assert text.endswith("."), (mode.key, text)
    for caution in facts.cautions.values():
        assert caution.text.endswith("."), caution.key


BRAND_LIKE = re.compile(r"[®™]|\b(?:[A-Z]{2,}[0-9]{1,}|[A-Z][a-z]+[A-Z]\w*|[A-Z]{3,})\b")
PLAIN_CODES = {"CRD", "CR2032"}


def test_texts_hold_nothing_that_looks_like_a_brand(facts: Facts) -> None:
    texts = [t for c in facts.checks.values() for t in (c.name, *check_texts(c))]
    texts += [t for a in facts.access.values() for t in (a.name, *access_texts(a))]
    texts += [t for m in facts.modes.values() for t in (m.name, m.what_happens, m.cure, m.failure)]
    texts += [t for _, p in all_places(facts) for t in (p.name, p.part, p.material, p.note)]
    texts += [b.name + " " + b.description for b in facts.starters.values()]
    found = {word for text in texts for word in BRAND_LIKE.findall(text)} - PLAIN_CODES
    assert found <= {"ESC", "LiPo", "LiHV", "LiFe", "LiFePO4", "NiMH"}, found


def test_fire_is_rare_behind_a_gate_and_never_money(facts: Facts) -> None:
    """Elicited: of a pack hit hard in every run, fewer than one in ten thousand outings ends in fire."""
    fire = [
        mode for mode in facts.modes.values() if mode.role == "pack" and "fire" in mode.failure.casefold()
    ]
    (lithium,) = [mode for mode in fire if "lithium-polymer" in mode.chemistries]
    assert lithium.key == "pack_shorting" and lithium.between_defects >= 40_000
    assert not lithium.failure_parts and not lithium.cure_parts and lithium.safety is not None
    assert lithium.failure_min == lithium.cure_min == lithium.lost_running_min == 0.0
    seen_by = [c for c in facts.checks.values() if lithium.key in {cover.mode for cover in c.covers}]
    assert [check.key for check in seen_by if Gate.EACH_CHARGE in check.gates] == ["pack_look"]


def test_a_dented_pack_is_lost_long_before_it_burns(facts: Facts) -> None:
    damaged = facts.modes["pack_damaged"]
    assert damaged.delay >= 50 and "fire" not in damaged.failure and "smoke" not in damaged.failure
