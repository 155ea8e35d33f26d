"""Write build/docs/formulas.md: every formula with what it gives, its source, and where it was tried.

It is made from the marks, so that a limit is written once.
"""

from __future__ import annotations

import importlib
import inspect
from itertools import groupby
from operator import attrgetter

from tests.house.tree import ROOT, Marked, marked_formulas, sources

PAGE = ROOT / "build/docs/formulas.md"
HOW_SEEN = {
    "primary": "the text itself was read",
    "secondary": "as quoted by another text",
    "memory": "from memory",
    "practice": "common practice, no source",
    "elicited": "an estimate of ours",
}


def paragraph(formula: Marked, entry: dict[str, str]) -> str:
    """One formula: what it gives, then its source, then its spans."""
    function = getattr(importlib.import_module(formula.module), formula.name)
    gives = (inspect.getdoc(function) or "").split("\n\n")[0]
    written_by = ", ".join(str(entry[part]) for part in ("authors", "title", "year") if entry.get(part))
    spans = [f"{name} {span.low:g} to {span.high:g}" for name, span in formula.mark.spans.items()]
    tried = f" Tried for {', '.join(spans)}." if spans else ""
    return (
        f"**{formula.name}**: {gives}\n\n"
        f"Source: {written_by}, {formula.mark.where} ({HOW_SEEN[entry['seen']]}).{tried}\n"
    )


def main() -> None:
    """Write the page and say where it is."""
    known = {key: entry for entries in sources().values() for key, entry in entries.items()}
    lines = ["# Formulas and where they come from\n"]
    for module, formulas in groupby(marked_formulas(), key=attrgetter("module")):
        lines.append(f"## {module.removeprefix('snugfast.')}\n")
        lines += [paragraph(formula, known[formula.mark.source]) for formula in formulas]
    PAGE.parent.mkdir(parents=True, exist_ok=True)
    PAGE.write_text("\n".join(lines), encoding="utf-8")
    print(f"{len(marked_formulas())} formulas are in {PAGE.relative_to(ROOT)}")


if __name__ == "__main__":
    main()
