"""Nothing is kept that nobody agreed to, by one rule for every command that asks.

Authority: the rule as `snugfast --help` tells it.
"""

from __future__ import annotations

import json
from collections.abc import Iterator
from pathlib import Path

import click
import pytest

from snugfast.cli.main import snugfast
from tests.cli.test_thread import marks
from tests.cli.typed import Said, Typed

JOINED = "{joined}"  # the mark of the entry that everything rests on
ASKS: dict[str, tuple[str, ...]] = {
    "car add": ("Nettle", "--from", "truck-1-10-4wd-3s"),
    "car arrive": ("Bramble", "--done"),
    "car rebuild": ("Bramble", "edited.toml"),
    "car back": ("Bramble", "2", "4"),
    "packs add": ("Ember 2", "--cells", "3", "--capacity", "5 Ah"),
    "packs change": ("Ember 1", "--name", "Ember one"),
    "packs gone": ("Ember 1",),
    "packs charger": ("Twin", "--amps", "10", "--watts", "200"),
    "packs charger-gone": ("Lamp",),
    "packs looked": ("Ember 1", "nothing"),
    "packs hurt": ("Ember 1", "thrown out of the car"),
    "packs cleared": ("Ash", "--by", "the maker's instructions", "thrown out of the car"),
    "packs measured": ("Ember 1", "--volts", "3.80 3.81 3.79"),
    "packs charged": ("Ember 1", "--put-in", "4200mAh"),
    "packs away": ("Ember 1", "unplugged"),
    "packs drain": ("Bramble", "5 mA"),
    "packs charge": ("Ember 1", "Lamp", "--found", "nothing"),
    "ran": ("Bramble", "12"),
    "caught-up": ("Bramble", "two", "--since", "yesterday"),
    "broke": ("Bramble", "unknown"),
    "found": ("Bramble", "wheel_nuts", "sound"),
    "treat": ("Bramble", "open_electrics"),
    "lay-up": ("Bramble",),
    "wake-up": ("Thistle",),
    "fitted": ("Bramble", "outer wheel bearings"),
    "moved": ("pinion", "Bramble", "Burdock"),
    "work": ("Bramble", "radio work"),
    "correct": ("{ran}", "--min", "14"),
    "withdraw": (JOINED,),
    "undo": (),
    "settings": ("--currency", "EUR"),
    "drag": ("Bramble", "--corner", "fl", "--runs-free", "--times", "8.1,8.2,8.0"),
    "steering": ("Bramble", "--radio", "pistol", "--left", "92%", "--right", "88%", "--servo", "quiet"),
    "setup": ("Bramble", "camber front -2"),
    "radio": ("Bramble", "--radio", "pistol", "--off", "stopped"),
    "motor": ("Bramble", "--volts", "7.4V", "--rpm", "19500", "--no-load", "3.2A"),
    "box add": ("Bramble", "outer wheel bearings"),
    "box change": ("1", "--minimum", "2"),
    "box count": ("1", "2"),
    "box take": ("1", "1"),
    "box ordered": ("1", "1"),
    "box arrived": ("1",),
    "box gone": ("1",),
    "restore": ("backups/one.sqlite",),
}


def commands(group: click.Group, before: str = "") -> Iterator[tuple[str, click.Command]]:
    """Every command with all the words it is called by."""
    context = click.Context(group)
    for name in group.list_commands(context):
        command = group.get_command(context, name)
        assert command is not None
        if isinstance(command, click.Group):
            yield from commands(command, f"{name} ")
        yield f"{before}{name}", command


def options_of(command: click.Command) -> set[str]:
    return {name for one in command.params for name in one.opts}


@pytest.fixture
def shed(thread: Typed, tmp_path: Path) -> Typed:
    """A workshop in which each of the commands has something to do."""
    long_ago = ("--when", "2026-05-01", "--yes")
    for name in ("Thistle", "Burdock"):
        assert thread("car", "add", name, "--from", "truck-1-10-4wd-3s", *long_ago).code == 0
    assert thread("packs", "add", "Ash", "--cells", "3", "--capacity", "5 Ah", *long_ago).code == 0
    assert thread("packs", "charger", "Lamp", "--amps", "10", "--watts", "200", "--yes").code == 0
    assert thread("packs", "hurt", "Ash", "thrown out of the car", "--when", "2026-05-02", "--yes").code == 0
    assert thread("lay-up", "Thistle", "--yes").code == 0
    assert thread("ran", "Bramble", "12", "mud", "--yes").code == 0
    assert thread("box", "add", "Bramble", "pinion", "--count", "3", "--yes").code == 0
    assert thread("box", "ordered", "1", "2", "--yes").code == 0
    assert thread("car", "build", "Bramble", "--out", "edited.toml").code == 0
    edited = Path("edited.toml").read_text("utf-8").replace("Wheel nuts", "Wheel nuts, new kind", 1)
    Path("edited.toml").write_text(edited, "utf-8")
    assert thread("backup", "--to", "backups").code == 0
    next(Path("backups").iterdir()).rename("backups/one.sqlite")
    return thread


def test_every_command_that_can_be_agreed_to_is_tried_here() -> None:
    """All but `begin`, which asks for answers, not for a yes (tests/cli/test_begin.py)."""
    asking = {name for name, command in commands(snugfast) if "--yes" in options_of(command)}
    assert asking == {*ASKS, "begin"}


def test_where_nobody_can_be_asked_nothing_is_done_and_the_exit_code_is_one(shed: Typed) -> None:
    """Undo is left out: nothing rests on the last entry, so it does not ask."""
    lines = json.loads(shed("journal", "--json").out)
    named = {
        JOINED: next(one["mark"] for one in lines if "Bramble joined" in one["text"]),
        "{ran}": next(one["mark"] for one in lines if "Bramble ran" in one["text"]),
    }
    before = marks(shed)
    takes_json = {name for name, command in commands(snugfast) if "--json" in options_of(command)}
    for name, words in ASKS.items():
        if name == "undo":
            continue
        typed = (*name.split(), *(named.get(word, word) for word in words))
        _is_not_done(name, shed(*typed))
        if name in takes_json:
            said = shed(*typed, "--json")
            _is_not_done(f"{name} --json", said)
            assert name == "withdraw" or json.loads(said.out), name
        assert marks(shed) == before, name


def _is_not_done(name: str, said: Said) -> None:
    assert said.code == 1, (name, said.err)
    assert "Nothing was saved or changed" in said.err, name
    assert "type the same with --yes" in said.err, name
    assert "Nothing was saved" not in said.out, name


def test_the_rule_stands_in_the_help(type_: Typed) -> None:
    said = " ".join(type_("--help").out.split())
    assert "saves nothing without --yes" in said
    assert "1 nothing saved, since nobody agreed" in said


def test_taking_back_and_bringing_back_answer_in_plain_data(thread: Typed) -> None:
    """The form that `ran --json` and the others answer in, and how many entries rest on it."""
    thread("ran", "Bramble", "12", "--yes")
    mark = marks(thread)[0]
    back = json.loads(thread("withdraw", mark, "--json").out)
    assert back["kept"] == 1
    assert "Bramble ran 12 min" in back["told"][0]
    assert back["marks"] == [marks(thread)[0]]
    assert back["resting"] == 0
    assert "Bramble ran 12 min" in json.loads(thread("redo", "--json").out)["told"][0]
    assert json.loads(thread("undo", "--json").out)["marks"] == [marks(thread)[0]]


def test_plain_data_alone_is_no_consent(thread: Typed) -> None:
    before = marks(thread)
    said = thread("ran", "Bramble", "12", "--json")
    assert said.code == 1
    told = json.loads(said.out)
    assert (told["kept"], told["marks"]) == (0, [])
    assert "Bramble ran 12 min" in told["told"][0]
    assert marks(thread) == before
    assert json.loads(thread("ran", "Bramble", "12", "--json", "--yes").out)["kept"] == 1
