"""What reaches a terminal: no control characters from names and notes, and letters it can show.

A name that came with an archive could otherwise clear the screen, turn a line round, or type for its reader.
"""

from __future__ import annotations

import re
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from functools import lru_cache
from typing import Any, TextIO

_UNSEEN = re.compile(
    "[\x00-\x08\x0b-\x1f\x7f-\x9f\u061c\u200b\u200e\u200f\u2028-\u202e\u2060-\u2069\ufeff\ud800-\udfff]"
)
_NEAR = {
    "“": '"',
    "”": '"',
    "‘": "'",
    "’": "'",
    "–": "-",
    "—": "-",
    "−": "-",
    "…": "...",
    "×": "x",
    "·": ".",
    "═": "=",
    "─": "-",
    "│": "|",
    "→": "->",
    "≤": "<=",
    "≥": ">=",
    "≈": "~",
    "Ω": "Ohm",
    "µ": "u",
    "⚠": "!",
    "½": "1/2",
    "•": "*",
    "✓": "v",
    "²": "2",
    "³": "3",
    "°": " deg ",
    "█": "#",
    "☐": "[ ]",
    "□": "[ ]",
    "▒": ":",
    "▌": "|",
    "■": "X",
    "◆": "!",
    "○": "o",
    "▷": "~",
    "▶": ">",
    "✗": "x",
}


def seen(text: str) -> str:
    """Text with what could steer a terminal written out: “\\u202e” for a mark that turns the line round."""
    return _UNSEEN.sub(lambda found: f"\\u{ord(found[0]):04x}", text)


def plain(text: str, encoding: str) -> str:
    """Text in the letters an encoding has: near ones where it lacks some, a question mark for the rest."""
    try:
        text.encode(encoding)
    except UnicodeEncodeError:
        return "".join(letter if _has(encoding, letter) else _NEAR.get(letter, "?") for letter in text)
    except LookupError:
        return text.encode("ascii", "replace").decode("ascii")
    return text


@lru_cache(maxsize=4096)
def _has(encoding: str, letter: str) -> bool:
    try:
        letter.encode(encoding)
    except UnicodeEncodeError:
        return False
    return True


class Shown:
    """A stream to a terminal or a file, with everything written to it made fit to be shown.

    It takes any letter, and says so: click would go round a stream that it thinks too small.
    """

    encoding = "utf-8"

    def __init__(self, stream: TextIO) -> None:
        self._stream = stream

    def write(self, text: str) -> int:
        shown = seen(text)
        self._stream.write(plain(shown, self._stream.encoding or "utf-8"))
        return len(text)

    def writelines(self, lines: Iterator[str]) -> None:
        for line in lines:
            self.write(line)

    def __getattr__(self, name: str) -> Any:
        return getattr(self._stream, name)


@contextmanager
def fit_to_be_shown() -> Iterator[None]:
    """Everything printed meanwhile goes through `Shown`."""
    out, err = sys.stdout, sys.stderr
    sys.stdout, sys.stderr = Shown(out), Shown(err)
    try:
        yield
    finally:
        sys.stdout, sys.stderr = out, err
