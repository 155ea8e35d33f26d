"""The pages of the site of `make docs`: which there are, where they stand, and what links them.

Pages are the files of docs, CONTRIBUTING, CHANGELOG and README, and the ones made from what runs. They are
gathered into build/pages, and the generator makes build/site of them; the site asks nothing of the network.
"""

from __future__ import annotations

import json
import re
from collections.abc import Iterator

from tests.house.tree import ROOT

PAGES = ROOT / "build/pages"
SETTINGS = ROOT / "build/mkdocs.yml"
PICTURES = "pictures"
LINK = re.compile(r"\]\((?!https?:|#)([^)#\s]+)(?:#[^)\s]*)?\)")

# By what one wants to do. A page is named once; decisions follow by themselves.
NAVIGATION = {
    "Start": {
        "What it is": "index.md",
        "Your first evening": "first-evening.md",
        "What it looks like": "pictures.md",
        "Where it runs": "systems.md",
    },
    "Look up": {
        "Every command": "commands.md",
        "What changed": "changelog.md",
    },
    "Ask where it is from": {
        "What the trade knows": "knowledge.md",
        "Formulas, each worked once": "formulas.md",
        "Sources": "sources.md",
        "What the sheet saves": "study.md",
    },
    "Work on it": {
        "How to begin": "contributing.md",
        "Where a thing goes": "architecture.md",
    },
}
BROUGHT = {"README.md": "index.md", "CONTRIBUTING.md": "contributing.md", "CHANGELOG.md": "changelog.md"}
MADE = {"formulas.md", "sources.md", "pictures.md"}
"""Written by make_docs."""


def gathered() -> dict[str, str]:
    """Every written page by its name in the site, with its links turned to the names there."""
    files = {
        path: path.relative_to(ROOT / "docs").as_posix() for path in sorted((ROOT / "docs").rglob("*.md"))
    }
    files |= {ROOT / name: page for name, page in BROUGHT.items()}
    names = {path.relative_to(ROOT).as_posix(): page for path, page in files.items()}

    def turned(text: str, from_root: bool) -> str:
        if not from_root:
            return text
        return LINK.sub(lambda link: link[0].replace(link[1], names.get(link[1], link[1]), 1), text)

    return {page: turned(path.read_text("utf-8"), path.parent == ROOT) for path, page in files.items()}


def navigation() -> list[dict[str, list[dict[str, str]]]]:
    """What stands over every page."""
    found = [{group: [{title: page} for title, page in pages.items()]} for group, pages in NAVIGATION.items()]
    decisions = sorted(page for page in gathered() if page.startswith("decisions/"))
    return [*found, {"Why": [{_title(page): page} for page in decisions]}]


def links(page: str, text: str) -> Iterator[str]:
    """The pages that a page points to, by their names in the site."""
    folder = page.rpartition("/")[0]
    for target in LINK.findall(text):
        parts: list[str] = folder.split("/") if folder else []
        for step in target.split("/"):
            parts = parts[:-1] if step == ".." else [*parts, step]
        yield "/".join(parts)


def write_site_pages(made: dict[str, str]) -> None:
    """Put every page and the settings of the generator into build; pictures that are there stay."""
    PAGES.mkdir(parents=True, exist_ok=True)
    for old in PAGES.rglob("*.md"):
        old.unlink()
    for page, text in {**gathered(), **made}.items():
        to = PAGES / page
        to.parent.mkdir(parents=True, exist_ok=True)
        to.write_text(text, encoding="utf-8")
    settings = {
        "site_name": "Snugfast",
        "docs_dir": "pages",
        "site_dir": "site",
        "use_directory_urls": False,
        # Nothing is fetched while reading: no highlighter, and no search, which an opened file cannot do.
        "plugins": [],
        "theme": {"name": "mkdocs", "color_mode": "auto", "highlightjs": False},
        "validation": {"anchors": "warn"},
        "nav": navigation(),
    }
    SETTINGS.write_text(json.dumps(settings, indent=1, ensure_ascii=False), encoding="utf-8")


def pictures_page() -> str:
    """The page of the pictures that `scripts/take_pictures.py` has taken."""
    taken = sorted((PAGES / PICTURES).glob("*.png"))
    lines = ["# What it looks like\n", "The demo workshop, on a phone and on a desk, light and dark.\n"]
    if not taken:
        lines.append("No pictures were taken yet: `make pictures` takes them.\n")
    for picture in taken:
        _, *seen, scheme = picture.stem.split("-")  # its number is for the order
        says = f"{' '.join(seen)}, {scheme}".capitalize()
        lines.append(f"## {says}\n\n![{says}]({PICTURES}/{picture.name})\n")
    return "\n".join(lines)


def _title(page: str) -> str:
    heading = re.search(r"^# (.*)$", gathered()[page], re.MULTILINE)
    return heading[1] if heading else page
