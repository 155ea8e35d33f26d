"""The sheet on one screen of 80 columns, answered by number and key by key, as an owner types it."""

from __future__ import annotations

import io
import re
import sys

import pytest

from snugfast.cli.round_text import round_text
from snugfast.usecases.bench.bench_sheet import bench_sheet
from snugfast.usecases.bench.sheet import Asked
from tests.cli.typed import Typed
from tests.usecases.bench import ran, with_truck, workshop_in_memory

CARS = ("Bramble", "Nettle", "Sorrel")


@pytest.fixture
def driven(thread: Typed) -> Typed:
    """The truck after a hard run."""
    assert thread("ran", "Bramble:Ember 1", "14", "gravel", "--hits", "many", "--yes").code == 0
    return thread


def test_a_twenty_minute_sheet_is_one_screen(driven: Typed) -> None:
    """Issue: at most 60 lines of 80 columns and 700 words."""
    out = driven("sheet", "Bramble").out
    assert len(out.splitlines()) <= 60
    assert len(out.split()) <= 700
    commands = [line for line in out.splitlines() if "snugfast" not in line]
    assert max(map(len, commands)) <= 80


def test_a_number_tells_how_and_why(driven: Typed) -> None:
    out = driven("sheet", "Bramble").out
    line = next(line for line in out.splitlines() if "nuts" in line and line[:2].strip().isdecimal())
    how = driven("sheet", line[:2].strip()).out
    assert "Good:" in how and "Bad:" in how and "Why:" in how and "⚠" in how
    assert len(how.splitlines()) < 40


def test_answers_by_number_are_kept_and_gone_from_what_is_left(driven: Typed) -> None:
    driven("sheet", "Bramble")
    said = driven("found", "2", "ok,", "rest", "ok", "--yes")
    assert said.code == 0 and "OK: " in said.out and "looked at" in said.out
    assert driven("found", "2", "ok", "--yes").code == 0  # looked at once more


def test_when_the_last_line_is_answered_start_and_finish_are_kept(driven: Typed) -> None:
    driven("sheet", "Bramble")
    assert driven("found", "rest", "ok", "--yes").code == 0
    assert "Bramble: sheet of 20 min done in" in driven("journal", "--last", "1").out
    assert "sheet of 20 min" in driven("undo").out
    assert "sheet of 20 min" not in driven("journal", "--last", "1").out


def test_a_wrong_word_keeps_nothing_and_says_the_nearest(driven: Typed) -> None:
    driven("sheet", "Bramble")
    before = driven("journal").out
    said = driven("found", "4", "gibberish", "--yes")
    assert said.code == 2 and "is no answer to" in said.err
    assert driven("journal").out == before


def test_answers_come_in_by_a_pipe(driven: Typed, monkeypatch: pytest.MonkeyPatch) -> None:
    driven("sheet", "Bramble")
    monkeypatch.setattr(sys, "stdin", io.StringIO("2 ok\n3 ok\nrest skipped\n"))
    said = driven("found", "-", "--yes")
    assert said.code == 0 and "OK: 2, 3" in said.out and "Skipped:" in said.out


def test_key_by_key(driven: Typed, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(sys, "stdin", io.StringIO("o\n?\ns\nu\nq\n"))
    out = driven("bench", "Bramble").out
    assert "o OK" in out and "Good:" in out and "Undone:" in out and "Next: " in out
    monkeypatch.setattr(sys, "stdin", io.StringIO("q\n"))
    assert "On with the sheet" in driven("bench").out


def test_the_sheet_of_several_cars_is_one_screen_with_every_check_and_caution() -> None:
    """Issue: at most 60 lines; rounds over cars, each check once, nothing to beware of left out."""
    with workshop_in_memory() as (workshop, clock):
        for name in CARS:
            with_truck(workshop, name)
        clock.on(days=1)
        for name in CARS:
            ran(workshop, name, hits="3", minutes="14", ground="gravel")
        sheet = bench_sheet(workshop, Asked(minutes=20.0))
        text = round_text(sheet, workshop.zone)
    lines = [line for line in text.splitlines() if not line.startswith(("How:", "Answer:", "Key by"))]
    assert len(text.splitlines()) <= 60 and len(text.split()) <= 700, text
    assert not [line for line in lines if len(line) > 80]
    plain = " ".join(text.split())
    numbers = [line.number for line in sheet.lines]
    assert numbers == list(range(numbers[0], numbers[0] + len(numbers)))
    for line in sheet.lines:
        named = f"{line.check.car_name}|(!!|•+)? ?{re.escape(line.title)}"
        assert re.search(rf"(?<!\d){line.number} ({named})", plain), line.title
        for pack in line.packs:
            assert pack in plain
    held = {caution for check in sheet.checks for caution in check.cautions}
    held |= {caution for one in sheet.rounds for step in one.opening for caution in step.cautions}
    for caution in held:
        assert caution.short.rstrip(".") in plain, caution
    for stand in sheet.stands:
        titles = [line.title for one in stand for line in one.lines]
        assert all(text.count(title) == 1 for title in titles)
