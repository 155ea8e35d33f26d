"""Every reader of what comes from outside answers, or refuses in words, whatever it is given.

Authority: laws of this project. Files in `corpus` were found by a search guided by coverage (`make fuzz`):
each goes a way that none before it went. A file in `found` once brought a fault.
"""

from __future__ import annotations

import random
from pathlib import Path

import pytest

from tests.fuzz.readers import READERS, read, seeds
from tests.fuzz.seeds import seed_of

HERE = Path(__file__).parent
CORPUS, FOUND = HERE / "corpus", HERE / "found"
CHANGES = {"answers": 1, "archive": 20, "journal": 8, "notes": 12}
USUAL_CHANGES = 40
SOAK_CHANGES = 5000


def files_of(name: str) -> list[Path]:
    return sorted((CORPUS / name).glob("*"))


def changed(data: bytes, rng: random.Random) -> bytes:
    """The same with a few bytes changed, taken out, doubled or put in from elsewhere."""
    text = bytearray(data)
    for _ in range(rng.randint(1, 4)):
        at = rng.randrange(len(text) + 1)
        match rng.randrange(4):
            case 0:
                text[at : at + 1] = bytes([rng.choice((0, 10, 34, 39, 45, 48, 57, 64, 91, 125, 128, 255))])
            case 1:
                del text[at : at + rng.randint(1, 8)]
            case 2:
                text[at:at] = text[at : at + rng.randint(1, 30)]
            case _:
                text[at:at] = rng.choice((b"99999999999", b"1e400", b"\xe2\x80\xae", b"@", b'"', b"\n", b"-"))
    return bytes(text)


def test_each_reader_has_a_corpus() -> None:
    assert {folder.name for folder in CORPUS.iterdir()} == set(READERS)
    kept = [file for folder in CORPUS.iterdir() for file in folder.iterdir()]
    assert sum(file.stat().st_size for file in kept) < 300_000


@pytest.mark.parametrize("name", READERS)
def test_what_the_search_found_is_read(name: str) -> None:
    for file in files_of(name):
        read(name, file.read_bytes())


def test_what_once_brought_a_fault_is_read() -> None:
    for file in FOUND.iterdir():
        read(file.name.partition("-")[0], file.read_bytes())


@pytest.mark.parametrize("name", READERS)
def test_changed_texts_are_read(name: str) -> None:
    rng = random.Random(seed_of(f"reader {name}", 0))
    examples = seeds(name)
    for _ in range(CHANGES.get(name, USUAL_CHANGES)):
        read(name, changed(rng.choice(examples), rng))


@pytest.mark.soak
@pytest.mark.parametrize("name", READERS)
def test_many_changed_texts_are_read(name: str) -> None:
    seed = seed_of(f"reader {name}", 1, fresh=True)
    rng = random.Random(seed)
    examples = [*seeds(name), *(file.read_bytes() for file in files_of(name))]
    for _ in range(SOAK_CHANGES):
        data = changed(rng.choice(examples), rng)
        try:
            read(name, data)
        except BaseException as fault:
            raise AssertionError((seed, data)) from fault
