"""Labels to stick on packs, cars and drawers."""

from __future__ import annotations

from pathlib import Path

import click

from snugfast.cli.doorway import Doorway, counted
from snugfast.cli.on_paper import link_of
from snugfast.cli.writing import FORCE, write_bytes, write_said
from snugfast.core.errors import BadInput


@click.command()
@click.argument("kind", type=click.Choice(["packs", "cars", "drawers"]), default="packs")
@click.option(
    "--sheet", "key", default="a4-24", show_default=True, help="The label sheet; --list shows them."
)
@click.option("--first", type=int, default=1, show_default=True, help="The first label that is still free.")
@click.option("--pdf", type=click.Path(path_type=Path), help="Write them as PDF.")
@click.option("--svg", type=click.Path(path_type=Path), help="Write them as SVG, a file a sheet.")
@click.option("--list", "listing", is_flag=True, help="The label sheets there are, in mm.")
@FORCE
@click.pass_obj
def labels(
    doorway: Doorway,
    kind: str,
    key: str,
    first: int,
    pdf: Path | None,
    svg: Path | None,
    listing: bool,
    force: bool,
) -> None:
    """Labels with a code that a phone in the house scans: the page opens.

    The same stands on them to type. Print on plain paper first, and hold it against your label sheet.
    """
    from snugfast.exchange.labels.sheet import label_sheet, label_sheets, labels_pdf, labels_svg
    from snugfast.exchange.labels.things import labels_of

    if listing:
        for one in label_sheets().values():
            size = f"{one.width_mm:g} × {one.height_mm:g} mm"
            click.echo(f"{one.key:<10} {one.columns} × {one.rows} labels of {size}")
        return
    if pdf is None and svg is None:
        raise BadInput("Where should they go?", "Add --pdf FILE or --svg FILE.")
    sheet = label_sheet(key)
    base = link_of(doorway, "")
    made = labels_of(doorway.open(), kind, base)
    if pdf is not None:
        write_bytes(pdf, labels_pdf(made, sheet, first=first), force=force)
        click.echo(f"Written to {pdf}: {counted(len(made), 'label')}.")
    if svg is not None:
        pages = labels_svg(made, sheet, first=first)
        for number, page in enumerate(pages, 1):
            file = svg if len(pages) == 1 else svg.with_name(f"{svg.stem}-{number}{svg.suffix}")
            write_said(file, page, force=force)
    click.echo(f"The codes lead to {base}: keep that address for this machine, or they lead nowhere.")
