"""Notes of the field come home: each once, at its own time, or none. Authority: laws of this project."""

from __future__ import annotations

import base64
import io
import re
from datetime import timedelta
from hashlib import sha256
from uuid import UUID

import pytest
import segno
from PIL import Image
from starlette.testclient import TestClient

from snugfast.core.errors import BadInput, WrongData
from snugfast.exchange.field_sheet.make import LARGEST, field_sheet
from snugfast.exchange.notes_files import notes_in
from snugfast.records.entries import Checked, Hunted, HuntEnd, HuntSaid, Ran
from snugfast.usecases.bench.bench_sheet import bench_sheet
from snugfast.usecases.bench.sheet import Asked
from snugfast.usecases.field.notes import NotesTakenIn, take_in_notes
from snugfast.usecases.hunt.answering import answer_cause
from snugfast.usecases.hunt.hunt import hunt_of, hunt_view, hunts_of
from snugfast.usecases.journal.keeping import keep
from snugfast.usecases.journal.run_log import RunSaid, draft_runs
from snugfast.usecases.shared.ledger import ledger_now
from snugfast.usecases.shared.workshop import Workshop
from tests.web.parsed import Page
from tests.web.workshops import Clock

SHEET = "019de2c4-41f0-7665-9184-f68e75f40101"


def notes(workshop: Workshop, *rows: str) -> str:
    with workshop.store.reading() as reads:
        position = reads.position()
    return "\n".join((f"Snugfast field notes 1\nsheet {SHEET} position {position}", *rows))


def at(workshop: Workshop, **ago: float) -> str:
    return f"{workshop.now() - timedelta(**ago):%Y-%m-%d %H:%MZ}"


def three(workshop: Workshop) -> tuple[str, str, str]:
    return (
        f"{at(workshop, hours=3)} | check | Bramble | wheel_nuts | | loose @ front left: left | two | turns",
        f"{at(workshop, hours=2)} | run | Bramble | Ember 1 | 13.5 | gravel | mud | 2 | pulls to the left",
        f"{at(workshop, hours=1)} | wet | Bramble | wash_mud",
    )


def test_each_note_lands_once_at_its_own_time(workshop: Workshop, clock: Clock) -> None:
    first, run, wet = three(workshop)
    first = first.replace("two | turns", "two turns")
    text = notes(workshop, first, run, wet)
    clock.on(days=7)
    keep(workshop, draft_runs(workshop, (RunSaid("Quarry", ("Ember 2",), "9"),)).entries)
    done = take_in_notes(workshop, text)
    assert (done.new, done.known, done.since) == (3, 0, 1)
    with workshop.store.reading() as reads:
        rows = {row.entry.id: row.entry for row in reads.entries_with(done.entries)}
        position = reads.position()
    landed = sorted(rows.values(), key=lambda entry: entry.happened_at)
    assert [f"{entry.happened_at:%Y-%m-%d %H:%MZ}" for entry in landed] == [
        row.partition(" | ")[0] for row in (first, run, wet)
    ]
    checked, ran = landed[0].fact, landed[1].fact
    assert isinstance(checked, Checked) and checked.noticed == "two turns"
    assert [(answer.spot, answer.done.value) for answer in checked.answers] == [
        ("front left", "left as it is")
    ]
    assert isinstance(ran, Ran) and ran.running_min == pytest.approx(13.5)
    again = take_in_notes(workshop, f"forwarded:\r\n> {text}\r\n\r\n{text}".replace("\n", "\r\n"))
    assert (again.new, again.known) == (0, 3)
    with workshop.store.reading() as reads:
        assert reads.position() == position


def test_one_wrong_line_keeps_all_out_and_every_wrong_line_is_told(workshop: Workshop) -> None:
    good, run, _ = three(workshop)
    with workshop.store.reading() as reads:
        before = reads.position()
    rows = (
        run,
        run.replace("Bramble", "Nobody"),
        run.replace("13.5", "many"),
        run.rpartition(" | ")[0],
        run.replace(run[:17], "2026-13-01 10:00Z"),
        good,  # one bar too many
        f"{at(workshop, days=-2)} | wet | Bramble | wash_mud",  # still to come
    )
    with pytest.raises(WrongData) as refused:
        take_in_notes(workshop, notes(workshop, *rows))
    assert {finding.where.partition(",")[0] for finding in refused.value.findings} == {
        f"note {number}" for number in range(2, 8)
    }
    with workshop.store.reading() as reads:
        assert reads.position() == before
    for text in ("", "hello", "a | b", f"sheet {SHEET} position 1"):
        with pytest.raises(BadInput):
            take_in_notes(workshop, text)


def picture(*texts: str, kind: str = "PNG") -> bytes:
    """Codes side by side, as a camera sees them."""
    drawn = []
    for text in texts:
        out = io.BytesIO()
        segno.make_qr(text, error="m").save(out, kind="png", scale=5, border=4)
        drawn.append(Image.open(out).convert("L"))
    whole = Image.new("L", (sum(one.width for one in drawn) + 40, max(one.height for one in drawn) + 40), 200)
    left = 20
    for one in drawn:
        whole.paste(one, (left, 20))
        left += one.width
    out = io.BytesIO()
    whole.save(out, kind)
    return out.getvalue()


@pytest.mark.parametrize("kind", ["PNG", "JPEG"])
def test_a_photograph_of_the_codes_is_read(workshop: Workshop, kind: str) -> None:
    _, run, wet = three(workshop)
    data = picture(notes(workshop, run), notes(workshop, wet), kind=kind)
    assert take_in_notes(workshop, notes_in(data)).new == 2


@pytest.mark.parametrize(
    "data", [b"\x89PNG\r\n\x1a\n broken", picture("x").replace(b"IHDR", b"IHDX"), b"\xff\xfe\x00\x01"]
)
def test_a_file_that_is_none_is_refused_with_a_sentence(data: bytes) -> None:
    with pytest.raises(BadInput):
        notes_in(data)


def test_the_page_takes_paste_and_files(client: TestClient, workshop: Workshop) -> None:
    _, run, wet = three(workshop)
    data = picture(notes(workshop, wet))
    files = [
        ("files", ("field-notes.txt", notes(workshop, run).encode(), "text/plain")),
        ("files", ("codes.png", data + b"\0" * 3_000_000, "image/png")),  # as large as a camera's
    ]
    home = Page.of(client.post("/field/notes", data={"notes": ""}, files=files))
    assert "2 notes are home" in home.text
    twice = Page.of(client.post("/field/notes", data={"notes": notes(workshop, run)}))
    assert "All of this was here already" in twice.text
    wrong = client.post("/field/notes", data={"notes": notes(workshop, run.replace("Bramble", "Nobody"))})
    assert wrong.status_code == 422
    assert "Nobody" in wrong.text


def test_the_sheet_is_one_small_file_that_may_ask_nobody(client: TestClient, workshop: Workshop) -> None:
    answer = client.get("/field/sheet.html?car=Bramble&minutes=20")
    html = answer.text
    assert answer.headers["content-disposition"].startswith("attachment")
    assert len(answer.content) < LARGEST
    assert not re.findall(r"(?:src|href)=\"(?!#)", html)
    assert "http://" not in html.replace("http://www.w3.org/2000/svg", "")
    policy = re.search(r'Content-Security-Policy" content="([^"]+)"', html)
    assert policy and "default-src &#39;none&#39;" in policy[1] and "unsafe" not in policy[1]
    for tag in ("style", "script"):
        inside = re.search(rf"<{tag}>(.*?)</{tag}>", html, re.DOTALL)
        assert inside
        mark = base64.b64encode(sha256(inside[1].encode()).digest()).decode()
        assert f"sha256-{mark}" in policy[1].replace("&#43;", "+"), tag
    sheet = bench_sheet(workshop, Asked(("Bramble",)))
    text = Page.of(answer).text
    for line in sheet.lines:
        assert line.title in text and line.check.good in text
        for caution in line.check.cautions:
            assert (caution.short or caution.text).rstrip(".") in text


def test_the_sheet_carries_the_position_it_was_made_from(workshop: Workshop) -> None:
    with workshop.store.reading() as reads:
        position = reads.position()
    html = field_sheet(workshop, Asked(("Bramble",)))
    found = re.search(r'data-sheet="([^"]+)" data-position="(\d+)"', html)
    assert found and UUID(found[1]) and int(found[2]) == position


def test_nothing_new_is_nothing(workshop: Workshop) -> None:
    _, run, _ = three(workshop)
    assert isinstance(take_in_notes(workshop, notes(workshop, run)), NotesTakenIn)
    assert take_in_notes(workshop, notes(workshop, run)).told == ()


def hunt_rows(workshop: Workshop) -> list[str]:
    """A hunt as a phone notes it: one answer undone, mended to get home, undone, given up."""
    taps = (
        "begin | Bramble | wheels_still; clicks | Ember 1",
        "shown | touch_throttle | Motor turns, spur stands still |",
        "good | mesh_play | |",
        "undo | | |",
        "shown | mesh_play | Pinion turns or slides on its shaft |",
        "temporary | pinion_loose | |",
        "undo | | |",
        "not-it | pinion_loose | |",
        "give-up | | |",
    )
    return [
        f"{at(workshop, hours=2, minutes=-n)} | hunt | 260510143211123 | {n} | {tap}"
        for n, tap in enumerate(taps, start=1)
    ]


def the_hunt(workshop: Workshop) -> Hunted:
    found = hunts_of(workshop)
    assert len(found) == 1, "one hunt, however often it was answered"
    return hunt_of(found[0])


def test_a_hunt_comes_home_in_pieces_and_twice(workshop: Workshop) -> None:
    rows = hunt_rows(workshop)
    assert take_in_notes(workshop, notes(workshop, *rows[:6])).new == 6
    hunt = the_hunt(workshop)
    assert [(step.test, step.said.value, step.word) for step in hunt.steps] == [
        ("touch_throttle", "shown", "Motor turns, spur stands still"),
        ("mesh_play", "shown", "Pinion turns or slides on its shaft"),
    ]
    assert hunt.temporary and hunt.broke is not None and hunt.broke.mode == "pinion_screw_flat_locked"
    with workshop.store.reading() as reads:
        pack = ledger_now(reads).pack_named("Ember 1")
        position = reads.position()
    assert pack is not None and hunt.pack == pack.id
    for again in (rows[:6], rows[:3], rows[5:6], [*reversed(rows[:6]), *rows[:6]]):
        assert take_in_notes(workshop, notes(workshop, *again)).new == 0
    with workshop.store.reading() as reads:
        assert reads.position() == position
    done = take_in_notes(workshop, notes(workshop, *reversed(rows)))
    assert (done.new, done.known, len(done.told)) == (3, 6, 1)
    hunt = the_hunt(workshop)
    assert hunt.end is HuntEnd.GIVEN_UP and hunt.broke is None and hunt.steps[-1].cause == "pinion_loose"


def test_a_hunt_with_a_tap_missing_is_refused_and_one_gone_on_at_home_is_left(workshop: Workshop) -> None:
    rows = hunt_rows(workshop)
    with pytest.raises(WrongData, match="Tap 2 of this hunt is missing"):
        take_in_notes(workshop, notes(workshop, rows[0], *rows[2:4]))
    with pytest.raises(WrongData, match="has ended"):
        take_in_notes(workshop, notes(workshop, *rows, rows[-1].replace("| 9 |", "| 10 |")))
    assert not hunts_of(workshop)
    take_in_notes(workshop, notes(workshop, *rows[:2]))
    view = hunt_view(workshop, "Bramble")
    assert view is not None and view.mending is not None
    answer_cause(workshop, view.entry, view.mending.cause, HuntSaid.NOT_IT)
    done = take_in_notes(workshop, notes(workshop, *rows[:5], *three(workshop)[1:]))
    assert (done.new, done.known) == (2, 2), "the rest of the notes is taken in all the same"
    assert "3 answers from the field left out" in done.told[-1]
    assert len(the_hunt(workshop).steps) == 2
