"""Lists on paper, from the command line."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from snugfast.cli.doorway import Doorway, print_json
from snugfast.cli.options import JSON, options
from snugfast.cli.writing import FORCE, write_said
from snugfast.core.errors import BadInput

if TYPE_CHECKING:
    from snugfast.exchange.paper.leaf import Leaf

PDF = (
    click.option("--pdf", type=click.Path(path_type=Path), help="Write it to a file, to print."),
    click.option(
        "--paper", type=click.Choice(["a4", "letter"]), default="a4", show_default=True, help="Its size."
    ),
    FORCE,
)


@click.command()
@options(*PDF)
@JSON
@click.pass_obj
def take_along(doorway: Doorway, pdf: Path | None, paper: str, force: bool, as_json: bool) -> None:
    """What to take to the next outing, what to check there first, and room to write the runs down."""
    from snugfast.exchange.paper.leaf import leaf_lines
    from snugfast.exchange.paper.lists import outing_leaf

    leaf = outing_leaf(doorway.open(), link_of(doorway, "/outing"))
    if pdf is not None:
        write_leaf(leaf, pdf, paper, force=force)
    elif as_json:
        print_json(leaf)
    else:
        for line in leaf_lines(leaf):
            click.echo(line)


def write_leaf(leaf: Leaf, pdf: Path, paper: str, *, force: bool) -> None:
    """Write a leaf as PDF. Raises BadInput for a name that is no PDF's, and what `write_bytes` raises."""
    from snugfast.exchange.paper.leaf import PaperSize, pdf_of

    if pdf.suffix.lower() != ".pdf":
        raise BadInput(f"{pdf} is no name for a PDF.", "Let it end in .pdf.")
    write_said(pdf, pdf_of(leaf, PaperSize.called(paper)), force=force)


def link_of(doorway: Doorway, path: str) -> str:
    """What a phone in the house opens, where phones found these pages last; “” where they never could."""
    from snugfast.app.house_door import HouseDoor, door_file
    from snugfast.app.opening import store_file, utc_now

    door = HouseDoor(door_file(doorway.where, store_file(doorway.where)), now=utc_now)
    return f"{door.address}{path}" if door.address else ""
