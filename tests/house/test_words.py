"""No file says what it must not: hosts of registries, paths of one machine, trade marks, skipped tests."""

from __future__ import annotations

import hashlib
import re
from collections.abc import Iterable
from pathlib import Path

import pytest

from tests.house.tree import ROOT, shown, tracked_files, tracked_text

# Each pattern is written so that it does not match itself.
UNWANTED = {
    "a path of one machine": (
        r"/(?:work|farm|root)/",
        r"(?<![\w.<])/(?:tmp|home)/\w",
    ),
    "the host of a registry": (
        r"https?://[^ ]*(?:/simple/|registry\.)",
        r"files\.pythonhosted|\bpypi\.(?:org|io)|\b(?:deb|security)\.debian\.",
    ),
    "where the job came from": (r"(?i)tran(?:script)\b|seed (?:document)|\bthe (?:client)(?:'|’)s",),
    "the workplace": (
        r"\bissues? (?:show\b|#?\d)|\bfarm-[a-z]+\b|duplicates (?:--)",
        r"\.\./(?:shared)\b|shared/(?:design|style|stack|references)\b",
    ),
}
NO_SKIPPING = r"pytest\.(?:mark\.)?(?:skip|importorskip|xfail)|unittest\.(?:skip)"

# Trade marks and names of makers, kept as digests so that this project names none of them.
# To add one: python -c "import hashlib; print(hashlib.sha256(b'the-word').hexdigest()[:16])"
DIGESTS = Path(__file__).with_name("trade_marks.txt")
# Names of libraries and digests; authors and publishers of sources.
MAY_NAME = re.compile(r"^requirements\.lock$|^src/snugfast/facts/sources/")


def places(patterns: Iterable[str], text: str) -> Iterable[str]:
    """Number and text of each line that one of the patterns matches."""
    for number, line in enumerate(text.splitlines(), start=1):
        if any(re.search(pattern, line) for pattern in patterns):
            yield f"{number}: {line.strip()[:120]}"


def digest(word: str) -> str:
    """What stands for a word in the list of trade marks."""
    return hashlib.sha256(word.encode()).hexdigest()[:16]


def trade_marks(text: str, digests: frozenset[str]) -> list[str]:
    """The words of a text that are on the list; two with a blank or a hyphen between also count as one."""
    lower = text.lower()
    pairs = re.findall(r"(?=(?<![a-z0-9])([a-z0-9]+)[-\s]+([a-z0-9]+))", lower)
    candidates = {*re.findall(r"[a-z0-9]+", lower), *(first + second for first, second in pairs)}
    return sorted(word for word in candidates if digest(word) in digests)


@pytest.mark.parametrize("what", UNWANTED)
def test_no_tracked_file_names(what: str) -> None:
    found = [
        f"{shown(path)}:{place}"
        for path in tracked_files()
        if (text := tracked_text(path)) is not None
        for place in places(UNWANTED[what], text)
    ]
    assert not found, f"{what} stands in\n" + "\n".join(found)


def test_no_tracked_file_names_a_trade_mark() -> None:
    digests = frozenset(DIGESTS.read_text().split())
    found = []
    for path in tracked_files():
        text = tracked_text(path)
        if text is not None and not MAY_NAME.search(shown(path)):
            found += [f"{shown(path)}: {word}" for word in trade_marks(f"{path.name}\n{text}", digests)]
    assert not found, "\n".join(found)


def test_a_trade_mark_is_found_however_it_is_written() -> None:
    listed = frozenset([digest("grippex")])
    for text in ("Use Grippex here", "GRIP-PEX", "a grip\npex bolt", "(grippex)"):
        assert trade_marks(text, listed), text
    assert not trade_marks("a gripping pexel", listed)


def test_the_lock_holds_no_address() -> None:
    assert "://" not in (ROOT / "requirements.lock").read_text()


def test_no_test_is_skipped() -> None:
    """What a test needs and does not find is an error."""
    found = [
        f"{shown(path)}:{place}"
        for path in (ROOT / "tests").rglob("*.py")
        for place in places([NO_SKIPPING], path.read_text())
    ]
    assert not found, "\n".join(found)
