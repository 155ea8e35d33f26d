"""Cars: adding from a starter build, listing, places, editing the build as TOML."""

from __future__ import annotations

import shlex
from pathlib import Path

import click

from snugfast.cli.doorway import Doorway, counted, keep_after_echo, print_json, to_type
from snugfast.cli.one_off import arrive
from snugfast.cli.options import HELD, JSON, options
from snugfast.cli.whole_help import WholeHelp
from snugfast.cli.writing import FORCE, write_text


@click.group(cls=WholeHelp)
def car() -> None:
    """Add a car, list cars, see its places, edit its build, its first-check list."""


car.add_command(arrive)


@car.command()
@click.argument("name")
@click.option("--from", "starter_key", metavar="STARTER", help="A starter build: ours, unbranded.")
@click.option("--build", "build_file", type=click.Path(path_type=Path), help="Your own build as a TOML file.")
@click.option("--history", default="new", help="new, second-hand or unknown.")
@click.option("--when", default="", help="Since when it is here: today, 2026-05-03, “about May”.")
@options(*HELD)
@click.pass_obj
def add(
    doorway: Doorway,
    name: str,
    starter_key: str | None,
    build_file: Path | None,
    history: str,
    when: str,
    yes: bool,
    as_json: bool,
) -> None:
    """Add a car from a starter build or from your own TOML file."""
    from snugfast.core.errors import BadInput
    from snugfast.records.ledger import Ledger
    from snugfast.usecases.journal.cars import draft_car, read_build_text, starter
    from snugfast.usecases.shared.draft import Draft
    from snugfast.usecases.shared.telling import tell

    workshop = doorway.open()
    if (starter_key is None) == (build_file is None):
        listed = ", ".join(workshop.facts.starters)
        raise BadInput("Say what the car is made of.", f"Type --from with one of {listed}, or --build FILE.")
    if build_file is not None:
        build = read_build_text(workshop, _text(build_file), build_file.name)
    else:
        build = starter(workshop, starter_key or "")
    entry = draft_car(workshop, name, build, history=history, when=when, from_starter=starter_key or "")
    told = tell(entry, workshop.facts, Ledger())
    echo = f"{told} It has {len(build.places)} places: snugfast car places {name}"
    keep_after_echo(workshop, Draft((entry,), (echo,)), yes=yes, as_json=as_json)
    if not as_json:
        click.echo(f"Next: {to_type(f'sheet {shlex.quote(name)}')}")


@car.command("list")
@JSON
@click.pass_obj
def listing(doorway: Doorway, as_json: bool) -> None:
    """The cars that are here."""
    from snugfast.usecases.shared.ledger import ledger_now

    workshop = doorway.open()
    with workshop.store.reading() as reads:
        cars = [car for car in ledger_now(reads).cars.values() if car.left_at is None]
    if as_json:
        print_json(
            [
                {"id": car.id, "name": car.name, "build": car.build["name"], "habits": car.habits}
                for car in cars
            ]
        )
        return
    for car in cars:
        last = f"{car.habits.last_run_at:%Y-%m-%d}" if car.habits.last_run_at else "never"
        click.echo(
            f"{car.name:<16} {car.build['name']:<44} {counted(car.habits.runs, 'run'):>9}, last {last}"
        )
    if not cars:
        click.echo("No cars yet. Type: snugfast car add NAME --from STARTER")


@car.command()
@click.argument("name")
@JSON
@click.pass_obj
def places(doorway: Doorway, name: str, as_json: bool) -> None:
    """What a car is made of: each place, its part and its sizes."""
    from snugfast.usecases.pedigree import SEEN_WORDS
    from snugfast.usecases.shared.lookup import car_and_build
    from snugfast.usecases.shared.telling import tell_size

    workshop = doorway.open()
    _, build = car_and_build(workshop, name)
    if as_json:
        print_json(build.places)
        return
    facts, notch = workshop.facts, ""
    for place in build.places:
        role = facts.roles[place.role]
        if role.notch != notch:
            notch = role.notch
            click.echo(f"\n{notch}")
        sizes = [
            f"{facts.size_names[key]} {tell_size(facts, key, value)}" for key, value in place.sizes.items()
        ]
        seen = SEEN_WORDS[facts.sources[place.pedigree.source].seen]
        click.echo(f"  {place.key:<24} {place.part}  ({'; '.join((', '.join(sizes), seen)).lstrip('; ')})")


@car.command("build")
@click.argument("name")
@click.option("--out", type=click.Path(path_type=Path), help="Write it to this file to edit.")
@FORCE
@click.pass_obj
def build_out(doorway: Doorway, name: str, out: Path | None, force: bool) -> None:
    """Print a car's build as the TOML you can edit."""
    from snugfast.usecases.journal.cars import build_text

    text = build_text(doorway.open(), name)
    if out is None:
        click.echo(text, nl=False)
        return
    write_text(out, text, force=force)
    click.echo(f"Written to {out}. Edit it, then type: snugfast car rebuild {name} {out}")


@car.command()
@click.argument("name")
@click.argument("file", type=click.Path(path_type=Path))
@options(*HELD)
@click.pass_obj
def rebuild(doorway: Doorway, name: str, file: Path, yes: bool, as_json: bool) -> None:
    """Take an edited build back in. All its mistakes are said at once, and then nothing is saved."""
    from snugfast.core.errors import RefusedAction
    from snugfast.usecases.journal.cars import build_changes, car_build_of, draft_build
    from snugfast.usecases.shared.draft import Draft
    from snugfast.usecases.shared.lookup import car_and_build

    workshop = doorway.open()
    before = car_and_build(workshop, name)[1]
    entry = draft_build(workshop, name, _text(file), file.name)
    changes = build_changes(before, car_build_of(workshop, entry))
    if not changes:
        raise RefusedAction(f"{file} says nothing new about {name}.", "Edit it first, and save it.")
    echo = (f"The build of {name} is as in {file}:", *(f"  {line}" for line in changes))
    keep_after_echo(workshop, Draft((entry,), echo), yes=yes, as_json=as_json)


@car.command()
@click.argument("name")
@click.argument("packs_low")
@click.argument("packs_high")
@options(*HELD)
@click.pass_obj
def back(doorway: Doorway, name: str, packs_low: str, packs_high: str, yes: bool, as_json: bool) -> None:
    """A car came back from a loan after some packs: give the fewest and the most it may have been."""
    from snugfast.usecases.journal.cars import draft_back
    from snugfast.usecases.shared.draft import Draft

    workshop = doorway.open()
    entry = draft_back(workshop, name, packs_low, packs_high)
    echo = f"{name} came back after {packs_low} to {packs_high} packs elsewhere."
    keep_after_echo(workshop, Draft((entry,), (echo,)), yes=yes, as_json=as_json)


def _text(file: Path) -> str:
    from snugfast.core.errors import BadInput

    try:
        return file.read_text("utf-8")
    except (OSError, UnicodeDecodeError) as error:
        why = (error.strerror or "").lower() if isinstance(error, OSError) else "it is not UTF-8 text"
        raise BadInput(
            f"{file} cannot be read: {why}.", "Check the path and that it is a text file."
        ) from error
