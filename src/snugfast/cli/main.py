"""The command line. Help is printed without importing anything heavy; each command brings its own."""

from __future__ import annotations

import atexit
import errno
import gc
import importlib
import json
import os
import re
import sys
from contextlib import suppress
from typing import Any

import click

# Products of small matrices spend more on meeting threads than on the sums; said before NumPy is loaded.
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

from snugfast import __version__
from snugfast.cli.doorway import Doorway
from snugfast.cli.terminal import fit_to_be_shown
from snugfast.cli.ways_out import tell_refusal, typed
from snugfast.core.errors import BadInput, RefusedAction, SnugfastError, Unforeseen, WrongData
from snugfast.core.spelling import OURS, use

COMMANDS: dict[str, tuple[str, str]] = {
    "begin": ("begin:begin", "Make a workshop and say what your minutes are worth"),
    "demo": ("demo:demo", "Make the demo workshop and print tonight's sheet for one car"),
    "car": ("car:car", "Add a car, list cars, edit a build"),
    "packs": ("packs:packs", "Packs: what they ask for, charging, storing, wear, harm"),
    "outing": ("outing:outing", "Log a day out: cars, packs, minutes; then what it means now"),
    "ran": ("ran:ran", "Log a run"),
    "caught-up": ("ran:caught_up", "Log running remembered in bulk"),
    "broke": ("ran:broke", "Log something found broken off the track"),
    "hunt": ("hunt:hunt", "It stopped or runs badly: find the cause, one test after the other"),
    "sheet": ("sheet:sheet", "What is worth checking now, in rounds; how to do each line"),
    "found": ("found:found", "Answer the sheet by number: 18 loose front left, rest ok"),
    "bench": ("bench:bench", "Work through the sheet key by key"),
    "treat": ("treat:treat", "What is to be done after a run, dusty or wet"),
    "lay-up": ("one_off:lay_up", "Put a car away for a while, with what to do first"),
    "wake-up": ("one_off:wake_up", "Wake a car that was put away"),
    "fitted": ("parts:fitted", "Log a part fitted"),
    "moved": ("parts:moved", "Log a part moved from one car to another"),
    "work": ("parts:work", "Log work that shakes things up: radio work, a hard hit"),
    "journal": ("journal:journal", "What was logged, newest first"),
    "correct": ("ran:correct", "Correct a run; the first version stays in the journal"),
    "withdraw": ("journal:withdraw", "Take one entry back"),
    "undo": ("journal:undo", "Take back what was saved last"),
    "redo": ("journal:redo", "Bring back what was undone last"),
    "mesh": ("mesh:mesh", "The mesh after a hit, how it should stand, how to set it"),
    "gearing": ("gearing:gearing", "What each gearing does to speed, heat and run time; fit the car model"),
    "joint": ("joint:joint", "How tight, with which key, whether it holds: screws, nuts, set screws"),
    "bearings": ("bearings:bearings", "Every bearing by size, an order list, life, heat when one seizes"),
    "drag": ("drag:drag", "Time a wheel or a roll, against the car's own baseline"),
    "rail": ("rail:rail", "Can this servo reset this receiver? The ESC's supply against a stalled servo"),
    "steering": (
        "steering:steering",
        "Set end points at the bench, saved per radio; what the linkage can do",
    ),
    "wires": ("wires:wires", "What wires and connectors lose, how hot they get, what thicker ones buy"),
    "solder": ("wires:solder", "Solder a connector, step by step (adults only)"),
    "setup": ("setup:setup", "The set-up as it stands and stood: corners, oils, why and how it drove"),
    "motor": ("motor:motor", "Is the motor weak? Readings at the bench against its own earlier ones"),
    "radio": ("radio:radio", "Failsafe and range as tested, model memories, limits for a learner"),
    "fluids": ("fluids:fluids", "Oils, greases, what is due for a rebuild, what attacks what"),
    "rebuild": ("fluids:rebuild", "A shock or diff rebuild, step by step"),
    "dates": ("dates:dates", "What has a date: packs, wet, worn parts; a calendar file"),
    "labels": ("labels:labels", "Labels with a code for packs, cars and drawers"),
    "field-sheet": ("field:field_sheet", "One file for a phone in the field, without a network"),
    "take-along": ("on_paper:take_along", "What to take to the next outing; on paper with --pdf"),
    "kit": ("kit:kit", "The smallest set of tools, and the screws and nuts, for your cars"),
    "box": ("box:box", "The box of spares: what is in it, what fits, what to carry, what to buy"),
    "money": ("money:money", "What it costs: paid by month, used up by car and hour, what checks avoided"),
    "settings": ("settings:settings", "See or change units, dates, what minutes are worth, currency, zone"),
    "pedigree": ("pedigree:pedigree", "Where a number comes from: any mode, check or source"),
    "backup": ("keep_safe:backup", "Take a verified backup"),
    "restore": ("keep_safe:restore", "Put a backup in the store's place, after a look"),
    "hand-over": ("keep_safe:hand_over", "Write everything into one archive"),
    "take-in": ("keep_safe:take_in", "Take in an archive, field notes, or a store that parted from this one"),
    "self-check": ("keep_safe:self_check", "Look everything through, each line with a way out"),
    "completion": ("completion:completion", "Make the Tab key complete commands in your shell"),
    "serve": ("serve:serve", "Open the pages for a phone or a desktop"),
}

SECTIONS: dict[str, str] = {
    "Begin": "begin demo car packs settings",
    "After driving": "outing ran caught-up broke treat",
    "Something is wrong": "hunt",
    "At the bench": "sheet found bench rebuild solder fitted moved work lay-up wake-up",
    "Set up and work out": "setup steering radio gearing mesh joint bearings drag motor rail wires fluids",
    "Parts, money, the next outing": "box money take-along kit dates labels field-sheet serve",
    "The journal": "journal correct withdraw undo redo pedigree",
    "Keep it safe": "backup restore hand-over take-in self-check completion",
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
        named = args[0]
        try:
            return super().resolve_command(ctx, args)
        except click.UsageError as unknown:
            from difflib import get_close_matches

            near = get_close_matches(named, COMMANDS, n=2)
            hint = f"Did you mean {' or '.join(near)}?" if near else "See: snugfast --help"
            raise click.UsageError(f"There is no command “{named}”. {hint}") from unknown

    def format_commands(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:
        """List the commands from the table, by what one wants to do."""
        for title, names in SECTIONS.items():
            with formatter.section(title):
                formatter.write_dl([(name, COMMANDS[name][1]) for name in names.split()])


MADE_BEFORE_SWEEPING = 500_000
"""A command makes its objects and ends: sweeping through them meanwhile was a fifth of its time."""

KEEPING = (
    "What a command would save it tells first, and then asks. Where nobody can be asked (a script, --json) "
    "it saves nothing without --yes. An outing and the answers of bench are saved at once, with undo. "
    "Exit codes: 0 done; 1 nothing saved, since nobody agreed, or self-check found "
    "trouble; 2 refused, with what to do; 3 a fault of ours, written down under a number."
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
    use(OURS)
    before = gc.get_threshold()
    gc.set_threshold(MADE_BEFORE_SWEEPING)
    atexit.unregister(gc.freeze)
    atexit.register(gc.freeze)  # what is there at the end goes with the process, unswept
    try:
        with fit_to_be_shown():
            code = _ended()
    finally:
        gc.set_threshold(*before)
    sys.exit(code)


def _ended() -> int:
    """How the command ended. Whatever went wrong is said here, and nowhere else."""
    try:
        snugfast(standalone_mode=False)
        sys.stdout.flush()  # a full disk under the output is met here, and not when nobody listens any more
        return 0
    except click.exceptions.Exit as ended:
        return ended.exit_code
    except SystemExit as ended:
        return ended.code if isinstance(ended.code, int) else int(ended.code is not None)
    except (click.Abort, KeyboardInterrupt):
        return _say(RefusedAction("Stopped; nothing was saved."), 1)
    except BrokenPipeError:
        _let_go(sys.stdout)
        return 0
    except click.ClickException as wrong:
        if not _wants_json():
            wrong.show()
            if example := _example(wrong):
                click.echo(f"Like: {example}", err=True)
            return wrong.exit_code
        return _say(BadInput(wrong.format_message()), wrong.exit_code)
    except BaseException as error:
        from snugfast.app.unforeseen import refusal_of

        refused = refusal_of(error, doing=_doing())
        if any(
            isinstance(one, OSError) and one.errno in (errno.ENOSPC, errno.EPIPE)
            for one in (error, error.__cause__)
        ):
            _let_go(sys.stdout)  # the output itself may be what is full
        return _say(refused, refused.exit_code)


def _example(wrong: click.ClickException) -> str:
    """The first example in the help of the command that was typed wrong."""
    command = wrong.ctx.command if isinstance(wrong, click.UsageError) and wrong.ctx else None
    found = re.search(r"snugfast [a-z][^\n]*", (command.help or "") if command else "")
    return found[0].partition("  ")[0].strip() if found else ""


def _say(refused: SnugfastError, code: int) -> int:
    """A refusal on the error output, as data where plain data was asked for."""
    try:
        if _wants_json():
            click.echo(
                json.dumps({"error": _as_data(refused), "exit_code": code}, ensure_ascii=False), err=True
            )
        else:
            tell_refusal(refused)
    except OSError:
        _let_go(sys.stderr)  # nobody to say it to; the exit code still does
    return code


def _as_data(refused: SnugfastError) -> dict[str, Any]:
    data: dict[str, Any] = {"sentence": refused.sentence, "way_out": typed(refused.way_out)}
    if isinstance(refused, WrongData):
        data["sentence"] = refused.what
        data["findings"] = [
            {"where": one.where, "problem": one.problem, "way_out": typed(one.way_out)}
            for one in refused.findings
        ]
    if isinstance(refused, Unforeseen):
        data["number"] = refused.number
    return data


def _wants_json() -> bool:
    return "--json" in sys.argv[1:]


def _doing() -> str:
    """The command, without what was typed into it."""
    return " ".join(["snugfast", *(word for word in sys.argv[1:] if word in COMMANDS)][:2])


def _let_go(stream: Any) -> None:
    """Point an output that takes nothing more at nothing, so that leaving does not trip over it again."""
    with suppress(OSError, ValueError, AttributeError):
        os.dup2(os.open(os.devnull, os.O_WRONLY), stream.fileno())


if __name__ == "__main__":
    main()
