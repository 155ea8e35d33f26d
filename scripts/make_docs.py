"""Write docs/commands.md from the commands, and the pages of the site into build/pages.

The references of commands, formulas and sources are made from what runs, so that a limit and an option are
written once. `make docs` then makes build/site of build/pages.
"""

from __future__ import annotations

import importlib
import inspect
from collections.abc import Iterator
from itertools import groupby
from operator import attrgetter

import click

from scripts.docs_site import PAGES, pictures_page, write_site_pages
from snugfast.cli.main import snugfast
from tests.house.tree import ROOT, Marked, marked_formulas, sources
from tests.house.worked import examples

COMMANDS_PAGE = ROOT / "docs/commands.md"
WIDE = 100
HELP = ["-h", "--help"]
HOW_SEEN = {
    "primary": "the text itself was read",
    "secondary": "as quoted by another text",
    "memory": "from memory",
    "practice": "common practice, no source",
    "elicited": "an estimate of ours",
}


def paragraph(formula: Marked, entry: dict[str, str]) -> str:
    """One formula: what it gives, then its source, its spans and its worked example."""
    function = getattr(importlib.import_module(formula.module), formula.name)
    gives = (inspect.getdoc(function) or "").split("\n\n")[0]
    written_by = ", ".join(str(entry[part]) for part in ("authors", "title", "year") if entry.get(part))
    spans = [f"{name} {span.low:g} to {span.high:g}" for name, span in formula.mark.spans.items()]
    tried = f" Tried for {', '.join(spans)}." if spans else ""
    example = examples().get(formula.path.removeprefix("snugfast."))
    return (
        f"### {formula.name}\n\n{gives}\n\n"
        f"Source: {written_by}, {formula.mark.where} ({HOW_SEEN[entry['seen']]}).{tried}\n\n"
        f"{example.told() if example else 'No worked example yet.'}\n"
    )


def commands(
    group: click.Group, context: click.Context
) -> Iterator[tuple[str, click.Command, click.Context]]:
    """Every command with the words that reach it, groups before what is in them."""
    for name in group.list_commands(context):
        command = group.get_command(context, name)
        assert command is not None
        inner = click.Context(command, info_name=name, parent=context, max_content_width=WIDE)
        yield inner.command_path, command, inner
        if isinstance(command, click.Group):
            yield from commands(command, inner)


def commands_page() -> str:
    """The help of every command, one after the other."""
    top = click.Context(
        snugfast, info_name="snugfast", max_content_width=WIDE, terminal_width=WIDE, help_option_names=HELP
    )
    lines = [
        "# Commands\n",
        "Made by `make docs` from the commands themselves.\n",
        f"```\n{snugfast.get_help(top)}\n```\n",
    ]
    for path, command, context in commands(snugfast, top):
        lines.append(f"## {path}\n\n```\n{command.get_help(context)}\n```\n")
    return "\n".join(lines)


def known_sources() -> dict[str, dict[str, str]]:
    """Every source by its key."""
    return {key: entry for entries in sources().values() for key, entry in entries.items()}


def section(module: str) -> str:
    """“Bearings: coast down” for the formulas of one file."""
    room, file = module.split(".")[-2:]
    says = file if room in (file, "upkeep") else f"{room}: {file}"
    return says.replace("_", " ").capitalize()


def formulas_page() -> str:
    """Every formula of every room: what it gives, its source, a worked example."""
    known = known_sources()
    lines = [
        "# Formulas\n",
        "Where each is from, how that was seen, where it was tried, and one example worked elsewhere.",
        "The unit stands at the end of a name: `torque_Nm` is in newton metres.\n",
    ]
    for module, formulas in groupby(marked_formulas(), key=attrgetter("module")):
        lines.append(f"## {section(module)}\n\nIn `{module.replace('.', '/')}.py`.\n")
        lines += [paragraph(formula, known[formula.mark.source]) for formula in formulas]
    return "\n".join(lines)


def sources_page() -> str:
    """Every source, file by file: what it is, how it was seen, what is to be known of it."""
    lines = ["# Sources\n", "What every number and formula names, and how it was seen.\n"]
    for name, entries in sources().items():
        lines += [f"## {name.removesuffix('.toml').replace('_', ' ')}\n"]
        for key, entry in entries.items():
            said = ", ".join(
                str(entry[part]) for part in ("authors", "title", "publisher", "year") if entry.get(part)
            )
            lines.append(f"- `{key}`: {said} ({HOW_SEEN[entry['seen']]}). {entry.get('note', '')}".rstrip())
        lines.append("")
    return "\n".join(lines)


def main() -> None:
    """Write the pages and say where they are."""
    COMMANDS_PAGE.write_text(commands_page(), encoding="utf-8")
    print(f"The commands are in {COMMANDS_PAGE.relative_to(ROOT)}")
    made = {"formulas.md": formulas_page(), "sources.md": sources_page(), "pictures.md": pictures_page()}
    write_site_pages(made)
    print(f"{len(marked_formulas())} formulas and the other pages are in {PAGES.relative_to(ROOT)}")


if __name__ == "__main__":
    main()
