"""The command line. Help is printed without importing anything heavy; each command brings its own."""

from __future__ import annotations

import importlib
import os
import sys
from typing import Any

import click

from snugfast import __version__
from snugfast.cli.doorway import Doorway
from snugfast.cli.ways_out import tell_refusal
from snugfast.core.errors import SnugfastError

COMMANDS: dict[str, tuple[str, str]] = {
    "begin": ("begin:begin", "Make a workshop and say what your minutes are worth"),
    "demo": ("demo:demo", "Make the demo workshop and print tonight's sheet for one car"),
    "car": ("car:car", "Add a car, list cars, edit a build"),
    "packs": ("packs:packs", "Packs: what they ask for, charging, storing, wear, harm"),
    "ran": ("ran:ran", "Log a run"),
    "caught-up": ("ran:caught_up", "Log running remembered in bulk"),
    "broke": ("ran:broke", "Log something found broken off the track"),
    "sheet": ("sheet:sheet", "What is worth checking now, in order, with why and how"),
    "found": ("found:found", "Answer a check: sound, loose, worn, failed …"),
    "treat": ("treat:treat", "What is due after wet, and saying that it was done"),
    "lay-up": ("one_off:lay_up", "Put a car away for a while, with what to do first"),
    "wake-up": ("one_off:wake_up", "Wake a car that was put away"),
    "fitted": ("parts:fitted", "Log a part fitted"),
    "moved": ("parts:moved", "Log a part moved from one car to another"),
    "work": ("parts:work", "Log work that shakes things up: radio work, a hard hit"),
    "journal": ("journal:journal", "What was logged, newest first"),
    "correct": ("ran:correct", "Correct a run; the first version stays in the journal"),
    "withdraw": ("journal:withdraw", "Take one entry back"),
    "undo": ("journal:undo", "Take the last entry back"),
    "redo": ("journal:redo", "Bring back what was undone last"),
    "mesh": ("mesh:mesh", "The mesh after a hit, how it should stand, how to set it"),
    "gearing": ("gearing:gearing", "What each gearing does to speed, heat and run time; fit the twin"),
    "joint": ("joint:joint", "How tight, with which key, whether it holds: screws, nuts, set screws"),
    "bearings": ("bearings:bearings", "Every bearing by size, an order list, life, heat when one seizes"),
    "drag": ("drag:drag", "Time a wheel or a roll, against the car's own baseline"),
    "kit": ("kit:kit", "The smallest set of tools, and the screws and nuts, for your cars"),
    "settings": ("settings:settings", "See or change what minutes are worth, currency, zone"),
    "pedigree": ("pedigree:pedigree", "Where a number comes from: any mode, check or source"),
    "backup": ("keep_safe:backup", "Take a verified backup"),
    "restore": ("keep_safe:restore", "Put a backup in the store's place, after a look"),
    "hand-over": ("keep_safe:hand_over", "Write everything into one archive"),
    "take-in": ("keep_safe:take_in", "Take in an archive, or a store that parted from this one"),
    "self-check": ("keep_safe:self_check", "Look everything through, each line with a way out"),
    "serve": ("serve:serve", "Open the pages for a phone or a desktop"),
}


class LazyGroup(click.Group):
    """Commands are imported when they are called; their help lines stand in the table above."""

    def list_commands(self, ctx: click.Context) -> list[str]:
        """The commands in the order of the table, which is the order of use."""
        return list(COMMANDS)

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:
        """Import the one command that was asked for."""
        if cmd_name not in COMMANDS:
            return None
        module, name = COMMANDS[cmd_name][0].split(":")
        command: click.Command = getattr(importlib.import_module(f"snugfast.cli.{module}"), name)
        return command

    def resolve_command(self, ctx: click.Context, args: list[str]) -> Any:
        """Find the command; an unknown one is answered with the nearest."""
        try:
            return super().resolve_command(ctx, args)
        except click.UsageError as unknown:
            from difflib import get_close_matches

            near = get_close_matches(args[0], COMMANDS, n=2)
            hint = f"Did you mean {' or '.join(near)}?" if near else "See: snugfast --help"
            raise click.UsageError(f"There is no command “{args[0]}”. {hint}") from unknown

    def format_commands(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:
        """List the commands from the table."""
        with formatter.section("Commands"):
            formatter.write_dl([(name, text) for name, (_, text) in COMMANDS.items()])


KEEPING = (
    "What a command would keep it tells first, and then asks. Where nobody can be asked (a script, --json) "
    "it keeps nothing without --yes. Exit codes: 0 done; 1 nothing kept, since nobody said yes, or "
    "self-check found trouble; 2 refused, with what to do."
)


@click.group(cls=LazyGroup, epilog=KEEPING, context_settings={"help_option_names": ["-h", "--help"]})
@click.version_option(__version__, prog_name="snugfast")
@click.option("--workshop", metavar="FILE", help="The workshop's file, folder or database address.")
@click.option("--by", metavar="NAME", default="", help="Who is at the bench.")
@click.option("--read-only", is_flag=True, help="Write nothing.")
@click.pass_context
def snugfast(ctx: click.Context, workshop: str | None, by: str, read_only: bool) -> None:
    """Which checks are worth the minutes before the next run, worked out from your own records.

    Begin with: snugfast demo
    """
    ctx.obj = Doorway(workshop, by, read_only, os.environ)


def main() -> None:
    """Run the command line; a refusal is one clear sentence, a way out, and its exit code, most often 2."""
    try:
        snugfast(standalone_mode=False)
    except SnugfastError as refused:
        tell_refusal(refused)
        sys.exit(refused.exit_code)
    except click.ClickException as wrong:
        wrong.show()
        sys.exit(wrong.exit_code)
    except click.Abort:
        click.echo("Stopped; nothing was kept.", err=True)
        sys.exit(1)
    except BrokenPipeError:
        sys.stderr.close()
        sys.exit(0)


if __name__ == "__main__":
    main()
