"""Every reader of what comes from outside, as a function of bytes: an answer, a refusal in words, or a fault.

Kept by themselves, so that a guided search (`tests/fuzz/guided.py`, `make fuzz`) and the replay of what it found
(`test_readers.py`) drive the same.
"""

from __future__ import annotations

import io
import json
import os
import tomllib
import zipfile
from collections.abc import Callable, Mapping
from dataclasses import replace
from datetime import UTC, datetime
from functools import cache, partial
from hashlib import sha256
from itertools import islice
from pathlib import Path
from shutil import rmtree
from tempfile import gettempdir, mkdtemp
from uuid import UUID

from PIL import Image

from snugfast.app.opening import open_workshop
from snugfast.core.errors import SnugfastError
from snugfast.core.findings import Finding
from snugfast.core.units import Kind, read_number, read_quantity
from snugfast.core.zones import is_zone
from snugfast.exchange.archive import MEMBERS, read_archive, write_archive
from snugfast.exchange.notes_files import notes_in
from snugfast.facts.aftercare_rows import read_treatment
from snugfast.facts.builds import parse_build_toml, read_build
from snugfast.facts.load import load_facts
from snugfast.facts.model import Build, Facts
from snugfast.facts.own_rows import read_minutes as read_own_minutes
from snugfast.facts.reading import Row
from snugfast.facts.tables import parse_table
from snugfast.facts.upkeep_rows import read_access, read_check, read_mode
from snugfast.facts.word_rows import read_also_called, read_source, read_trait
from snugfast.records.codec import entry_from_document, entry_to_document
from snugfast.records.entries import Done, Ground, Wet
from snugfast.records.moments import only_about, read_moment
from snugfast.usecases.bench.numbered_answers import _items, as_typed
from snugfast.usecases.chassis.lengths import read_degrees, read_drive
from snugfast.usecases.chassis.setup_items import read_change
from snugfast.usecases.chassis.steering_job import read_travel
from snugfast.usecases.chassis.suspension_sums import read_mix
from snugfast.usecases.field.hunts import HuntsHome
from snugfast.usecases.field.notes import _entries, _lines
from snugfast.usecases.leads.wire_words import area_in_words, read_connector, read_wire
from snugfast.usecases.mechanics.timed_words import read_time
from snugfast.usecases.packs.reading import read_ahead, read_chemistry
from snugfast.usecases.shared.remedies import split_remedy
from snugfast.usecases.shared.typed_words import (
    find_place,
    read_broke,
    read_choice,
    read_hits,
    read_minutes,
    read_reading,
    spot_at_the_end,
)
from snugfast.usecases.shared.workshop import Workshop
from snugfast.web.journal.kept import _document, _own_path
from tests.fuzz.season import small_season, story_file

NOW = datetime(2026, 11, 28, 15, 0, tzinfo=UTC)
ZONES = ("UTC", "Europe/Berlin", "Pacific/Apia", "America/St_Johns", "Asia/Kathmandu")
ROWS = (read_mode, read_check, read_access, read_treatment, read_trait, read_source, read_also_called)
PARTING = "\n=====\n"
NOWHERE = UUID(int=7)


@cache
def facts() -> Facts:
    return load_facts()


@cache
def truck() -> Build:
    return facts().starters["truck-1-10-4wd-3s"]


@cache
def _scratch() -> Path:
    memory = Path("/dev/shm")
    return (memory if memory.is_dir() else Path(gettempdir())) / f"snugfast-fuzz-{os.getpid()}.zip"


def _words(data: bytes) -> str:
    return data.decode("utf-8", "surrogateescape")


def _each(text: str, readers: tuple[Callable[[str], object], ...]) -> None:
    """Every reader gets the whole text, whatever another says of it."""
    for read in readers:
        try:
            read(text)
        except SnugfastError:
            continue


def archive(data: bytes) -> None:
    """Any file as a hand-over."""
    _scratch().write_bytes(data)
    read_archive(_scratch())


def journal(data: bytes) -> None:
    """A well-made hand-over whose journal holds these lines: whole, and with what does not read left out."""
    files = dict.fromkeys(MEMBERS, b"{}") | {"journal.jsonl": data, "people.jsonl": b""}
    manifest = {
        "format": "snugfast-hand-over",
        "version": 1,
        "workshop": str(NOWHERE),
        "made_at": NOW.isoformat(),
        "handed_over_at": NOW.isoformat(),
        "entries": data.count(b"\n"),
        "people": 0,
        "sha256": {n: sha256(c).hexdigest() for n, c in files.items() if n != "manifest.json"},
    }
    files["manifest.json"] = json.dumps(manifest).encode()
    with zipfile.ZipFile(_scratch(), "w", zipfile.ZIP_STORED) as packed:
        for name, content in files.items():
            packed.writestr(name, content)
    for entry in read_archive(_scratch(), leave_out=True).entries:
        assert entry_from_document(entry_to_document(entry)) == entry


def table(data: bytes) -> None:
    """A CSV and its TOML, parted by a line."""
    text, _, about = _words(data).partition(PARTING)
    parse_table(text, about, "t")


def build(data: bytes) -> None:
    """An owner's build."""
    read_build(parse_build_toml(_words(data), "mine.toml"), "mine.toml", facts())


def own_tables(data: bytes) -> None:
    """An owner's rows, as rows of each kind, and as minutes."""
    try:
        document = tomllib.loads(_words(data))
    except tomllib.TOMLDecodeError:
        return  # the loader tells it, with the file
    findings: list[Finding] = []
    for key, values in document.items():
        for read in ROWS:
            read(key, Row(values, f"mine.toml, {key}", findings))
    read_own_minutes(document, "minutes.toml", facts().checks, findings)
    assert all(isinstance(finding.sentence, str) for finding in findings)


def kept_form(data: bytes) -> None:
    """What a form carries back: the path it came from on a first line, then the entry."""
    path, _, entry = _words(data).partition("\n")
    way = _own_path(path)
    assert way.startswith("/") and not way.startswith(("//", "/\\")), way
    fact = entry_from_document(_document(entry))
    assert entry_from_document(entry_to_document(fact)) == fact


def moments(data: bytes) -> None:
    """Times and zones: the zone's number first, then the words."""
    text = _words(data[1:])
    zone = ZONES[data[0] % len(ZONES)] if data else "UTC"
    is_zone(text)
    only_about(text)
    _each(
        text,
        (
            lambda words: _not_later(read_moment(words, now=NOW, zone=zone).at),
            lambda words: read_ahead(words, now=NOW, zone=zone, where="until"),
            read_time,
        ),
    )


def _not_later(at: datetime) -> None:
    assert at.tzinfo is not None
    assert (at - NOW).total_seconds() <= 61.0


def amounts(data: bytes) -> None:
    """Numbers with and without units, hits, readings, answers by number, remedies, wires, connectors."""
    _each(
        _words(data),
        (
            _numbered,
            split_remedy,
            lambda words: read_hits(words, facts()),
            read_reading,
            read_minutes,
            read_number,
            read_chemistry,
            lambda words: read_travel("left", words),
            lambda words: read_travel("centre", words),
            lambda words: read_degrees({"travel": words}, "travel"),
            lambda words: read_drive({"travel": words, "longer": words}),
            read_mix,
            lambda words: read_wire(words, "wire"),
            read_connector,
            area_in_words,
            *(partial(read_quantity, kind=kind) for kind in Kind),
            *(partial(read_choice, choices=one, where="x") for one in (Ground, Wet, Done)),
        ),
    )


def answers(data: bytes) -> None:
    """What is found and what broke, in an owner's words: parts, places, spots, remedies."""
    _each(
        _words(data),
        (
            lambda words: as_typed(facts().checks["wheel_nuts"], words, truck()),
            lambda words: read_broke(words, facts(), truck()),
            lambda words: find_place(words, truck()),
            lambda words: read_change(words, truck()),
            lambda words: spot_at_the_end(words, truck()),
        ),
    )


def _numbered(text: str) -> None:
    for item in _items(text):
        assert len(item.numbers) < 100_000
        assert item.numbers or not any(letter.isdigit() for letter in item.typed[:1]), item


@cache
def _shed() -> Workshop:
    folder = Path(mkdtemp(dir=_scratch().parent))
    workshop = open_workshop(str(story_file(folder)))
    rmtree(folder)  # the open file is read on
    return workshop


def notes(data: bytes) -> None:
    """Notes of a field sheet, as text or as a photograph."""
    hunts = HuntsHome(_shed())
    for line in islice(_lines(notes_in(data)), 20):
        try:
            assert _entries(_shed(), line, hunts)
        except SnugfastError:
            continue


READERS: Mapping[str, Callable[[bytes], None]] = {
    "archive": archive,
    "journal": journal,
    "table": table,
    "build": build,
    "own_tables": own_tables,
    "kept_form": kept_form,
    "moments": moments,
    "amounts": amounts,
    "answers": answers,
    "notes": notes,
}


def read(name: str, data: bytes) -> None:
    """Let one reader read. A refusal in words is an answer; anything else comes through."""
    try:
        READERS[name](data)
    except SnugfastError as refused:
        assert refused.sentence.strip()


def seeds(name: str) -> list[bytes]:
    """Well-formed examples to begin from."""
    entries = [json.dumps(entry_to_document(one), ensure_ascii=False) for one in small_season().entries]
    ours = Path(str(load_facts.__globals__["_HERE"]))
    match name:
        case "archive":
            small = replace(small_season(), entries=small_season().entries[:3])
            _scratch().unlink(missing_ok=True)
            return [write_archive(small, _scratch()).path.read_bytes(), b"PK\x05\x06" + bytes(18)]
        case "journal":
            return [(line + "\n").encode() for line in entries[::6]]
        case "table":
            return [
                f"{file.read_text('utf-8')[:1500]}{PARTING}{file.with_suffix('.toml').read_text('utf-8')}".encode()
                for file in (ours / "roles.csv", ours / "standard_sizes.csv")
            ]
        case "build":
            return [
                b"key = 'x'\nname = 'X'\n[traits]\nfan = 'none'\n[[place]]\nkey = 'motor'\nrole = 'motor'\n"
            ]
        case "own_tables":
            return [
                b"[fan_loose]\nname = 'x'\nrole = 'fan'\ncovers = { a = 0.9 }\nraises = [{ event = 'x' }]\n"
            ]
        case "kept_form":
            return [f"/journal\n{line}".encode() for line in entries[::9]]
        case "moments":
            return [b"\x01" + words.encode() for words in WORDS_FOR_TIMES]
        case "notes":
            pictures = []
            for form in ("PNG", "JPEG", "WEBP"):
                picture = io.BytesIO()
                Image.new("L", (24, 24), 200).save(picture, form)
                pictures.append(picture.getvalue())
            return [*pictures, *(text.encode() for text in FIELD_NOTES)]
        case _:
            return [words.encode() for words in WORDS_FOR_ANSWERS]


SHEET = "sheet 019d359a-5500-7017-80e2-8aedca0d8e49 position 12"
FIELD_NOTES = (
    f"{SHEET}\n2026-11-27 15:00Z | check | Bramble | wheel_nuts | | loose @ front left | a note",
    f"{SHEET}\n2026-11-27 15:10Z | run | Bramble | Ember 1 | 12 | gravel | mud | few | hot; slow",
    f"{SHEET}\n2026-11-27 16:00Z | wet | Bramble | wash_mud",
    f"{SHEET}9999999999\n | |",
)
WORDS_FOR_TIMES = (
    "about May 2026", "2026-05-03 14:30+01:00", "yesterday", "tomorrow 09:00", "12 days", "4.5", "14:30z", "1:02.5",
    "Europe/Berlin",
)  # fmt: skip
WORDS_FOR_ANSWERS = (
    "18 loose front left, 23 cracked fixed, rest ok", "3-7 ok", "wheel nut @ front left: replaced", "2 hits",
    "motor can 68 °C 20 s", "about 12", "12.5 km/h", "module 0.8", "salt water", "not fixed yet", "1,5 Nm", "2 h 5 min",
)  # fmt: skip
