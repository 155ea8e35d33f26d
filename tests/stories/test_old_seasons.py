"""Seasons that older programs wrote still open, every line of their journals can be told, and every command
and page runs on them.

Authority: the files in `tests/old_stores/seasons`, each written by the program of its time.
"""

from __future__ import annotations

import json
import lzma
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import pytest
from starlette.testclient import TestClient

from snugfast.app.opening import open_workshop
from snugfast.exchange.archive import read_archive
from snugfast.facts.load import load_facts
from snugfast.records.entries import Ran
from snugfast.usecases.journal.marks import journal_lines
from snugfast.usecases.safekeeping.hand_over import hand_over
from snugfast.usecases.shared.ledger import ledger_now
from snugfast.web.app import create_for
from tests.fuzz.lines import commands
from tests.fuzz.typing import type_words
from tests.old_stores.lines import ASKS_BACK, LINES, MAKES_ITS_OWN, NEVER_ENDS, SLOW_LINES
from tests.web.test_every_page import PATHS

SEASONS = Path(__file__).resolve().parent.parent / "old_stores" / "seasons"
ARCHIVES = sorted(path.name for path in SEASONS.glob("*.zip"))
SLOW_PAGES = ("gearing", "sheet", "arrive", "outing", "/cars/{car}/mesh", "/cars/{car}")


@dataclass(frozen=True)
class Season:
    """What is known of an old store."""

    entries: int
    cars: int
    car: str
    pack: str
    volts: str = "3.84 3.85 3.84"


KNOWN = {
    "2026-11-25.first-demo-day.db.xz": Season(28, 2, "Heron", "Coal 1"),
    "2026-11-25.before-the-first-version.db.xz": Season(51, 4, "Heron", "Coal 1"),
    "2026-11-28.one-season.db.xz": Season(979, 4, "Bramble", "Ember 2"),
    "2026-11-28.five-cars.db.xz": Season(17, 5, "Car 2", "Green 1", "3.84 3.85"),
    "2026-11-29.numbered-sheets.db.xz": Season(51, 4, "Heron", "Coal 1"),
}
SMALLEST = "2026-11-25.first-demo-day.db.xz"


def unpacked(name: str, folder: Path) -> Path:
    """A copy of a season, ready to be opened."""
    file = folder / "season.sqlite"
    file.write_bytes(lzma.decompress((SEASONS / name).read_bytes()))
    return file


def test_every_season_that_is_kept_is_known() -> None:
    assert {path.name for path in SEASONS.glob("*.db.xz")} == set(KNOWN)


@pytest.mark.parametrize("name", KNOWN)
def test_an_old_season_opens_with_every_entry_and_tells_each(name: str, tmp_path: Path) -> None:
    workshop = open_workshop(str(unpacked(name, tmp_path)))
    with workshop.store:
        lines = journal_lines(workshop, limit=5000)
        with workshop.store.reading() as reads:
            ledger = ledger_now(reads)
        assert len(lines) == KNOWN[name].entries
        assert not [line.text for line in lines if "Unreadable" in line.text]
        assert len([car for car in ledger.cars.values() if car.left_at is None]) == KNOWN[name].cars
        for car in ledger.cars.values():
            assert workshop.build(car.build).places


@pytest.mark.parametrize("name", KNOWN)
def test_what_a_build_could_not_say_yet_it_says_as_its_starter(name: str, tmp_path: Path) -> None:
    """Otherwise checks that ask for it, wheel nuts among them, would leave the sheets of old cars unsaid."""
    workshop = open_workshop(str(unpacked(name, tmp_path)))
    with workshop.store, workshop.store.reading() as reads:
        for car in ledger_now(reads).cars.values():
            build = workshop.build(car.build)
            starter = load_facts().starters[build.key]
            assert build.traits.keys() >= starter.traits.keys()
            assert build.traits.items() >= dict(car.build["traits"]).items(), "what it says stands"


@pytest.mark.parametrize("name", ARCHIVES)
def test_an_old_archive_reads_as_the_store_it_came_from(name: str, tmp_path: Path) -> None:
    archive = read_archive(SEASONS / name)
    workshop = open_workshop(str(unpacked(name.replace(".zip", ".db.xz"), tmp_path)))
    with workshop.store:
        there = hand_over(workshop).entries
    assert archive.entries == there[: len(archive.entries)]


def words_of(line: tuple[str, ...]) -> str:
    """The command a line calls: as many of its first words as name one."""
    names = {" ".join(words) for words, _ in commands()}
    return next(name for name in (" ".join(line[:n]) for n in (3, 2, 1)) if name in names)


def test_there_is_a_line_for_every_command() -> None:
    called = {words_of(line) for line in (*LINES, *SLOW_LINES)}
    groups = {" ".join(words) for words, command in commands() if hasattr(command, "commands")}
    there = {" ".join(words) for words, _ in commands()}
    assert there - groups - MAKES_ITS_OWN - NEVER_ENDS <= called, "add a line to tests/old_stores/lines.py"


def play(lines: tuple[tuple[str, ...], ...], name: str, folder: Path) -> None:
    """Type line after line at a copy; each ends as a command that did what it was asked."""
    file, season = unpacked(name, folder), KNOWN[name]
    place = folder / "beside"
    place.mkdir()
    edited = place / "edited.toml"
    wrong = []
    for line in lines:
        run = check = backup = ""
        if "{run}" in line:
            run = json.loads(type_words(file, "journal", "--kind", "runs", "--json").said)[0]["mark"]
        if "{check}" in line:
            check = "wheel_nuts"
        if "{backup}" in line:
            backup = str(next(place.glob("*.sqlite")))
        if "{folder}/edited.toml" in line:
            text = (place / "build.toml").read_text("utf-8")
            edited.write_text(text.replace('part = "', 'part = "our ', 1), "utf-8")
        typed = [
            word.format(
                car=season.car, pack=season.pack, volts=season.volts,
                folder=place, run=run, check=check, backup=backup,
            )
            for word in line
        ]  # fmt: skip
        answer = type_words(file, *typed)
        if not answer.is_clean or (answer.code and words_of(line) not in ASKS_BACK):
            wrong.append((typed, answer.code, answer.said, answer.broke))
    assert not wrong


def test_the_commands_run_on_the_oldest_season(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    play(LINES, SMALLEST, tmp_path)


@pytest.mark.soak
@pytest.mark.parametrize("name", KNOWN)
def test_every_command_runs_on_an_old_season(
    name: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    play(SLOW_LINES + LINES, name, tmp_path)


def pages_answer(file: Path, paths: Iterator[str]) -> None:
    workshop = open_workshop(str(file))
    with workshop.store:
        with workshop.store.reading() as reads:
            car = next(iter(ledger_now(reads).cars.values()))
            run = next(row.entry for row in reads.entries_after(0) if isinstance(row.entry.fact, Ran))
        client = TestClient(create_for(workshop), base_url="http://127.0.0.1:8765")
        for path in paths:
            answer = client.get(path.format(car=car.id, run=run.id).replace("Bramble", car.name))
            assert answer.status_code in (200, 404 if "no" in path else 200), (path, answer.status_code)


def test_the_pages_open_on_the_oldest_season(tmp_path: Path) -> None:
    quick = (path for path in PATHS if not any(path.endswith(word) or word in path for word in SLOW_PAGES))
    pages_answer(unpacked(SMALLEST, tmp_path), quick)


@pytest.mark.soak
@pytest.mark.parametrize("name", KNOWN)
def test_every_page_opens_on_an_old_season(name: str, tmp_path: Path) -> None:
    pages_answer(unpacked(name, tmp_path), iter(PATHS))


def test_a_season_is_written_by_the_oldest_program_and_never_made_again() -> None:
    """Guards against a file that is put in another's place: their fingerprints stand in the README."""
    from hashlib import sha256

    told = (SEASONS / "README.md").read_text("utf-8")
    for file in (*SEASONS.glob("*.xz"), *SEASONS.glob("*.zip")):
        assert sha256(file.read_bytes()).hexdigest()[:16] in told, file.name
