"""Where a number comes from."""

from __future__ import annotations

import click

from snugfast.cli.doorway import Doorway, print_json
from snugfast.cli.options import JSON


@click.command()
@click.argument("key")
@JSON
@click.pass_obj
def pedigree(doorway: Doorway, key: str, as_json: bool) -> None:
    """The row of a mode, check, assumption or source, with where it comes from and how that was seen.

    Rows of your own, in the folder “tables” beside the workshop, are found too.
    """
    from snugfast.app.opening import facts_at
    from snugfast.usecases.pedigree import SEEN_WORDS, row_called

    row = row_called(facts_at(doorway.where), key)
    if as_json:
        print_json(row)
        return
    click.echo(f"{row.kind}: {row.key}")
    for name, value in row.values.items():
        click.echo(f"  {name:<18} {value}")
    seen = SEEN_WORDS[row.source.seen]
    click.echo(f"  {'source':<18} {row.source.title} ({row.source.seen.value}: {seen}){row.where}")
