"""The archive: everything goes out and comes back identical; a hostile one is refused as a whole."""

from __future__ import annotations

import json
import random
import zipfile
from collections.abc import Iterator
from contextlib import suppress
from dataclasses import replace
from hashlib import sha256
from pathlib import Path

import jsonschema
import pytest

from snugfast.core.errors import BadInput, WrongData
from snugfast.exchange.archive import ArchiveTooNew, NotAnArchive, read_archive, write_archive
from snugfast.exchange.lists import harmless, write_lists
from snugfast.records.entries import Ran
from snugfast.records.store.journal import AnotherUnderThatId
from snugfast.records.store.store import Store
from snugfast.usecases.bench.bench_sheet import bench_sheet
from snugfast.usecases.bench.sheet import Asked
from snugfast.usecases.journal.keeping import keep, undo
from snugfast.usecases.journal.marks import said_again
from snugfast.usecases.journal.run_log import draft_runs
from snugfast.usecases.safekeeping.hand_over import Everything, hand_over, take_in
from snugfast.usecases.safekeeping.lists import Listing, listings
from snugfast.usecases.shared.ledger import ledger_now
from snugfast.usecases.shared.workshop import Workshop
from tests.usecases.bench import Clock, facts, ran, with_truck, workshop_in_memory

Bench = tuple[Workshop, Clock]


@pytest.fixture
def bench() -> Iterator[Bench]:
    """A workshop with a season behind it: runs, a break, a correction, something withdrawn."""
    with workshop_in_memory() as (workshop, clock):
        with workshop.store.work() as work:
            work.people.add(workshop.author, "Ada")
            work.commit()
        with_truck(workshop)
        with_truck(workshop, "Thistle")
        for n in range(6):
            clock.on(days=3)
            ran(workshop, "Bramble", hits="2", broke=("wheel nut @ rear left: renewed",) if n == 3 else ())
            clock.on(hours=1)
            ran(workshop, "Thistle", wet="mud", noticed=("=squeaks, “odd”",))
        undo(workshop)
        with workshop.store.reading() as reads:
            last = next(
                row.entry
                for row in reversed(reads.entries_after(0))
                if isinstance(row.entry.fact, Ran) and row.entry.fact.hard_hits
            )
            said = said_again(last, facts(), ledger_now(reads))
        keep(workshop, draft_runs(workshop, (replace(said, minutes="15"),), replaces=last).entries)
        yield workshop, clock


def empty_store(url: str, clock: Clock, like: Workshop) -> Workshop:
    """A workshop of its own, with nothing in it."""
    return Workshop(Store.create(url, clock=clock), facts(), clock, like.author, like.zone)


def repack(path: Path, **changed: bytes | None) -> None:
    """Write an archive anew with some members changed, added or left out, fingerprints put right."""
    with zipfile.ZipFile(path) as packed:
        files = {name: packed.read(name) for name in packed.namelist()}
    for name, content in changed.items():
        member = name.replace("__", "/").replace("_", ".", 1) if "." not in name else name
        if content is None:
            files.pop(member)
        else:
            files[member] = content
    if changed.get("manifest.json") is None:
        manifest = json.loads(files["manifest.json"])
        manifest["sha256"] = {n: sha256(c).hexdigest() for n, c in files.items() if n != "manifest.json"}
        files["manifest.json"] = json.dumps(manifest).encode()
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as packed:
        for name, content in files.items():
            packed.writestr(name, content)


def test_everything_goes_out_and_comes_back_identical_on_either_database(
    bench: Bench, tmp_path: Path, engine_url: str
) -> None:
    """Law: the journal is the same entry by entry, and so is all that is worked out from it."""
    workshop, clock = bench
    written = write_archive(hand_over(workshop), tmp_path / "all.zip")
    there = empty_store(engine_url, clock, workshop)
    done = take_in(there, read_archive(written.path))
    assert (done.new, done.known, done.contradictions) == (written.entries, 0, ())
    again, before = hand_over(there), hand_over(workshop)
    assert again.entries == before.entries
    assert again.people == before.people
    now = clock.now
    one = bench_sheet(workshop, Asked())
    clock.now = now
    other = bench_sheet(there, Asked())
    assert one.cars == other.cars
    assert [step.key for step in one.steps] == [step.key for step in other.steps]
    there.store.close()


def test_taking_in_twice_adds_nothing(bench: Bench, tmp_path: Path) -> None:
    workshop, _ = bench
    archive = read_archive(write_archive(hand_over(workshop), tmp_path / "all.zip").path)
    done = take_in(workshop, archive)
    assert (done.new, done.new_people) == (0, 0)


def test_the_archive_is_the_same_bytes_for_the_same_workshop(bench: Bench, tmp_path: Path) -> None:
    workshop, _ = bench
    everything = hand_over(workshop)
    one = write_archive(everything, tmp_path / "one.zip").path.read_bytes()
    assert one == write_archive(everything, tmp_path / "two.zip").path.read_bytes()


def test_every_line_fits_the_schema_inside_the_archive(bench: Bench, tmp_path: Path) -> None:
    """Against: jsonschema's own validator."""
    workshop, _ = bench
    with zipfile.ZipFile(write_archive(hand_over(workshop), tmp_path / "all.zip").path) as packed:
        validator = jsonschema.Draft202012Validator(json.loads(packed.read("schema.json")))
        lines = packed.read("journal.jsonl").splitlines()
    assert lines
    for line in lines:
        validator.validate(json.loads(line))


def test_stores_that_parted_meet_whatever_the_order(bench: Bench, tmp_path: Path) -> None:
    """Law: union of both journals; taking in A then B equals B then A."""
    workshop, clock = bench
    base = hand_over(workshop)
    field, shed = (empty_store("sqlite://", clock, workshop) for _ in range(2))
    for one in (field, shed):
        take_in(one, base)
    clock.on(days=1)
    ran(field, "Bramble", minutes="9")
    ran(shed, "Thistle", minutes="21")
    undo(shed)
    take_in(field, hand_over(shed))
    take_in(shed, hand_over(field))
    with field.store.reading() as one, shed.store.reading() as other:
        assert {row.entry.id for row in one.entries_after(0)} == {
            row.entry.id for row in other.entries_after(0)
        }
        assert ledger_now(one) == ledger_now(other)
    shuffled = list(hand_over(field).entries)
    random.Random(4).shuffle(shuffled)
    third = empty_store("sqlite://", clock, workshop)
    take_in(third, replace(base, entries=tuple(shuffled)))
    with field.store.reading() as one, third.store.reading() as other:
        assert ledger_now(one) == ledger_now(other)


def test_a_pack_in_two_runs_at_once_is_shown_and_both_are_kept(bench: Bench) -> None:
    workshop, clock = bench
    base = hand_over(workshop)
    field = empty_store("sqlite://", clock, workshop)
    take_in(field, base)
    clock.on(days=2)
    day = f"{clock.now:%Y-%m-%d}"
    ran(workshop, "Bramble", packs=("Bramble pack",), when=f"{day} 07:30", minutes="20")
    ran(field, "Thistle", packs=("Bramble pack",), when=f"{day} 07:20", minutes="15")
    done = take_in(workshop, hand_over(field))
    assert done.new == 1
    (contradiction,) = done.contradictions
    assert contradiction.sentence.startswith("Bramble pack was in two runs at once")
    assert len(contradiction.entries) == 2


def test_an_identity_that_says_something_else_is_refused_and_nothing_is_taken_in(bench: Bench) -> None:
    workshop, _ = bench
    everything = hand_over(workshop)
    forged = [
        replace(entry, fact=replace(entry.fact, running_min=99.0)) if isinstance(entry.fact, Ran) else entry
        for entry in everything.entries
    ]
    before = hand_over(workshop).entries
    with pytest.raises(AnotherUnderThatId):
        take_in(workshop, replace(everything, entries=tuple(forged)))
    assert hand_over(workshop).entries == before


@pytest.mark.parametrize(
    ("name", "content", "says"),
    [
        ("../../evil.txt", b"x", "does not belong in a hand-over"),
        ("/etc/passwd", b"x", "does not belong in a hand-over"),
        ("attachments/photo.jpg", b"x", "does not belong in a hand-over"),
        ("people.jsonl", None, "is missing or there twice"),
        ("journal.jsonl", b"not json\n", "this is not JSON"),
        ("journal.jsonl", b"[1]\n", "this is not an object"),
        ("journal.jsonl", b"{}\n", "is missing"),
        ("people.jsonl", b'{"id": 3}\n', "this is nobody"),
        ("manifest.json", b'{"format": "something else"}', "is not a Snugfast hand-over"),
        ("manifest.json", b"[" * 100_000, "does not read"),
        ("journal.jsonl", b"0" * 300_000_000, "unpacks to far more than a journal"),
    ],
)
def test_a_hostile_archive_is_refused_as_a_whole_with_reasons(
    bench: Bench, tmp_path: Path, name: str, content: bytes | None, says: str
) -> None:
    workshop, _ = bench
    path = write_archive(hand_over(workshop), tmp_path / "all.zip").path
    repack(path, **{name: content})
    with pytest.raises(BadInput, match=says):
        read_archive(path)
    assert sorted(entry.name for entry in tmp_path.iterdir()) == ["all.zip"]


def test_half_a_file_and_a_changed_byte_are_refused(bench: Bench, tmp_path: Path) -> None:
    workshop, _ = bench
    whole = write_archive(hand_over(workshop), tmp_path / "all.zip").path.read_bytes()
    half = tmp_path / "half.zip"
    half.write_bytes(whole[: len(whole) // 2])
    with pytest.raises(NotAnArchive):
        read_archive(half)
    for at in range(40, len(whole) - 1, max(1, len(whole) // 60)):
        changed = tmp_path / "changed.zip"
        changed.write_bytes(whole[:at] + bytes([whole[at] ^ 0x55]) + whole[at + 1 :])
        with suppress(NotAnArchive, WrongData, BadInput):
            assert read_archive(changed) == read_archive(tmp_path / "all.zip")


def test_an_archive_of_a_newer_program_says_so(bench: Bench, tmp_path: Path) -> None:
    workshop, _ = bench
    path = write_archive(hand_over(workshop), tmp_path / "all.zip").path
    with zipfile.ZipFile(path) as packed:
        manifest = json.loads(packed.read("manifest.json"))
    repack(path, **{"manifest.json": json.dumps({**manifest, "version": 2}).encode()})
    with pytest.raises(ArchiveTooNew, match="newer Snugfast"):
        read_archive(path)


def test_a_line_of_a_kind_from_the_future_is_named(bench: Bench, tmp_path: Path) -> None:
    workshop, _ = bench
    path = write_archive(hand_over(workshop), tmp_path / "all.zip").path
    with zipfile.ZipFile(path) as packed:
        lines = packed.read("journal.jsonl").splitlines()
    document = {**json.loads(lines[2]), "kind": "teleported"}
    lines[2] = json.dumps(document).encode()
    repack(path, **{"journal.jsonl": b"\n".join(lines) + b"\n"})
    with pytest.raises(WrongData, match=r"line 3.*teleported"):
        read_archive(path)


def test_lists_go_to_a_spreadsheet_without_running_anything(bench: Bench, tmp_path: Path) -> None:
    """Law: no cell of text begins with what a spreadsheet takes for a formula."""
    workshop, _ = bench
    paths = write_lists(listings(workshop), tmp_path / "lists")
    assert {path.stem for path in paths} >= {"cars", "packs", "runs", "answers", "breaks", "parts"}
    runs = (tmp_path / "lists" / "runs.csv").read_text("utf-8-sig")
    assert "'=squeaks" in runs
    for evil in ("=1+1", "+1", "-1", "@cmd", "\tx", "\rx"):
        assert str(harmless(evil)).startswith("'")
    assert harmless("plain") == "plain"
    assert harmless(-3.5) == -3.5
    with pytest.raises(BadInput, match="not an empty folder"):
        write_lists((Listing("x", ("a",), ()),), tmp_path / "lists")


def test_the_empty_workshop_can_be_handed_over_too(tmp_path: Path) -> None:
    with workshop_in_memory() as (workshop, _):
        everything: Everything = read_archive(write_archive(hand_over(workshop), tmp_path / "none.zip").path)
    assert everything.entries == ()
