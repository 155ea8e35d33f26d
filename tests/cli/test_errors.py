"""Whatever goes wrong is a sentence and an exit code; no file is lost on the way and no traceback shown.

Authority: laws of this project. The paths and numbers are those that once brought a traceback.
"""

from __future__ import annotations

import json
import os
import socket
import subprocess
import sys
from pathlib import Path

import pytest

from snugfast.app.unforeseen import log_file
from snugfast.cli.terminal import plain, seen
from snugfast.usecases.packs.shelf import Sign
from tests.cli.typed import Said, Typed

BIDI = "\u202e"


def refused(said: Said) -> bool:
    """One clear refusal: exit code 2, something said, nothing of the inside shown."""
    return said.code == 2 and bool(said.err.strip()) and "Traceback" not in said.err + said.out


def test_a_run_of_no_car_keeps_nothing_and_says_so(thread: Typed) -> None:
    before = thread("journal", "--json").out
    said = thread("ran", "12", "gravel", "--yes")
    assert refused(said)
    assert "Saved" not in said.out
    assert thread("journal", "--json").out == before


@pytest.mark.parametrize(
    "words",
    [
        ("hand-over", "{file}/x.zip"),
        ("hand-over", "{folder}"),
        ("hand-over", "x" * 300),
        ("hand-over", "all.zip", "--lists", "{file}/lists"),
        ("backup", "--to", "{file}"),
        ("backup", "--to", "x" * 300),
        ("restore", "{folder}", "--yes"),
        ("restore", "{text}", "--yes"),
        ("take-in", "{folder}"),
        ("take-in", "{text}"),
        ("take-in", "x" * 5000),
        ("car", "build", "Bramble", "--out", "{folder}"),
        ("car", "build", "Bramble", "--out", "{file}/a.toml"),
        ("car", "rebuild", "Bramble", "{folder}"),
        ("mesh", "Bramble", "--svg", "{folder}"),
        ("serve", "--port", "70000"),
        ("serve", "--port", "0"),
        ("ran", "Bramble", "1e400", "--yes"),
        ("ran", "Bramble", "12", "--when", "9999-12-31 23:59+14:00", "--yes"),
        ("ran", "Bramble", "12", "--when", "0001-01-01", "--yes"),
        ("journal", "--last", "-5"),
        ("journal", "--last", "99999999999999999999"),
        ("settings", "--zone", "../../etc/passwd"),
        ("packs", "add", "E\x1b[2J", "--cells", "3", "--capacity", "5000mAh", "--yes"),
        ("car", "add", "B" * 200, "--from", "truck-1-10-4wd-3s", "--yes"),
    ],
)
def test_odd_paths_and_numbers_are_refused_in_words(
    thread: Typed, tmp_path: Path, words: tuple[str, ...]
) -> None:
    file, folder, text = tmp_path / "a file", tmp_path / "a folder", tmp_path / "text.txt"
    file.write_text("here")
    text.write_text("no store")
    folder.mkdir()
    said = thread(*(word.format(file=file, folder=folder, text=text) for word in words))
    assert refused(said), said
    assert file.read_text() == "here"


def test_a_port_that_is_taken_is_said(thread: Typed) -> None:
    with socket.socket() as other:
        other.bind(("127.0.0.1", 0))
        other.listen()
        said = thread("serve", "--port", str(other.getsockname()[1]))
    assert refused(said)
    assert "in use" in said.err


@pytest.mark.parametrize(
    ("command", "option"), [(("car", "build", "Bramble"), "--out"), (("mesh", "Bramble"), "--svg")]
)
def test_a_file_that_is_there_is_written_over_only_when_asked(
    thread: Typed, tmp_path: Path, command: tuple[str, ...], option: str
) -> None:
    mine = tmp_path / "mine.txt"
    mine.write_text("mine")
    assert refused(thread(*command, option, str(mine)))
    assert mine.read_text() == "mine"
    assert thread(*command, option, str(mine), "--force").code == 0
    assert mine.read_text() != "mine"
    store = tmp_path / "workshop.sqlite"
    before = store.read_bytes()
    assert refused(thread(*command, option, str(store), "--force"))
    assert store.read_bytes() == before


def test_what_holds_records_is_its_owners_alone(thread: Typed, tmp_path: Path) -> None:
    assert thread("backup", "--to", str(tmp_path / "safe")).code == 0
    assert thread("hand-over", str(tmp_path / "all.zip")).code == 0
    (backup,) = (tmp_path / "safe").iterdir()
    for file in (tmp_path / "workshop.sqlite", backup, tmp_path / "all.zip"):
        assert file.stat().st_mode & 0o077 == 0, file


def test_an_error_of_a_command_with_json_is_json(thread: Typed) -> None:
    for words in (("ran", "Nobody", "12"), ("journal", "--nonsense"), ("ran", "Bramble", "x", "--min", "y")):
        said = thread(*words, "--json")
        told = json.loads(said.err)
        assert told["exit_code"] == said.code == 2
        assert told["error"]["sentence"]


def test_the_unforeseen_has_a_number_and_is_written_down(
    thread: Typed, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path / "data"))

    def broken(*_: object, **__: object) -> None:
        raise ZeroDivisionError("nobody saw this coming")

    monkeypatch.setattr("snugfast.usecases.journal.marks.journal_lines", broken)
    said = thread("journal")
    assert said.code == 3
    number = said.err.split("fault ")[1][:8]
    assert "Traceback" not in said.err and len(said.err.splitlines()) == 2
    assert str(log_file()) in said.err
    written = log_file().read_text()
    assert number in written and "nobody saw this coming" in written
    assert log_file().stat().st_mode & 0o077 == 0
    as_data = json.loads(thread("journal", "--json").err)
    assert len(as_data["error"]["number"]) == 8


def run(*words: str, folder: Path, **environment: str) -> subprocess.CompletedProcess[bytes]:
    """The programme in a process of its own."""
    return subprocess.run(
        [sys.executable, "-m", "snugfast.cli.main", *words],
        env={**os.environ, "SNUGFAST_WORKSHOP": str(folder / "workshop.sqlite"), **environment},
        capture_output=True,
        stdin=subprocess.DEVNULL,
    )


def test_output_that_is_not_utf_8_shows_near_letters(thread: Typed, tmp_path: Path) -> None:
    """Simulated: a Windows console of western Europe, by the encoding of the output."""
    for encoding in ("cp1252", "ascii"):
        done = run("sheet", "Bramble", folder=tmp_path, PYTHONIOENCODING=encoding)
        assert done.returncode == 0, done.stderr
        assert b"Bramble, 20 minutes" in done.stdout
        done.stdout.decode(encoding)


def test_output_into_a_full_disk_is_said(thread: Typed, tmp_path: Path) -> None:
    with Path("/dev/full").open("wb") as full:
        done = subprocess.run(
            [sys.executable, "-m", "snugfast.cli.main", "car", "list"],
            env={**os.environ, "SNUGFAST_WORKSHOP": str(tmp_path / "workshop.sqlite")},
            stdout=full,
            stderr=subprocess.PIPE,
        )
    assert done.returncode == 2
    assert b"disk is full" in done.stderr and b"Traceback" not in done.stderr


def test_what_was_kept_before_the_output_was_full_is_said_to_be_kept(thread: Typed, tmp_path: Path) -> None:
    """A script that is told “refused” would send it again and keep it twice."""
    before = thread("journal").out.count("ran 7 min")
    with Path("/dev/full").open("wb") as full:
        done = subprocess.run(
            [sys.executable, "-m", "snugfast.cli.main", "ran", "Bramble", "7", "--yes", "--json"],
            env={**os.environ, "SNUGFAST_WORKSHOP": str(tmp_path / "workshop.sqlite")},
            stdout=full,
            stderr=subprocess.PIPE,
            stdin=subprocess.DEVNULL,
        )
    assert done.returncode == 0, done.stderr
    assert b"It was saved" in done.stderr and b"Traceback" not in done.stderr
    assert thread("journal").out.count("ran 7 min") == before + 1


def test_each_sign_of_a_pack_has_a_letter_of_its_own_where_there_are_only_letters() -> None:
    letters = [plain(sign.value[0], "ascii") for sign in Sign]
    assert len(set(letters)) == len(letters)
    assert "?" not in letters


def test_nothing_that_steers_a_terminal_reaches_it() -> None:
    assert seen(f"a\x1b[2Jb{BIDI}c\x9bd\n") == "a\\u001b[2Jb\\u202ec\\u009bd\n"
    assert seen("“Größe” 12 °C ═ ⚠") == "“Größe” 12 °C ═ ⚠"
    assert plain("“12 °C” ═ Ω", "cp1252") == "“12 °C” = Ohm"


def test_a_note_with_control_characters_is_shown_harmless(thread: Typed) -> None:
    assert thread("ran", "Bramble:Ember 1", "12", "--noticed", f"x\x1b]0;evil\x07{BIDI}y", "--yes").code == 0
    said = thread("journal")
    assert "\x1b" not in said.out and BIDI not in said.out
    assert "evil" in said.out
    assert json.loads(thread("journal", "--json").out)


def test_the_correction_of_a_run_whose_car_was_taken_back_is_refused(thread: Typed) -> None:
    assert thread("ran", "Bramble:Ember 1", "12", "--yes").code == 0
    lines = json.loads(thread("journal", "--json").out)
    run_mark = lines[0]["mark"]
    car_mark = next(line["mark"] for line in lines if "Bramble joined" in line["text"])
    assert thread("withdraw", car_mark, "--yes").code == 0
    assert refused(thread("correct", run_mark, "--min", "14", "--yes"))


def test_a_device_or_a_pipe_is_never_written_over(thread: Typed, tmp_path: Path) -> None:
    """What is renamed onto it takes its place: the soak of lines left a file where /dev/full had been."""
    pipe = tmp_path / "pipe"
    os.mkfifo(pipe)
    for words in (("box", "list", "--csv"), ("car", "build", "Bramble", "--out"), ("field-sheet",)):
        said = thread(*words, str(pipe), "--force")
        assert said.code == 2 and "no file" in said.err, words
    assert pipe.is_fifo()
