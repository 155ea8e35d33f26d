"""Whatever is typed ends in an answer or a refusal in words: no traceback, no fault of ours.

Authority: laws of this project. Lines are drawn from the printed seed.
"""

from __future__ import annotations

import os
import random
import shutil
from pathlib import Path

import pytest

from tests.fuzz.lines import a_line
from tests.fuzz.season import story_file
from tests.fuzz.seeds import seed_of
from tests.fuzz.typing import type_words

LINES_A_PLAY = 40
SOAK_LINES = 100_000
KEPT_FOR = 400  # lines, before the workshop is a fresh one again
SLOW_EVERY = 10  # of so many plays one has the commands that take seconds too


@pytest.fixture(scope="module")
def story(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return story_file(tmp_path_factory.mktemp("lines"))


def played(story: Path, folder: Path, seed: int, lines: int, *, slow: bool) -> None:
    rng = random.Random(seed)
    folder.mkdir(parents=True, exist_ok=True)
    os.chdir(folder)
    file = folder / "workshop.sqlite"
    shutil.copyfile(story, file)
    for number in range(lines):
        words = a_line(rng, slow=slow)
        answer = type_words(file, *words)
        assert answer.is_clean, (seed, number, answer)
        assert file.is_file(), (seed, number, words)


def test_lines_that_were_drawn(story: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path / "data"))
    played(story, tmp_path / "play", seed_of("lines", 0), LINES_A_PLAY, slow=False)


@pytest.mark.soak
def test_many_lines(story: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path / "data"))
    for number in range(SOAK_LINES // KEPT_FOR):
        seed = seed_of("lines", number, fresh=True)
        play = tmp_path / str(number)
        played(story, play, seed, KEPT_FOR, slow=number % SLOW_EVERY == 0)
        monkeypatch.chdir(tmp_path)
        shutil.rmtree(play)
