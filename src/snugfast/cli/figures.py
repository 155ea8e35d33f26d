"""How cautions and sources stand under figures on the command line."""

from __future__ import annotations

from collections.abc import Iterable
from typing import TYPE_CHECKING

import click

if TYPE_CHECKING:
    from snugfast.usecases.shared.cautions import Caution
    from snugfast.usecases.shared.citing import Cited
    from snugfast.usecases.shared.guides import Guide


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


def echo_guide(guide: Guide) -> None:
    """Print a guided job: what it takes, then step by step with what to beware of at each."""
    adults = " (adults only)" if guide.adults_only else ""
    click.echo(f"\n{guide.name}{adults}")
    takes = [f"about {guide.minutes:g} min"] if guide.minutes else []
    takes += [
        f"{head}: {', '.join(them)}"
        for head, them in (("tools", guide.tools), ("parts", guide.parts))
        if them
    ]
    if takes:
        click.echo(f"  {'; '.join(takes)}")
    for caution in guide.cautions:
        click.echo(f"  ! {caution.text}")
    for number, step in enumerate(guide.steps, start=1):
        click.echo(f"  {number}. {step.do}")
        if step.good:
            click.echo(f"     Good: {step.good}")
        for caution in step.cautions:
            click.echo(f"     ! {caution.text}")
