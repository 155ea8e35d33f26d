"""Packs and chargers: adding, changing, listing, what one is like now, what to do today, letting go."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from snugfast.cli import pack_log, pack_questions
from snugfast.cli.doorway import Doorway, keep_after_echo, print_json, to_type
from snugfast.cli.on_paper import PDF, link_of, write_leaf
from snugfast.cli.options import HELD, JSON, options
from snugfast.cli.whole_help import WholeHelp
from snugfast.core.errors import BadInput

if TYPE_CHECKING:
    from snugfast.usecases.shared.workshop import Workshop

BOOKED = (
    click.option("--chemistry", help="LiPo, LiHV, LiFe or NiMH."),
    click.option("--when", help="Since when it is here."),
    click.option("--type", "type_name", help="The type as bought, so that like packs are known to be alike."),
    click.option("--label", help="The current on its label: 50C or “125 A”."),
    click.option("--charge-label", help="The charge rate on its label: 2C or “10 A”."),
    click.option("--plug", help="The plug by its shape: “two flat blades”, “single bullet 4 mm”."),
    click.option("--pin", "pin_mm", help="Its pins, like 3.5 mm."),
    click.option("--size", "size_mm", help="Length x width x height in mm: “139 x 47 x 25”."),
    click.option("--weight", "mass_g", help="Like 280 g."),
    click.option("--price", help="What it cost, like 48.00."),
)


@click.group(cls=WholeHelp, invoke_without_command=True)
@click.pass_context
def packs(ctx: click.Context) -> None:
    """Packs: what they are like, what they ask for, what they go through.

    Alone it says what to do today.
    """
    if ctx.invoked_subcommand is None:
        ctx.invoke(today)


@packs.command()
@click.argument("name")
@click.argument("words", nargs=-1, metavar="[3S 5000mAh 50C]")
@click.option("--cells", help="Cells in series.")
@click.option("--capacity", help="Like 5000 mAh or 5 Ah.")
@options(*BOOKED, *HELD)
@click.pass_obj
def add(
    doorway: Doorway, /, name: str, words: tuple[str, ...], yes: bool, as_json: bool, **said: Any
) -> None:
    """Add a pack as its label says: snugfast packs add “Ember 1” 3S 5000mAh 50C"""
    from snugfast.usecases.packs.register import PackSaid, draft_pack
    from snugfast.usecases.shared.draft import Draft
    from snugfast.usecases.shared.ledger import ledger_now

    told = _named(said) | _label(words)
    if not told.get("cells") or not told.get("capacity"):
        raise BadInput(
            "Cells and capacity are missing.",
            f"Read them off the label: {to_type(f'packs add {name} 3S 5000mAh')}",
        )
    workshop = doorway.open()
    entry = draft_pack(workshop, PackSaid(name, **told))
    with workshop.store.reading() as reads:
        draft = Draft.telling(workshop, ledger_now(reads), [entry])
    keep_after_echo(workshop, draft, yes=yes, as_json=as_json)


LABEL = (("cells", r"(\d{1,2})s"), ("capacity", r"(\d+(?:[.,]\d+)?\s*m?ah)"), ("label", r"(\d{1,3}c)"))


def _label(words: Sequence[str]) -> dict[str, str]:
    """“3S 5000mAh 50C” as a label says it. Raises BadInput for a word that is none of these."""
    told: dict[str, str] = {}
    for word in words:
        read = {key: match[1] for key, form in LABEL if (match := re.fullmatch(form, word, re.IGNORECASE))}
        if not read:
            raise BadInput(f"“{word}” is not read off a label.", "Write cells and capacity like 3S 5000mAh.")
        told |= read
    return told


@packs.command()
@click.argument("name")
@click.option("--name", "new_name", help="A new name.")
@click.option("--cells", help="Cells in series.")
@click.option("--capacity", help="Like 5000 mAh or 5 Ah.")
@options(*BOOKED, *HELD)
@click.pass_obj
def change(
    doorway: Doorway, /, name: str, new_name: str | None, yes: bool, as_json: bool, **said: Any
) -> None:
    """Correct what is booked about a pack: name only what was wrong."""
    from snugfast.usecases.packs.register import draft_pack, pack_entry, said_of
    from snugfast.usecases.shared.draft import Draft
    from snugfast.usecases.shared.ledger import ledger_now
    from snugfast.usecases.shared.lookup import pack_called

    workshop = doorway.open()
    with workshop.store.reading() as reads:
        ledger = ledger_now(reads)
    first = pack_entry(workshop, pack_called(ledger, name))
    changes = _named(said) | ({"name": new_name} if new_name else {})
    entry = draft_pack(workshop, replace(said_of(first), **changes), replaces=first)
    keep_after_echo(workshop, Draft.telling(workshop, ledger, [entry]), yes=yes, as_json=as_json)


@packs.command("list")
@options(*PDF)
@JSON
@click.pass_obj
def listing(doorway: Doorway, pdf: Path | None, paper: str, force: bool, as_json: bool) -> None:
    """The packs that are here, the most urgent first: sign, charge, deadline, what to do."""
    from snugfast.cli.pack_text import lines, shelf_text
    from snugfast.usecases.packs.shelf import shelf_of
    from snugfast.usecases.packs.state import packs_now

    workshop = doorway.open()
    if pdf is not None:
        from snugfast.exchange.paper.lists import shelf_leaf

        write_leaf(shelf_leaf(workshop, link_of(doorway, "/packs")), pdf, paper, force=force)
        return
    now = packs_now(workshop)
    if as_json:
        print_json([seen.state for seen in now.packs])
        return
    click.echo(lines(shelf_text(shelf_of(workshop, now), workshop.zone)))
    if not now.packs:
        click.echo("Add one: snugfast packs add NAME --cells 3S --capacity 5000mAh")


@packs.command()
@click.argument("name")
@JSON
@click.pass_obj
def show(doorway: Doorway, name: str, as_json: bool) -> None:
    """One pack as it stands: verdict and why, charge left, by when to act."""
    from snugfast.cli.pack_text import lines, state_text
    from snugfast.usecases.packs.state import pack_now

    workshop = doorway.open()
    state = pack_now(workshop, name).state
    if as_json:
        print_json(state)
        return
    click.echo(lines(state_text(state, workshop.zone, workshop.now())))


@packs.command()
@JSON
@click.pass_obj
def today(doorway: Doorway, as_json: bool = False) -> None:
    """What the packs ask for today, and what counts down."""
    from snugfast.cli.pack_text import lines, today_text
    from snugfast.usecases.packs.today import packs_today

    workshop = doorway.open()
    told = packs_today(workshop)
    if as_json:
        print_json(told)
        return
    click.echo(lines(today_text(told, workshop.zone)))


@packs.command()
@click.argument("name")
@click.option("--why", default="", help="Retired, sold, handed in.")
@click.option("--when", default="", help="When.")
@options(*HELD)
@click.pass_obj
def gone(doorway: Doorway, name: str, why: str, when: str, yes: bool, as_json: bool) -> None:
    """Log a pack leaving: retired, sold, handed to a battery recycling point.

    A lithium pack that is sent by air goes as cargo, at most 30 % charged, and a damaged one not at all; ask
    the carrier. What has to come out of a pack first: snugfast packs show NAME
    """
    from snugfast.usecases.packs.register import draft_pack_left

    workshop = doorway.open()
    draft = draft_pack_left(workshop, name, why, when)
    if not as_json:
        _disposal(workshop)
    keep_after_echo(workshop, draft, yes=yes, as_json=as_json)


LEAVING = ("pack-disposal", "pack-transport", "pack-cargo")


def _disposal(workshop: Workshop) -> None:
    from snugfast.cli.pack_text import cautions, lines
    from snugfast.usecases.shared.cautions import cautions_of

    click.echo(lines(cautions(cautions_of(workshop.facts, LEAVING))))


@packs.command()
@click.argument("name")
@click.option("--amps", required=True, help="Most amperes of one channel.")
@click.option("--watts", required=True, help="Most watts of one channel.")
@click.option("--channels", default="1", show_default=True, help="How many packs it charges at once.")
@click.option("--supply", default="", help="Watts of the supply that feeds it, when that is a limit.")
@click.option("--balance/--no-balance", default=True, help="Whether it balances.")
@click.option("--storage/--no-storage", default=True, help="Whether it has a storage function.")
@click.option("--price", default="", help="What it cost.")
@click.option("--when", default="", help="Since when it is here.")
@options(*HELD)
@click.pass_obj
def charger(
    doorway: Doorway, /, name: str, balance: bool, storage: bool, yes: bool, as_json: bool, **said: Any
) -> None:
    """Add a charger: snugfast packs charger Twin --amps 10 --watts 200 --channels 2"""
    from snugfast.usecases.packs.register import ChargerSaid, draft_charger

    workshop = doorway.open()
    told = ChargerSaid(name, balances="yes" if balance else "no", stores="yes" if storage else "no", **said)
    keep_after_echo(workshop, draft_charger(workshop, told), yes=yes, as_json=as_json)


@packs.command()
@JSON
@click.pass_obj
def chargers(doorway: Doorway, as_json: bool) -> None:
    """The chargers that are here."""
    from snugfast.usecases.shared.ledger import ledger_now

    with doorway.open().store.reading() as reads:
        here = [one for one in ledger_now(reads).chargers.values() if one.left_at is None]
    if as_json:
        print_json(here)
        return
    for one in here:
        supply = f", fed by {one.supply_W:g} W" if one.supply_W else ""
        stores = "storage function" if one.stores else "no storage function"
        click.echo(f"{one.name:<16} {one.channels} x {one.most_A:g} A, {one.most_W:g} W{supply}, {stores}")
    if not here:
        click.echo("No chargers yet. Type: snugfast packs charger NAME --amps 10 --watts 200")


@packs.command("charger-gone")
@click.argument("name")
@click.option("--why", default="", help="Sold, broken.")
@options(*HELD)
@click.pass_obj
def charger_gone(doorway: Doorway, name: str, why: str, yes: bool, as_json: bool) -> None:
    """Log a charger leaving."""
    from snugfast.usecases.packs.register import draft_charger_left

    workshop = doorway.open()
    keep_after_echo(workshop, draft_charger_left(workshop, name, why), yes=yes, as_json=as_json)


def _named(said: dict[str, Any]) -> dict[str, Any]:
    """What was really said."""
    return {name: value for name, value in said.items() if value is not None}


for command in (*pack_log.COMMANDS, *pack_questions.COMMANDS):
    packs.add_command(command)
