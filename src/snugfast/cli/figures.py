"""How cautions and sources stand under figures on the command line."""

from __future__ import annotations

from collections.abc import Iterable
from typing import TYPE_CHECKING

import click

if TYPE_CHECKING:
    from snugfast.usecases.shared.cautions import Caution
    from snugfast.usecases.shared.citing import Cited


def echo_cautions(cautions: Iterable[Caution]) -> None:
    """Print the cautions, each on a line of its own."""
    shown = list(cautions)
    if shown:
        click.echo("\nBeware")
    for caution in shown:
        adults = " (adults only)" if caution.adults_only else ""
        click.echo(f"  ! {caution.text}{adults}")


def echo_sources(sources: Iterable[Cited]) -> None:
    """Print where the figures come from, and how each source was seen."""
    shown = list(sources)
    if shown:
        click.echo("\nWhere the figures come from")
    for source in shown:
        click.echo(f"  {source.sentence}")
