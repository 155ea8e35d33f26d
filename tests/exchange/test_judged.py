"""What is taken in is judged by the rules of what is typed, and what no longer reads takes nothing down.

Authority: law, no archive can bring in what the commands would refuse to keep whatever the records say.
"""

from __future__ import annotations

import json
import sqlite3
import subprocess
import sys
import zipfile
from collections.abc import Callable
from dataclasses import replace
from datetime import UTC, datetime
from hashlib import sha256
from pathlib import Path
from typing import Any

import pytest

from snugfast.app.opening import utc_now
from snugfast.core.errors import WrongData
from snugfast.exchange.archive import read_archive, write_archive
from snugfast.facts.load import load_facts
from snugfast.records.codec import KINDS, entry_to_document
from snugfast.records.entries import CarAdded, Entry, PackAdded, Ran, Unreadable, WorkDone
from snugfast.records.store.engines import file_url
from snugfast.records.store.store import Store
from snugfast.usecases.journal.keeping import undo, withdraw
from snugfast.usecases.journal.marks import journal_lines
from snugfast.usecases.safekeeping.hand_over import Everything, hand_over, take_in
from snugfast.usecases.shared.workshop import Workshop
from tests.exchange.test_hand_over import repack
from tests.fuzz.season import small_season
from tests.fuzz.typing import type_words


def new_workshop(file: Path) -> Workshop:
    """An empty workshop in a file."""
    everything = small_season()
    store = Store.create(file_url(file), clock=utc_now)
    return Workshop(store, load_facts(), utc_now, everything.people[0].id)


def number_of(kind: type[object]) -> int:
    """The line of the last entry of a kind."""
    entries = small_season().entries
    return max(n for n, entry in enumerate(entries, 1) if isinstance(entry.fact, kind))


def with_line(number: int, change: Callable[[Entry], Entry]) -> Everything:
    """The season with one line changed."""
    season = small_season()
    entries = list(season.entries)
    entries[number - 1] = change(entries[number - 1])
    return replace(season, entries=tuple(entries))


def fact_with(**changed: Any) -> Callable[[Entry], Entry]:
    return lambda entry: replace(entry, fact=replace(entry.fact, **changed))


IMPOSSIBLE: dict[str, tuple[type[object], Callable[[Entry], Entry]]] = {
    "a zone that is none": (Ran, lambda entry: replace(entry, zone="Mars/Olympus")),
    "an end of the calendar": (Ran, lambda e: replace(e, happened_at=datetime(9999, 12, 31, tzinfo=UTC))),
    "minutes below zero": (Ran, fact_with(running_min=-5.0)),
    "minutes without end": (Ran, fact_with(running_min=1e300)),
    "no capacity": (PackAdded, fact_with(capacity_Ah=0.0)),
    "a place that is no table": (CarAdded, fact_with(build={"name": "x", "place": [3]})),
    "a name that turns the line round": (PackAdded, fact_with(name="Ember\u202e1")),
    "a name without end": (PackAdded, fact_with(name="E" * 200)),
    "work on nothing": (WorkDone, fact_with(event="")),
}


@pytest.mark.parametrize("what", IMPOSSIBLE)
def test_what_cannot_be_is_refused_with_its_line_and_nothing_is_kept(what: str, tmp_path: Path) -> None:
    kind, change = IMPOSSIBLE[what]
    number = number_of(kind)
    workshop = new_workshop(tmp_path / "w.sqlite")
    with workshop.store:
        with pytest.raises(WrongData) as refused:
            take_in(workshop, with_line(number, change))
        assert any(finding.where.startswith(f"line {number}") for finding in refused.value.findings)
        assert hand_over(workshop).entries == ()


def test_all_that_cannot_be_is_told_at_once(tmp_path: Path) -> None:
    season = small_season()
    bad = [n for n, entry in enumerate(season.entries, 1) if isinstance(entry.fact, Ran)]
    entries = [replace(e, zone="Nowhere") if n in bad else e for n, e in enumerate(season.entries, 1)]
    workshop = new_workshop(tmp_path / "w.sqlite")
    with workshop.store, pytest.raises(WrongData) as refused:
        take_in(workshop, replace(season, entries=tuple(entries)))
    assert {finding.where for finding in refused.value.findings} == {f"line {n}, zone" for n in bad}


def test_the_rest_is_taken_in_when_asked_to_leave_out(tmp_path: Path) -> None:
    number = number_of(Ran)
    workshop = new_workshop(tmp_path / "w.sqlite")
    with workshop.store:
        done = take_in(workshop, with_line(number, fact_with(running_min=-5.0)), leave_out=True)
        assert done.new == len(small_season().entries) - 1
        assert [left.where for left in done.left_out] == [f"line {number}, minutes"]


def test_lines_that_do_not_read_are_left_out_when_asked(tmp_path: Path) -> None:
    archive = write_archive(small_season(), tmp_path / "all.zip").path
    documents = [entry_to_document(entry) for entry in small_season().entries]
    documents[6]["kind"] = "car_painted"
    lines = "\n".join(json.dumps(document) for document in documents).encode()
    repack(archive, **{"journal.jsonl": lines})
    with pytest.raises(WrongData, match="line 7"):
        read_archive(archive)
    everything = read_archive(archive, leave_out=True)
    assert len(everything.entries) == len(documents) - 1
    assert [one.where for one in everything.unread] == ["journal.jsonl, line 7"]
    assert everything.lines[6] == 8


def test_work_that_only_a_newer_program_knows_is_shown_and_raises_nothing(tmp_path: Path) -> None:
    file = tmp_path / "w.sqlite"
    workshop = new_workshop(file)
    with workshop.store:
        take_in(workshop, with_line(number_of(WorkDone), fact_with(event="wheels balanced")))
    assert type_words(file, "treat").code == 0
    assert "wheels balanced" in type_words(file, "journal", "--last", "100").said


READING = (
    ("car", "list"),
    ("packs", "list"),
    ("packs", "today"),
    ("journal",),
    ("treat",),
    ("kit",),
    ("settings",),
    ("packs", "show", "Ember 1"),
    ("backup",),
    ("sheet", "Bramble"),
)
KEPT_BY_OTHERS: dict[str, tuple[str, int, object]] = {
    "minutes below zero": ("ran", 1, {"running_min": -5.0}),
    "minutes without end": ("ran", 1, {"running_min": 1e300}),
    "no capacity": ("pack_charged", 1, {"cells_V": [-3.0]}),
    "a kind of later days": ("car_painted", 1, {}),
    "a version of later days": ("ran", 99, {}),
    "a build with no keys": ("build_changed", 1, {"build": {"place": [{}, 3]}}),
}


@pytest.mark.parametrize("what", KEPT_BY_OTHERS)
def test_an_entry_that_no_longer_reads_takes_nothing_down(what: str, tmp_path: Path) -> None:
    """Kept by another program, or before the rules: every command runs, the journal shows it."""
    file = tmp_path / "w.sqlite"
    workshop = new_workshop(file)
    kind, version, changed = KEPT_BY_OTHERS[what]
    with workshop.store:
        take_in(workshop, small_season())
        like = kind if kind in KINDS else "work_done"
        one = next(e for e in small_season().entries if entry_to_document(e)["kind"] == like)
    payload = {**entry_to_document(one)["fact"], **changed} if isinstance(changed, dict) else changed
    raw = sqlite3.connect(file)
    with raw:
        raw.execute(
            "UPDATE entry SET kind = ?, version = ?, payload = ? WHERE id = ?",
            (kind, version, json.dumps(payload), one.id.hex),
        )
        raw.execute("DELETE FROM projection")
    raw.close()
    for words in READING:
        answer = type_words(file, *words)
        assert answer.is_clean and answer.code == 0, (words, answer.code, answer.said, answer.broke)
    workshop = Workshop(Store.open(file_url(file), clock=utc_now), load_facts(), utc_now, workshop.author)
    with workshop.store:
        (line,) = [line for line in journal_lines(workshop, limit=500) if "Unreadable" in line.text]
        assert ("Update Snugfast" in line.text) == (what.endswith("later days"))
        kept = next(entry for entry in hand_over(workshop).entries if entry.id == line.id)
        assert isinstance(kept.fact, Unreadable)
        assert entry_to_document(kept)["fact"] == payload
        withdraw(workshop, line.id)
        undo(workshop)


HOSTILE = """
import resource, sys
from pathlib import Path
from snugfast.core.errors import BadInput
from snugfast.exchange.archive import read_archive
before = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
try:
    read_archive(Path(sys.argv[1]))
except BadInput as refused:
    print(refused.sentence.splitlines()[0])
print((resource.getrusage(resource.RUSAGE_SELF).ru_maxrss - before) // 1024)
"""


@pytest.mark.parametrize("junk", ["lines", "one line", "people"])
def test_a_hostile_archive_is_refused_in_little_memory(junk: str, tmp_path: Path) -> None:
    """60 MB of junk, its fingerprints right: refused while the process grows by some megabytes."""
    refused_in_little_memory(junk, 60, tmp_path)


@pytest.mark.soak
@pytest.mark.parametrize("junk", ["lines", "one line", "people"])
def test_a_hostile_archive_of_300_megabytes_is_refused_in_little_memory(junk: str, tmp_path: Path) -> None:
    refused_in_little_memory(junk, 300, tmp_path)


def refused_in_little_memory(junk: str, size_MB: int, tmp_path: Path) -> None:
    archive = write_archive(small_season(), tmp_path / "all.zip").path
    stuff = (
        (b'{"a": 1}' + b" " * 1015 + b"\n") * (size_MB * 1000)
        if junk != "one line"
        else b"x" * size_MB * 1_000_000
    )
    member = "people.jsonl" if junk == "people" else "journal.jsonl"
    with zipfile.ZipFile(archive) as packed:
        files = {name: packed.read(name) for name in packed.namelist()} | {member: stuff}
    manifest = json.loads(files["manifest.json"])
    manifest["sha256"] = {n: sha256(c).hexdigest() for n, c in files.items() if n != "manifest.json"}
    files["manifest.json"] = json.dumps(manifest).encode()
    with zipfile.ZipFile(archive, "w", zipfile.ZIP_STORED) as packed:  # stored: no ratio gives it away
        for name, content in files.items():
            packed.writestr(name, content)
    done = subprocess.run(
        [sys.executable, "-c", HOSTILE, str(archive)], capture_output=True, text=True, check=True
    )
    said, grew_MiB = done.stdout.strip().splitlines()
    assert "cannot be taken in" in said or "far more than a journal" in said
    assert int(grew_MiB) < 40
