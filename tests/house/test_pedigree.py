"""Every number can say where it comes from: marks name sources, sources say how they were seen."""

from __future__ import annotations

import re
from collections import Counter

from tests.house.tree import ROOT, marked_formulas, shown, sources

SEEN = {"primary", "secondary", "memory", "practice", "elicited"}


def test_every_mark_names_a_known_source_and_a_place_in_it() -> None:
    known = {key for entries in sources().values() for key in entries}
    lost = [
        f"{formula.path}: {formula.mark.source!r} is in no file of facts/sources"
        for formula in marked_formulas()
        if formula.mark.source not in known
    ]
    lost += [f"{formula.path}: the place is empty" for formula in marked_formulas() if not formula.mark.where]
    assert not lost, "\n".join(lost)


def test_a_source_key_stands_in_one_file_only() -> None:
    counts = Counter(key for entries in sources().values() for key in entries)
    twice = [key for key, count in counts.items() if count > 1]
    assert not twice, f"in more than one file of facts/sources: {', '.join(twice)}"


def test_every_source_says_what_it_is_and_how_it_was_seen() -> None:
    wrong = []
    for file, entries in sources().items():
        for key, entry in entries.items():
            if not entry.get("title"):
                wrong.append(f"{file} [{key}]: title is missing")
            if entry.get("seen") not in SEEN:
                wrong.append(
                    f"{file} [{key}]: seen = {entry.get('seen')!r}; write one of {', '.join(sorted(SEEN))}"
                )
            if entry.get("seen") == "secondary" and not entry.get("through"):
                wrong.append(f"{file} [{key}]: a secondary source says through which text it was seen")
    assert not wrong, "\n".join(wrong)


FOLLOWED_BY = ("authors", "publisher", "year", "address")


def test_what_was_read_itself_can_be_looked_up_again() -> None:
    """“Where from?” leads nowhere without author, publisher, year or address: then it is practice."""
    lost = [
        f"{file} [{key}]"
        for file, entries in sources().items()
        for key, entry in entries.items()
        if entry.get("seen") == "primary" and not any(entry.get(part) for part in FOLLOWED_BY)
    ]
    assert not lost, "seen = primary, and nobody can find it:\n" + "\n".join(lost)


STANDARD = re.compile(r"\b(?:EN|IEC|ISO|DIN|VDI|ASME)\b")
READ_ITSELF = {"bd-warehouse"}  # a library whose own tables were read; what they follow is in their rows


def test_a_standard_that_was_retold_is_not_called_read() -> None:
    """No ISO, DIN, VDI or ASME text was read itself; pages and tables that quote them were."""
    read = [
        key
        for entries in sources().values()
        for key, entry in entries.items()
        if entry.get("seen") == "primary" and STANDARD.search(str(entry.get("title")))
    ]
    assert set(read) == READ_ITSELF


def test_every_formula_is_named_by_a_test() -> None:
    """A text search: it sees that a formula was thought of, not that it was tested well."""
    house = ROOT / "tests/house"
    tests = [*(ROOT / "tests").rglob("test_*.py"), *(ROOT / "tests/worked").glob("*.toml")]
    words: set[str] = set()
    for path in tests:
        if house not in path.parents:
            words.update(re.findall(r"\w+", path.read_text()))
    bare = [formula.path for formula in marked_formulas() if formula.name not in words]
    assert not bare, "no test names:\n" + "\n".join(bare)


def test_the_search_for_marks_reaches_every_marked_file() -> None:
    """Guards the four tests above: a decorator in a file that the walk misses would go unheld."""
    reached = {formula.module for formula in marked_formulas()}
    missed = []
    for path in (ROOT / "src/snugfast").rglob("*.py"):
        module = ".".join(path.relative_to(ROOT / "src").with_suffix("").parts).removesuffix(".__init__")
        if re.search(r"^@formula\(", path.read_text(), re.MULTILINE) and module not in reached:
            missed.append(shown(path))
    assert not missed, f"marks in floors that tests/house/tree.py does not walk: {', '.join(missed)}"
