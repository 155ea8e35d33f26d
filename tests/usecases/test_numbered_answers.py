"""Answers by number: plain words, many at once, all or none, and numbers that stay what was shown.

Authority: laws of this project.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

import pytest

from snugfast.core.errors import NotKnown, SnugfastError, WrongData
from snugfast.records.entries import Checked, Done
from snugfast.usecases.bench.bench_sheet import bench_sheet
from snugfast.usecases.bench.numbered_answers import NumberedDraft, answers_by_number
from snugfast.usecases.bench.sheet import Asked, Sheet
from snugfast.usecases.bench.shown import keep_shown, shown_now, shown_of, still_open, the_shown
from snugfast.usecases.bench.walk import answer, begin_or_resume, open_lines, take_back
from snugfast.usecases.journal.keeping import keep
from snugfast.usecases.packs.register import PackSaid, draft_pack
from snugfast.usecases.shared.ledger import ledger_now
from snugfast.usecases.shared.remedies import split_remedy
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
                ran(workshop, ground="gravel", hits="many", minutes="14", packs=(pack,))
                clock.on(minutes=30)
        yield workshop, clock


def shown(workshop: Workshop) -> Sheet:
    sheet = bench_sheet(workshop, Asked(("Bramble",), minutes=200.0))
    keep_shown(workshop, shown_of(sheet))
    return sheet


def number_of(sheet: Sheet, check: str) -> int:
    return next(line.number for line in sheet.lines if line.check.check == check)


def said(workshop: Workshop, text: str) -> NumberedDraft:
    return answers_by_number(workshop, the_shown(workshop), text)


def checked(made: NumberedDraft) -> dict[str, Checked]:
    return {entry.fact.check: entry.fact for entry in made.draft.entries if isinstance(entry.fact, Checked)}


@pytest.mark.slow
def test_many_at_once_and_the_rest_was_looked_at(bench: Bench) -> None:
    workshop, _ = bench
    sheet = shown(workshop)
    nuts, arms = number_of(sheet, "wheel_nuts"), number_of(sheet, "arms_look")
    made = checked(said(workshop, f"{nuts} loose front left, {arms} arm cracked front left fixed, rest ok"))
    assert [(a.word, a.spot, a.done) for a in made["wheel_nuts"].answers] == [
        ("loose", "front left", Done.LEFT)
    ]
    (arm,) = made["arms_look"].answers
    assert (arm.place, arm.spot, arm.done) == ("arms_front", "left", Done.PUT_RIGHT)
    assert set(made) == {line.check.check for line in sheet.lines}
    assert all(fact.looked for fact in made.values())


def test_spots_after_a_comma_are_still_the_same_answer(bench: Bench) -> None:
    workshop, _ = bench
    nuts = number_of(shown(workshop), "wheel_nuts")
    made = checked(said(workshop, f"{nuts} loose front left, rear right and rear left, replaced"))
    spots = {(answer.spot, answer.done) for answer in made["wheel_nuts"].answers}
    assert spots == {(spot, Done.RENEWED) for spot in ("front left", "rear right", "rear left")}


def test_a_finding_without_a_remedy_is_not_fixed_and_the_echo_keeps_the_place(bench: Bench) -> None:
    workshop, _ = bench
    arms = number_of(shown(workshop), "arms_look")
    (told,) = said(workshop, f"{arms} arm cracked rear right").draft.echo
    assert "rear arms, right" in told and "not fixed yet" in told


def test_what_cannot_be_read_is_told_all_at_once_and_nothing_is_kept(bench: Bench) -> None:
    workshop, _ = bench
    nuts = number_of(shown(workshop), "wheel_nuts")
    with pytest.raises(WrongData) as wrong:
        said(workshop, f"{nuts} losse, 99 ok")
    assert len(wrong.value.findings) == 2
    assert "loose" in str(wrong.value.findings)


@pytest.mark.parametrize("text", ["3-1 ok", "3–1 ok", "2-2 ok"])
def test_numbers_that_run_backwards_are_no_word_for_the_rest(bench: Bench, text: str) -> None:
    workshop, _ = bench
    sheet = shown(workshop)
    kept = said(workshop, text).draft.entries
    lines = [line for line in the_shown(workshop).lines if line.number in (1, 2, 3)]
    assert len(lines) == 3 < len(sheet.lines)
    assert len(kept) <= sum(len(line.checks) for line in lines)


@pytest.mark.parametrize("text", ["1-99999999999 ok", "9" * 5000 + " ok", "1000 ok"])
def test_a_number_no_sheet_has_is_refused_at_once(bench: Bench, text: str) -> None:
    workshop, _ = bench
    shown(workshop)
    with pytest.raises(SnugfastError, match="No sheet has a line"):
        said(workshop, text)


@pytest.mark.slow
def test_a_pack_is_asked_for_where_a_line_is_about_two(bench: Bench) -> None:
    workshop, _ = bench
    look = number_of(shown(workshop), "pack_look")
    with pytest.raises(WrongData) as wrong:
        said(workshop, f"{look} dented")
    assert "which pack" in wrong.value.findings[0].problem
    made = said(workshop, f"{look} dented Second, rest ok")
    packs = [
        entry.fact for entry in made.draft.entries if isinstance(entry.fact, Checked) and entry.fact.pack
    ]
    looks = {bool(fact.answers) for fact in packs if fact.check == "pack_look"}
    assert looks == {True, False}  # the other pack was looked at and is fine


@pytest.mark.slow
def test_skipped_is_no_answer_and_rest_leaves_it_out(bench: Bench) -> None:
    workshop, _ = bench
    sheet = shown(workshop)
    nuts = number_of(sheet, "wheel_nuts")
    made = said(workshop, f"{nuts} skipped, rest ok")
    assert "wheel_nuts" not in checked(made) and nuts in made.shown.skipped


@pytest.mark.slow
def test_rest_never_says_that_a_job_was_done(bench: Bench) -> None:
    workshop, clock = bench
    arms = number_of(shown(workshop), "arms_look")
    keep(workshop, said(workshop, f"{arms} arm cracked front left").draft.entries)
    clock.on(hours=1)
    sheet = shown(workshop)
    (job,) = sheet.fix_first
    made = said(workshop, "rest ok")
    assert all(not fact.answers for fact in checked(made).values())
    (mended,) = checked(said(workshop, f"{job.number} replaced")).values()
    assert [(a.mode, a.spot, a.done) for a in mended.answers] == [("arm_cracked", "left", Done.RENEWED)]


@pytest.mark.slow
def test_a_job_at_one_of_four_like_spots_is_answered_by_its_number(bench: Bench) -> None:
    """The nuts are one place with four spots, so the place is not named again before the spot."""
    workshop, clock = bench
    nuts = number_of(shown(workshop), "wheel_nuts")
    keep(workshop, said(workshop, f"{nuts} loose front left").draft.entries)
    clock.on(hours=1)
    (job,) = shown(workshop).fix_first
    (mended,) = checked(said(workshop, f"{job.number} fixed")).values()
    assert [(a.mode, a.spot, a.done) for a in mended.answers] == [
        ("wheel_nut_loose", "front left", Done.PUT_RIGHT)
    ]


@pytest.mark.slow
def test_a_later_sheet_does_not_shift_the_numbers_of_the_one_in_hand(bench: Bench) -> None:
    """Law: only showing a sheet changes what a number means."""
    workshop, clock = bench
    sheet = shown(workshop)
    nuts = number_of(sheet, "wheel_nuts")
    keep(workshop, said(workshop, "2 ok").draft.entries)
    clock.on(minutes=2)
    bench_sheet(workshop, Asked(("Bramble",), minutes=5.0))  # made, and not shown
    assert "wheel_nuts" in checked(said(workshop, f"{nuts} ok"))


def test_numbers_of_a_car_that_ran_since_mean_nothing(bench: Bench) -> None:
    workshop, clock = bench
    with pytest.raises(NotKnown, match="No sheet was shown"):
        the_shown(workshop)
    shown(workshop)
    clock.on(hours=20)
    ran(workshop)
    with pytest.raises(NotKnown, match="has run since"):
        the_shown(workshop)


def test_what_is_kept_of_a_sheet_comes_back_equal(bench: Bench) -> None:
    workshop, _ = bench
    made = replace(shown_of(bench_sheet(workshop, Asked(minutes=20.0))), skipped=frozenset((3,)))
    keep_shown(workshop, made)
    assert shown_now(workshop) == made


@pytest.mark.parametrize(
    ("words", "body", "done"),
    [
        ("loose front left, fixed", "loose front left", Done.PUT_RIGHT),
        ("loose: replaced", "loose", Done.RENEWED),
        ("cracked front left", "cracked front left", None),
        ("loose not fixed yet", "loose", Done.LEFT),
        ("worn @ rear: left as it is", "worn @ rear", Done.LEFT),
    ],
)
def test_remedies_as_people_say_them(words: str, body: str, done: Done | None) -> None:
    assert split_remedy(words) == (body, done)


@pytest.mark.slow
def test_a_walk_keeps_each_answer_at_once_and_goes_on_after_a_break(bench: Bench) -> None:
    workshop, clock = bench
    sheet, resumed = begin_or_resume(workshop, Asked())
    assert not resumed
    first, second = open_lines(workshop, sheet)[:2]
    sheet, _ = answer(workshop, sheet, first.number, "ok")
    sheet, _ = answer(workshop, sheet, second.number, "skipped")
    clock.on(minutes=40)
    again, resumed = begin_or_resume(workshop, Asked())
    assert resumed and again.made_at == sheet.made_at
    left = {line.number for line in open_lines(workshop, again)}
    assert first.number not in left and second.number not in left
    take_back(workshop, again)
    assert first.number in {line.number for line in open_lines(workshop, again)}


def test_undoing_stops_at_the_beginning_of_the_sheet(bench: Bench) -> None:
    workshop, _ = bench
    sheet, _ = begin_or_resume(workshop, Asked())
    with pytest.raises(NotKnown):
        take_back(workshop, sheet)


@pytest.mark.slow
def test_what_is_open_ends_when_all_was_said(bench: Bench) -> None:
    workshop, _ = bench
    shown(workshop)
    made = said(workshop, "rest ok")
    keep(workshop, made.draft.entries)
    with workshop.store.reading() as reads:
        assert not still_open(made.shown, ledger_now(reads))
