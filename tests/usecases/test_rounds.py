"""A sheet in rounds: where hands and car are, what comes first there, what stands on top.

Authority: laws of this project; the order (power last, nuts before a wheel is spun) is common practice.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import combinations

import pytest

from snugfast.usecases.bench.bench_sheet import bench_sheet
from snugfast.usecases.bench.sheet import Asked, Sheet, SheetAccess, SheetCheck
from snugfast.usecases.journal.bench_answers import FoundSaid, draft_found
from snugfast.usecases.journal.cars import draft_fitted
from snugfast.usecases.journal.keeping import keep, undo
from snugfast.usecases.packs.register import PackSaid, draft_pack
from snugfast.usecases.shared.workshop import Workshop
from tests.usecases.bench import Clock, as_the_tables_mean, facts, ran, with_truck, workshop_in_memory

Bench = tuple[Workshop, Clock]


@pytest.fixture
def bench() -> Iterator[Bench]:
    """A truck with two packs, driven hard."""
    with workshop_in_memory(as_the_tables_mean(facts())) as (workshop, clock):
        with_truck(workshop)
        keep(workshop, [draft_pack(workshop, PackSaid("Second", "3", "5000 mAh"))])
        for _ in range(3):
            clock.on(days=7)
            for pack in ("Bramble pack", "Second"):
                ran(workshop, ground="gravel", hits="3", minutes="14", packs=(pack,))
                clock.on(minutes=30)
        yield workshop, clock


def found(workshop: Workshop, check: str, *words: str) -> None:
    keep(workshop, draft_found(workshop, FoundSaid("Bramble", check, words)).entries)


def sheet_of(workshop: Workshop, minutes: float = 30.0) -> Sheet:
    return bench_sheet(workshop, Asked(("Bramble",), minutes=minutes))


@pytest.mark.slow
def test_rounds_go_inwards_and_the_powered_one_is_last_and_one(bench: Bench) -> None:
    workshop, _ = bench
    sheet = sheet_of(workshop)
    order = [key for key in workshop.facts.rounds if key in {one.key for one in sheet.rounds}]
    assert [one.key for one in sheet.rounds] == order and order[-1] == "power"
    for one in sheet.rounds:
        assert {
            workshop.facts.round_of(workshop.facts.checks[line.check.check]).key for line in one.lines
        } == {one.key}


def test_nuts_stand_before_any_other_line_by_feel(bench: Bench) -> None:
    workshop, _ = bench
    by_feel = next(one for one in sheet_of(workshop).rounds if one.key == "feel")
    assert by_feel.lines[0].check.check == "wheel_nuts"


def test_what_is_felt_comes_before_the_brush_and_nothing_is_opened_before_it(bench: Bench) -> None:
    workshop, _ = bench
    steps = sheet_of(workshop).steps
    brush = next(n for n, step in enumerate(steps) if step.key.endswith("/begin"))
    before = {step.round for step in steps[:brush] if isinstance(step, SheetCheck)}
    after = {step.round for step in steps[brush:] if isinstance(step, SheetCheck)}
    assert "feel" in before <= {"rest", "feel"} and after <= {
        "hand",
        "underneath",
        "body_off",
        "deeper",
        "power",
    }
    assert all(isinstance(step, SheetCheck) for step in steps[:brush])


def worth_in_order(sheet: Sheet, steps: Sequence[SheetAccess | SheetCheck], stop_min: float) -> float:
    """The money of the checks that are done when somebody stops after these minutes."""
    left, worth = stop_min, 0.0
    for step in steps:
        left -= line_min(sheet, step) if isinstance(step, SheetCheck) else step.minutes
        if left < -1e-9:
            break
        worth += step.gain.value if isinstance(step, SheetCheck) and step.gain else 0.0
    return worth


def line_min(sheet: Sheet, check: SheetCheck) -> float:
    """What a check takes with its share of reading and answering its line."""
    line = next(line for line in sheet.lines if check in line.checks)
    return line.minutes / len(line.checks)


def best_in_rounds(sheet: Sheet, stop_min: float) -> float:
    """The most that any order of the lines brings by then, round after round: all orders tried."""
    left, worth = stop_min, 0.0
    for one in sheet.rounds:
        if one.minutes <= left + 1e-9:
            left -= one.minutes
            worth += sum(check.gain.value for line in one.lines for check in line.checks if check.gain)
            continue
        ways = {step.key.rpartition("/")[2]: step.minutes for step in one.opening}
        begun = ways.pop("begin", 0.0)
        checks = [check for line in one.lines for check in line.checks]
        tries = (some for n in range(len(checks) + 1) for some in combinations(checks, n))
        return worth + max(
            sum(check.gain.value for check in some if check.gain)
            for some in tries
            if (begun if some else 0.0)
            + sum(ways.get(way, 0.0) for way in {way for check in some for way in check.access})
            + sum(line_min(sheet, check) for check in some)
            <= left + 1e-9
        )
    return worth


@pytest.mark.parametrize("minutes", [20.0, 30.0])
def test_whoever_stops_early_has_nearly_the_most_that_the_rounds_allow(bench: Bench, minutes: float) -> None:
    """Over all moments to stop; the rest is what fits between two lines, and ways in that are opened once."""
    workshop, _ = bench
    sheet = sheet_of(workshop, minutes)
    stops = [0.5 * n for n in range(1, int(2 * sheet.bench.looking) + 1)]
    got = sum(worth_in_order(sheet, sheet.steps, stop) for stop in stops)
    best = sum(best_in_rounds(sheet, stop) for stop in stops)
    brush_first = sorted(sheet.steps, key=lambda step: not step.key.endswith("/begin"))
    assert sum(worth_in_order(sheet, brush_first, stop) for stop in stops) < 0.9 * got
    assert got >= 0.9 * best


@pytest.mark.slow
def test_inside_a_way_in_what_cures_comes_first_and_the_rest_by_worth_a_minute(bench: Bench) -> None:
    workshop, _ = bench
    for one in sheet_of(workshop, 60.0).rounds:
        by_way_in: dict[str, list[tuple[bool, float]]] = {}
        for line in one.lines:
            check = workshop.facts.checks[line.check.check]
            if check.key in workshop.facts.rounds[one.key].first or line.must:
                continue
            gained = sum(each.gain.value for each in line.checks if each.gain)
            per_minute = gained / sum(each.minutes for each in line.checks)
            by_way_in.setdefault(check.access, []).append((not line.wait, -per_minute))
        for ranked in by_way_in.values():
            assert ranked == sorted(ranked)


def test_the_same_look_at_two_packs_is_one_line(bench: Bench) -> None:
    workshop, _ = bench
    looks = [line for line in sheet_of(workshop).lines if line.check.check == "pack_look"]
    assert len(looks) == 1 and set(looks[0].packs) == {"Bramble pack", "Second"}
    assert len(looks[0].checks) == 2


def test_numbers_run_through_and_start_after_the_jobs(bench: Bench) -> None:
    workshop, _ = bench
    found(workshop, "arms_look", "arm cracked @ front left: left as it is")
    sheet = sheet_of(workshop)
    numbers = [job.number for job in sheet.fix_first] + [line.number for line in sheet.lines]
    assert numbers == list(range(1, len(numbers) + 1)) and sheet.fix_first


def test_no_caution_of_a_line_or_a_way_in_is_missing_from_its_round(bench: Bench) -> None:
    workshop, _ = bench
    sheet = sheet_of(workshop, 120.0)
    common = {caution.text for caution in sheet.cautions}
    assert workshop.facts.cautions["power-off"].text in common
    for one in sheet.rounds:
        shown = {caution.text for caution in one.cautions}
        wanted = {c.text for line in one.lines for check in line.checks for c in check.cautions}
        wanted |= {c.text for access in one.opening for c in access.cautions}
        assert shown == wanted - common and len(one.cautions) == len(shown)


def test_a_defect_left_is_a_job_with_place_price_and_minutes_and_no_line_looks_for_it(bench: Bench) -> None:
    """Issue: a known defect is a job, not “100 % that it is there”."""
    workshop, _ = bench
    found(workshop, "arms_look", "arm cracked @ front left: left as it is")
    sheet = sheet_of(workshop)
    (job,) = sheet.fix_first
    mode = workshop.facts.modes["arm_cracked"]
    assert job.mode == "arm_cracked" and job.title.endswith("arms, left")
    assert job.minutes == mode.cure_min and job.price.value > 0.0 and job.job == mode.cure
    for check in sheet.checks:
        assert all(why.belief.value < 0.99 for why in check.why)


@pytest.mark.slow
@pytest.mark.parametrize(
    "mended",
    [
        ("arms_look", "arm cracked @ front left: put right"),
        ("arms_look", "arm cracked @ front left: renewed"),
        ("arms_look", "sound"),
    ],
)
def test_a_job_goes_when_somebody_says_so(bench: Bench, mended: tuple[str, str]) -> None:
    workshop, clock = bench
    found(workshop, "arms_look", "arm cracked @ front left: left as it is")
    clock.on(hours=1)
    found(workshop, *mended)
    assert not sheet_of(workshop).fix_first
    undo(workshop)
    assert sheet_of(workshop).fix_first


def test_a_weak_look_that_saw_nothing_does_not_end_a_job(bench: Bench) -> None:
    workshop, clock = bench
    found(workshop, "arms_look", "arm cracked @ front left: left as it is")
    clock.on(hours=1)
    found(workshop, "suspension_drop", "sound")
    assert sheet_of(workshop).fix_first


@pytest.mark.slow
def test_what_keeps_coming_back_leads_to_its_root_until_new_parts_are_fitted(bench: Bench) -> None:
    """Trade judgement: a nut that came loose three times is replaced, and so are its fellows."""
    workshop, clock = bench
    for _ in range(3):
        clock.on(days=2)
        found(workshop, "wheel_nuts", "loose @ front left: put right")
    (root,) = sheet_of(workshop).fix_first
    assert root.times == 3 and "all round" in root.job
    assert sum(part.count for part in root.parts) == 4.0
    clock.on(minutes=5)
    keep(workshop, draft_fitted(workshop, "Bramble", "wheel_nuts").entries)
    assert not sheet_of(workshop).fix_first
