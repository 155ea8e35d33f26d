"""Packs: adding and listing."""

from __future__ import annotations

import click

from snugfast.cli.doorway import Doorway, keep_after_echo, print_json


@click.group()
def packs() -> None:
    """Add a pack, list packs."""


@packs.command()
@click.argument("name")
@click.option("--cells", required=True, help="Cells in series.")
@click.option("--capacity", required=True, help="Like 5000 mAh or 5 Ah.")
@click.option("--chemistry", default="lithium-polymer", help="What it is made of.")
@click.option("--when", default="", help="Since when it is here.")
@click.option("--yes", is_flag=True, help="Keep without asking.")
@click.option("--json", "as_json", is_flag=True, help="Print plain data.")
@click.pass_obj
def add(
    doorway: Doorway,
    name: str,
    cells: str,
    capacity: str,
    chemistry: str,
    when: str,
    yes: bool,
    as_json: bool,
) -> None:
    """Add a pack."""
    from snugfast.usecases.pack_register import PackSaid, draft_pack
    from snugfast.usecases.run_log import Draft

    workshop = doorway.open()
    entry = draft_pack(workshop, PackSaid(name, cells, capacity, chemistry, when))
    echo = f"Pack {name}: {chemistry}, {cells} cells, {capacity}."
    keep_after_echo(workshop, Draft((entry,), (echo,)), yes=yes, as_json=as_json)


@packs.command("list")
@click.option("--json", "as_json", is_flag=True, help="Print plain data.")
@click.pass_obj
def listing(doorway: Doorway, as_json: bool) -> None:
    """The packs that are here."""
    from snugfast.usecases.what_stands import ledger_now

    with doorway.open().store.reading() as reads:
        here = [pack for pack in ledger_now(reads).packs.values() if pack.left_at is None]
    if as_json:
        print_json(here)
        return
    for pack in here:
        click.echo(
            f"{pack.name:<16} {pack.chemistry}, {pack.cells} cells, {pack.capacity_Ah:g} Ah, {pack.runs} runs"
        )
    if not here:
        click.echo("No packs yet. Type: snugfast packs add NAME --cells 3 --capacity 5000mAh")
