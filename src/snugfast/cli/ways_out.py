"""Ways out in the words of the command line: what to type next."""

from __future__ import annotations

import click

from snugfast.core.errors import SnugfastError, WrongData
from snugfast.core.findings import Finding
from snugfast.core.spelling import respell
from snugfast.core.ways_out import Action, WayOut

# Begins with an option where something is added to the command just typed.
TYPE = {
    Action.ADD_CAR: "snugfast car add NAME --from STARTER",
    Action.ADD_PACK: "snugfast packs add NAME --cells 3 --capacity 5000mAh",
    Action.ADD_CHARGER: "snugfast packs charger NAME",
    Action.ADD_TO_BOX: "snugfast box add CAR PLACE --count 2",
    Action.BACK_UP: "snugfast backup",
    Action.BRING_BACK: "snugfast redo",
    Action.CHANGE_BUILD: "snugfast car build {about}",
    Action.CHANGE_PACK: "snugfast packs change {about}",
    Action.CHANGE_SETTINGS: "snugfast settings --help",
    Action.COMPILE_AHEAD: "snugfast self-check --warm",
    Action.CORRECT_RUN: "snugfast correct",
    Action.FIT_PART: "snugfast fitted CAR PLACE",
    Action.LOOK_OVER_PACK: "snugfast packs looked {about} nothing",
    Action.MEASURE_PACK: 'snugfast packs measured {about} --volts "3.80 3.81 3.79"',
    Action.REBUILD: "snugfast self-check --rebuild",
    Action.RESTORE: "snugfast restore BACKUP",
    Action.SEE_CHARGERS: "snugfast packs chargers",
    Action.SEE_JOURNAL: "snugfast journal",
    Action.SEE_PLACES: "snugfast car places {about}",
    Action.SEE_SHEET: "snugfast sheet {about}",
    Action.STORE_PACK: "snugfast packs store {about}",
    Action.WAKE_CAR: "snugfast wake-up {about}",
    Action.GIVE_CORNER: "--corner",
    Action.GIVE_FACE: "--face 6mm",
    Action.GIVE_FINAL_RATIO: "--final-ratio or --peak-torque",
    Action.GIVE_INTERNAL_RATIO: "--internal 3.3",
    Action.GIVE_MASS: "--mass 2.4kg",
    Action.GIVE_MODE: "--mode",
    Action.GIVE_PACK: "--pack NAME",
    Action.GIVE_PEAK_TORQUE: "--peak-torque",
    Action.GIVE_PINIONS: "--pinions",
    Action.GIVE_PINION_TEETH: "--pinion TEETH",
    Action.GIVE_PITCH: '--pitch "module 0.8"',
    Action.GIVE_SHAFT: "--shaft 5mm",
    Action.GIVE_SPUR_TEETH: "--spur TEETH",
    Action.LEAVE_DRAG_OUT: "--drag",
    Action.OPEN_FOR_WRITING: "--read-only",
    Action.ROLL_OR_RUN_FREE: "--runs-free, or --push-roll 3m",
}


def typed(way_out: str) -> str:
    """A way out, with what to type where it takes an action."""
    if not isinstance(way_out, WayOut):
        return way_out
    name = f'"{way_out.about}"' if " " in way_out.about else way_out.about
    words = TYPE[way_out.action].format(about=name or "NAME")
    if words.startswith("--"):
        return f"{way_out.rstrip('. ')} ({words})."
    return f"{way_out.rstrip('. ')}: {words}" if len(way_out) else f"Type: {words}"


def sentence(finding: Finding) -> str:
    """One thing wrong in one line, with what to type."""
    return finding.sentence_with(typed(finding.way_out))


def tell_refusal(refused: SnugfastError) -> None:
    """Say on the error stream what was refused, and what to do next."""
    if isinstance(refused, WrongData):
        click.echo(refused.heading, err=True)
        for finding in refused.findings:
            click.echo(respell(f"  {sentence(finding)}"), err=True)
        return
    click.echo(respell(refused.sentence), err=True)
    if refused.way_out:
        click.echo(respell(typed(refused.way_out)), err=True)
