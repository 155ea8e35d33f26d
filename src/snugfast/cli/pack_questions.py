"""Questions about packs: how to charge, how to store, how they wear, whether they fit, where views differ."""

from __future__ import annotations

from typing import Any

import click

from snugfast.cli.doorway import Doorway, NobodyAsked, keep_after_echo, print_json
from snugfast.cli.options import HELD, JSON, options


@click.command()
@click.argument("pack")
@click.argument("charger", default="")
@click.option("--found", multiple=True, help="What looking, feeling and smelling found; “nothing” too.")
@click.option("--warmth", default="", metavar="DEGREES", help="How warm the pack is.")
@click.option("--cells", "set_cells", default="", help="Cells the charger is set to.")
@click.option("--chemistry", "set_chemistry", default="", help="Chemistry the charger is set to.")
@click.option("--attended/--unattended", default=None, help="Whether somebody stays with it.")
@click.option("--hard-surface/--soft-surface", default=None, help="Whether it lies on what cannot burn.")
@click.option("--balance-plug/--no-balance-plug", default=None, help="Whether the balance plug is in.")
@click.option("--to", "target", default="full", show_default=True, help="full, storage, a little below full.")
@click.option("--volts", default="", help="Cells now, if you read them: “3.80 3.81 3.79”.")
@click.option("--ready-by", default="", metavar="TIME", help="14:30, tomorrow, 2026-06-20 09:00.")
@click.option("--other-channels", default="0", help="Packs that charge on the same supply meanwhile.")
@click.option("--with", "with_packs", multiple=True, help="A pack side by side with it, on the same channel.")
@options(*HELD)
@click.pass_obj
def charge(
    doorway: Doorway,
    /,
    pack: str,
    charger: str,
    attended: bool | None,
    hard_surface: bool | None,
    balance_plug: bool | None,
    yes: bool,
    as_json: bool,
    **said: Any,
) -> None:
    """Plan a charge: every question answered, then amps, minutes, when to start.

    Without a charger it is the one of the last time.

    \b
    snugfast packs charge “Ember 1” Twin --found nothing --warmth 21 --cells 3
      --chemistry lithium-polymer --attended --hard-surface --balance-plug
    """
    from snugfast.cli.pack_text import lines, plan_text
    from snugfast.usecases.journal.keeping import keep
    from snugfast.usecases.packs.charge import ChargeAsked, plan_charge

    workshop = doorway.open()
    asked = ChargeAsked(
        pack,
        charger,
        attended=_word(attended),
        hard_surface=_word(hard_surface),
        balance_plug=_word(balance_plug),
        **said,
    )
    plan = plan_charge(workshop, asked)
    if as_json:
        print_json(plan)
        if plan.looked.entries and not yes:
            raise NobodyAsked
        keep(workshop, plan.looked.entries)
        return
    click.echo(lines(plan_text(plan, workshop.zone, workshop.now())))
    if plan.looked.entries:
        click.echo("")
        keep_after_echo(workshop, plan.looked, yes=yes, as_json=False)


def _word(answer: bool | None) -> str:
    return "" if answer is None else "yes" if answer else "no"


@click.command()
@click.argument("pack")
@click.option("--until", required=True, metavar="TIME", help="The next outing: 2026-06-20, “12 days”.")
@click.option("--amps", default="", help="The current that moves the charge.")
@click.option("--charger", default="", help="The charger you have for it.")
@click.option("--shelf", default="", metavar="DEGREES", help="How warm it will stand.")
@JSON
@click.pass_obj
def store(doorway: Doorway, /, as_json: bool, **said: Any) -> None:
    """What to do with a pack until the next outing, by published figures and by common practice."""
    from snugfast.cli.pack_text import lines, store_text
    from snugfast.usecases.packs.store import StoreAsked, store_advice

    workshop = doorway.open()
    advice = store_advice(workshop, StoreAsked(**said))
    if as_json:
        print_json(advice)
        return
    click.echo(lines(store_text(advice, workshop.zone, workshop.now())))


@click.command()
@click.argument("pack")
@click.option("--instrument", default="", help="By one instrument; by the one used most if left out.")
@JSON
@click.pass_obj
def trend(doorway: Doorway, pack: str, instrument: str, as_json: bool) -> None:
    """How the resistance of a pack climbs, and when it will be done."""
    from snugfast.cli.pack_text import lines, trend_text
    from snugfast.usecases.packs.trend import pack_trend

    told = pack_trend(doorway.open(), pack, instrument=instrument)
    if as_json:
        print_json(told)
        return
    click.echo(lines(trend_text(told)))


@click.command()
@click.argument("car")
@click.argument("packs", nargs=-1, required=True, metavar="PACK...")
@click.option("--amps", required=True, help="What the car draws, in steps: “0 20 60 120”.")
@click.option("--shares", required=True, help="The share of the time of each, in percent: “40 30 20 10”.")
@click.option("--peak", default="", help="The highest current; the highest step if left out.")
@click.option("--min", "minutes", required=True, help="Minutes of one pack.")
@click.option("--air", default="", metavar="DEGREES", help="How warm the air is.")
@click.option("--joined", default="one pack", show_default=True, help="Or packs end to end, side by side.")
@click.option("--tray", "tray_mm", default="", help="The tray in mm: “140 x 48 x 26”.")
@click.option("--cells", default="", help="Cells the car takes: 2-3.")
@click.option("--cut-off", default="", help="Volts a cell at which the ESC stops.")
@JSON
@click.pass_obj
def fit(doorway: Doorway, /, as_json: bool, **said: Any) -> None:
    """Whether a pack fits a car: plug, size, cells, then current, sag and heat."""
    from snugfast.cli.pack_text import fit_text, lines
    from snugfast.usecases.packs.fit_car import FitAsked, fit_of

    told = fit_of(doorway.open(), FitAsked(**said))
    if as_json:
        print_json(told)
        return
    click.echo(lines(fit_text(told)))


@click.command()
@click.argument("packs", nargs=-1, required=True, metavar="PACK...")
@click.option(
    "--how", type=click.Choice(["parallel", "series"]), default="parallel", help="In parallel or in series."
)
@JSON
@click.pass_obj
def together(doorway: Doorway, packs: tuple[str, ...], how: str, as_json: bool) -> None:
    """Whether packs may be connected: count, chemistry, type and volts must agree."""
    from snugfast.cli.pack_text import joining_text, lines
    from snugfast.usecases.packs.together import joining

    told = joining(doorway.open(), packs, how=how)
    if as_json:
        print_json(told)
        return
    click.echo(lines(joining_text(told)))


@click.command("views")
@JSON
@click.pass_obj
def views(doorway: Doorway, as_json: bool) -> None:
    """Where published views, makers and practice differ about packs, and what is taken."""
    from snugfast.cli.pack_text import disagreements, lines
    from snugfast.usecases.packs.views import matters

    several = matters(doorway.open().facts)
    if as_json:
        print_json(several)
        return
    click.echo(lines(disagreements(several)))


COMMANDS = (charge, store, trend, fit, together, views)
