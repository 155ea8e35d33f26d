"""Random command lines: the words of the program, names that are there, and what nobody should type."""

from __future__ import annotations

import random
from functools import cache

import click

from snugfast.cli.main import snugfast
from tests.old_stores.lines import LINES

FILLED = {
    "car": "Bramble", "other": "Sorrel", "pack": "Ember 1", "volts": "3.84 3.85 3.84", "folder": ".",
    "run": "0000", "check": "wheel_nuts", "backup": "none.sqlite",
}  # fmt: skip
NOT_PLAYED = {"serve", "demo"}  # one never ends, the other makes its own workshop
SLOW = {"gearing", "sheet", "self-check", "packs together", "lay-up", "car arrive"}
GOOD = (
    "Bramble", "Sorrel", "Thistle", "Nettle", "Bramble:Ember 1", "Thistle:Cinder 1", "Ember 1", "Ember 2", "Ash 1",
    "12", "about 12", "5000mAh", "4200 mAh", "3", "gravel", "mud", "few", "none", "wheel_nuts", "motor", "yesterday",
    "today", "2026-11-27", "2026-11-27 15:00", "about May", "front left", "loose @ front left", "wheel nut @ front left",
    "3.80 3.81 3.80", "0.2mm", "3m", "2.1,2.2,2.0", "20000rpm", "13", "54", "module 0.8", "12.50", "EUR", "UTC",
    "motor can 68 °C 20 s", "50C", "2C", "new", "truck-1-10-4wd-3s", "radio work", "dry", "45C", "unplugged", "runs",
)  # fmt: skip
NASTY = (
    "", " ", "-", "--", "-1", "0", "1e400", "-1e400", "nan", "inf", "1e-400", "99999999999999999999999", "０１２", "½",
    "9999-12-31", "0001-01-01", "9999-12-31 23:59+14:00", "0000-00-00", "25:61", "24:00", "2026-02-30", "about ",
    "Feb 9999", "may 0000", "12:00-14:00", "\x00", "\x1b[2J", "\u202e", "\udcff", "a" * 3000, "“", "@", "@ @", ":", "+",
    "::", "x:y:z", "loose @", "@ front left", "..", "/", "/dev/null", "/dev/full", "/proc/self/mem", "{}", "[", "%s",
    "{name}", "%(x)s", "' OR 1=1", "_", "%", "*", "Ember", "1/0", "1 °C °C", "3V", "-40000 °C", "1e9 min", "٣", "²",
)  # fmt: skip


@cache
def commands() -> tuple[tuple[tuple[str, ...], click.Command], ...]:
    """Every command that ends, by its words."""
    found: list[tuple[tuple[str, ...], click.Command]] = []

    def gather(group: click.Group, words: tuple[str, ...]) -> None:
        with click.Context(group) as context:
            for name in group.list_commands(context):
                command = group.get_command(context, name)
                if command is None or name in NOT_PLAYED:
                    continue
                if isinstance(command, click.Group):
                    gather(command, (*words, name))
                found.append(((*words, name), command))

    gather(snugfast, ())
    return tuple(found)


def a_line(rng: random.Random, *, slow: bool) -> tuple[str, ...]:
    """One command line: a good one with words changed, or options and words as they fall.

    Commands that take seconds only where they are asked for.
    """
    return _changed(rng) if rng.random() < 0.4 else _fallen(rng, slow=slow)


def _changed(rng: random.Random) -> tuple[str, ...]:
    """A line that works on a season, with up to three of its words changed, doubled or left out."""
    line = [word.format(**FILLED) for word in rng.choice(LINES)]
    for _ in range(rng.choice((0, 1, 1, 2, 3))):
        if not line:
            break
        at = rng.randrange(1, len(line)) if len(line) > 1 else 0
        line[at : at + 1] = rng.choice(([_word(rng)], [line[at], _word(rng)], [], [line[at], line[at]]))
    return tuple(line)


def _fallen(rng: random.Random, *, slow: bool) -> tuple[str, ...]:
    words, command = rng.choice(commands())
    while not slow and (words[0] in SLOW or " ".join(words) in SLOW):
        words, command = rng.choice(commands())
    line = list(words)
    for parameter in command.params:
        if isinstance(parameter, click.Argument):
            count = rng.randint(0, 4) if parameter.nargs == -1 else int(rng.random() < 0.95)
            line += [_word(rng) for _ in range(count)]
        elif rng.random() < (0.8 if parameter.required else 0.15):
            line.append(rng.choice(parameter.opts))
            if not (isinstance(parameter, click.Option) and parameter.is_flag):
                line.append(_word(rng))
    if rng.random() < 0.5:
        line.append("--yes")
    if rng.random() < 0.05:
        line.insert(rng.randrange(len(line) + 1), _word(rng))
    return tuple(line)


def _word(rng: random.Random) -> str:
    if rng.random() < 0.72:
        return rng.choice(GOOD)
    if rng.random() < 0.8:
        return rng.choice(NASTY)
    word = list(rng.choice(GOOD))
    for _ in range(rng.randint(1, 3)):
        at = rng.randrange(len(word) + 1)
        word[at : at + rng.randint(0, 1)] = [rng.choice((*"0159-+.:@ °/", "\u00a0", "٣", "ß", "é"))]
    return "".join(word)
