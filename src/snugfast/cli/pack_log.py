"""Logging what packs go through: looks, harm and the way back, charges, readings, how they are put away."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

import click

from snugfast.cli.doorway import Doorway, keep_after_echo
from snugfast.cli.options import HELD, WHEN, options

if TYPE_CHECKING:
    from snugfast.usecases.shared.draft import Draft
    from snugfast.usecases.shared.workshop import Workshop


def _keep(workshop: Workshop, draft: Draft, keys: Sequence[str], *, yes: bool, as_json: bool) -> None:
    """The cautions of the step first, then the echo, then keeping."""
    from snugfast.cli.pack_text import cautions, lines
    from snugfast.usecases.shared.cautions import cautions_of

    if not as_json and keys:
        click.echo(lines(cautions(cautions_of(workshop.facts, keys))))
    keep_after_echo(workshop, draft, yes=yes, as_json=as_json)


@click.command()
@click.argument("pack")
@click.argument("found", nargs=-1, required=True)
@click.option("--noticed", "words", default="", help="Anything to say about it.")
@options(WHEN, *HELD)
@click.pass_obj
def looked(
    doorway: Doorway, pack: str, found: tuple[str, ...], words: str, when: str, yes: bool, as_json: bool
) -> None:
    """Log a look: seen, felt and smelled.

    \b
    snugfast packs looked “Ember 1” nothing
    snugfast packs looked “Ember 1” puffed
    """
    from snugfast.usecases.packs.log import draft_looked

    workshop = doorway.open()
    draft = draft_looked(workshop, pack, found, words=words, when=when)
    _keep(workshop, draft, ("pack-look-first",), yes=yes, as_json=as_json)


@click.command()
@click.argument("pack")
@click.argument("what", nargs=-1)
@click.option("--hottest", default="", metavar="DEGREES", help="How hot it was.")
@click.option("--car", default="", help="The car it was in.")
@click.option("--noticed", "words", default="", help="Anything to say about it.")
@options(WHEN, *HELD)
@click.pass_obj
def hurt(
    doorway: Doorway, /, pack: str, what: tuple[str, ...], yes: bool, as_json: bool, **said: Any
) -> None:
    """Log harm: a crash, water, heat, cells driven too low or charged too high.

    \b
    snugfast packs hurt “Ember 1” “thrown out of the car” --car Bramble
    snugfast packs hurt “Ember 1” --hottest “63 °C”
    """
    from snugfast.usecases.packs.log import draft_hurt

    workshop = doorway.open()
    draft = draft_hurt(workshop, pack, what, **said)
    keys = ("pack-crash", "pack-wet", "pack-hot", "pack-quarantine", "pack-fire")
    _keep(workshop, draft, keys, yes=yes, as_json=as_json)


@click.command()
@click.argument("pack")
@click.argument("what", nargs=-1)
@click.option("--by", default="", help="Whose word or which instructions; what was looked at.")
@options(WHEN, *HELD)
@click.pass_obj
def cleared(
    doorway: Doorway, pack: str, what: tuple[str, ...], by: str, when: str, yes: bool, as_json: bool
) -> None:
    """Log a pack cleared for use: at the soonest the next day, looked over cold and outdoors."""
    from snugfast.usecases.packs.log import draft_cleared

    workshop = doorway.open()
    draft = draft_cleared(workshop, pack, by=by, what=what, when=when)
    _keep(workshop, draft, ("pack-look-first", "pack-crash"), yes=yes, as_json=as_json)


@click.command()
@click.argument("pack")
@click.option("--volts", default="", help="All cells at rest, in the order of the plug: “3.80 3.81 3.79”.")
@click.option("--rested", default="", help="How long it rested; since its last use if left out.")
@click.option("--resistances", default="", help="All cells in mΩ: “2.9 3.1 3.0”.")
@click.option("--instrument", default="", help="What read them; one is compared only with itself.")
@click.option("--warmth", default="", metavar="DEGREES", help="How warm the pack was.")
@options(WHEN, *HELD)
@click.pass_obj
def measured(doorway: Doorway, /, pack: str, yes: bool, as_json: bool, **said: Any) -> None:
    """Log cells read one by one: volts after a rest, resistances by one instrument."""
    from snugfast.usecases.packs.log import MeasuredSaid, draft_measured

    workshop = doorway.open()
    draft = draft_measured(workshop, MeasuredSaid(pack, **said))
    _keep(workshop, draft, ("pack-measure",), yes=yes, as_json=as_json)


@click.command()
@click.argument("pack")
@click.option("--to", "finish", default="full", show_default=True, help="full, storage, part of the way.")
@click.option("--put-in", default="", metavar="CHARGE", help="Like “4200 mAh”; below zero when taken out.")
@click.option("--amps", default="", help="At which current.")
@click.option("--min", "minutes", default="", help="How long it took.")
@click.option("--began", default="", metavar="TIME", help="When it began, instead of the minutes.")
@click.option("--charger", default="", help="On which charger.")
@click.option("--volts", default="", help="Cells at the end, as the charger showed them.")
@click.option("--resistances", default="", help="Cells in mΩ, as the charger showed them.")
@click.option("--warmth", default="", metavar="DEGREES", help="How warm the pack was.")
@options(WHEN, *HELD)
@click.pass_obj
def charged(doorway: Doorway, /, pack: str, yes: bool, as_json: bool, **said: Any) -> None:
    """Log a charge that ended: snugfast packs charged “Ember 1” --put-in 4200mAh --min 70"""
    from snugfast.usecases.packs.log import ChargedSaid, draft_charged

    workshop = doorway.open()
    draft = draft_charged(workshop, ChargedSaid(pack, **said))
    _keep(workshop, draft, ("pack-attended", "pack-storage"), yes=yes, as_json=as_json)


@click.command()
@click.argument("pack")
@click.argument("how", nargs=-1, required=True)
@click.option("--car", default="", help="The car it is plugged into.")
@click.option("--shelf", default="", metavar="DEGREES", help="How warm it stands.")
@options(WHEN, *HELD)
@click.pass_obj
def away(
    doorway: Doorway,
    pack: str,
    how: tuple[str, ...],
    car: str,
    shelf: str,
    when: str,
    yes: bool,
    as_json: bool,
) -> None:
    """Log how a pack is put away.

    \b
    snugfast packs away “Ember 1” unplugged
    snugfast packs away “Ember 1” plugged in with the switch off --car Bramble
    snugfast packs away “Ember 1” left switched on --car Bramble

    \b
    Packed to be sent? By air a lithium pack goes as cargo, at most 30 % charged:
    snugfast packs show NAME says what has to come out first.
    """
    from snugfast.usecases.packs.log import draft_stands

    workshop = doorway.open()
    draft = draft_stands(workshop, pack, " ".join(how), car=car, shelf=shelf, when=when)
    _keep(workshop, draft, ("pack-storage",), yes=yes, as_json=as_json)


@click.command()
@click.argument("car")
@click.argument("current")
@options(*HELD)
@click.pass_obj
def drain(doorway: Doorway, car: str, current: str, yes: bool, as_json: bool) -> None:
    """Log what a car draws with its switch off, measured: snugfast packs drain Bramble “5 mA”"""
    from snugfast.usecases.packs.log import draft_drain

    workshop = doorway.open()
    _keep(workshop, draft_drain(workshop, car, current), ("pack-plugs",), yes=yes, as_json=as_json)


COMMANDS = (looked, hurt, cleared, measured, charged, away, drain)
