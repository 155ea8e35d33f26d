"""What is kept of what was worked out is expendable: one changed bit anywhere, and it is worked out anew.

Authority: law, a dropped projection comes out equal. Flips are drawn from the printed seed.
"""

from __future__ import annotations

import random
import shutil
import sqlite3
from contextlib import closing
from pathlib import Path

import pytest

from tests.fuzz.season import story_file
from tests.fuzz.seeds import FEW, seed_of
from tests.fuzz.typing import type_words

COMMANDS = (("car", "list"), ("packs", "list"), ("treat",), ("undo", "--yes"), ("self-check", "--rebuild"))


@pytest.fixture(scope="module")
def story(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A workshop that has worked everything out and kept it."""
    file = story_file(tmp_path_factory.mktemp("bits"))
    for words in (("sheet",), ("car", "list")):
        assert type_words(file, *words).code == 0
    return file


def flipped(file: Path, rng: random.Random) -> str:
    """Flip one bit in one kept row, whatever column it falls into; says which."""
    with closing(sqlite3.connect(file)) as raw, raw:
        rows = raw.execute("SELECT rowid, position, fingerprint, payload FROM projection").fetchall()
        assert rows
        rowid, position, fingerprint, payload = rng.choice(rows)
        column = rng.choice(("payload", "payload", "payload", "fingerprint", "position"))
        if column == "position":
            raw.execute(
                "UPDATE projection SET position = ? WHERE rowid = ?",
                (position ^ 1 << rng.randrange(8), rowid),
            )
            return f"{column} of row {rowid}"
        data = bytearray(payload if column == "payload" else fingerprint.encode())
        at, bit = rng.randrange(len(data)), rng.randrange(8)
        data[at] ^= 1 << bit
        cast = "CAST(? AS TEXT)" if column == "fingerprint" else "?"
        raw.execute(f"UPDATE projection SET {column} = {cast} WHERE rowid = ?", (bytes(data), rowid))
        return f"bit {bit} of byte {at} in {column} of row {rowid}"


def played(story: Path, folder: Path, seed: int) -> None:
    rng = random.Random(seed)
    file = folder / "bits.sqlite"
    shutil.copyfile(story, file)
    what = flipped(file, rng)
    for words in COMMANDS:
        answer = type_words(file, *words)
        assert answer.is_clean and answer.code == 0, (seed, what, words, answer)
    answer = type_words(file, "self-check")
    assert answer.is_clean, (seed, what, answer)
    assert "differs from what the journal says" not in answer.said, (seed, what)


@pytest.mark.parametrize("number", range(FEW))
def test_a_flipped_bit_is_worked_out_anew(story: Path, tmp_path: Path, number: int) -> None:
    played(story, tmp_path, seed_of("bits", number))


def test_a_flipped_bit_changes_no_answer(story: Path, tmp_path: Path) -> None:
    clean = type_words(story, "car", "list").said
    for number in range(8):
        file = tmp_path / f"{number}.sqlite"
        shutil.copyfile(story, file)
        flipped(file, random.Random(number))
        assert type_words(file, "car", "list").said == clean


@pytest.mark.soak
def test_many_flipped_bits_are_worked_out_anew(story: Path, tmp_path: Path) -> None:
    for number in range(500):
        played(story, tmp_path, seed_of("bits", number, fresh=True))
