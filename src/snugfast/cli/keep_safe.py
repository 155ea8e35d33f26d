"""Nothing lost: backup, restore, hand-over, take-in, lists, self-check."""

from __future__ import annotations

import sys
from pathlib import Path

import click

from snugfast.cli.doorway import Doorway, consent, counted, print_json, to_type
from snugfast.cli.options import JSON, YES, options
from snugfast.cli.ways_out import typed


@click.command()
@click.option("--to", type=click.Path(path_type=Path), help="A folder; beside the store if left out.")
@JSON
@click.pass_obj
def backup(doorway: Doorway, to: Path | None, as_json: bool) -> None:
    """Take a backup and verify it. Of the older ones a daily, weekly and monthly few are kept."""
    from snugfast.usecases.safekeeping.backups import back_up_now

    done = back_up_now(doorway.open(), to)
    if as_json:
        print_json(
            {"path": str(done.backup.path), "rows": done.backup.rows, "let_go": [str(p) for p in done.let_go]}
        )
        return
    entries = done.backup.rows.get("entry", 0)
    click.echo(f"{done.backup.path}: {entries} entries, verified.")
    if done.let_go:
        click.echo(f"{counted(len(done.let_go), 'older backup')} let go by the keep rule.")


@click.command()
@click.argument("file", type=click.Path(path_type=Path))
@options(YES)
@click.pass_obj
def restore(doorway: Doorway, file: Path, yes: bool) -> None:
    """Put a backup in the store's place, after a look; what it replaces is kept, untouched."""
    from snugfast.app.opening import url_of, utc_now
    from snugfast.records.store.engines import address_of
    from snugfast.records.store.restoring import look_at, restore

    address = address_of(url_of(doorway.where))
    for name, path in (("The backup", file), ("The store", address.file)):
        if path is not None and path.is_file():
            look = look_at(path)
            state = look.findings[0] if look.findings else "sound"
            entries = look.rows.get("entry", 0)
            click.echo(
                f"{name}: {path}: {entries} entries, newest recorded {look.newest or 'never'}, {state}."
            )
            for why in look.unreadable[:5]:
                click.echo(f"  An entry in it does not read: {why}")
    consent("Put the backup in the store's place?", yes=yes, usual=False)
    done = restore(file, address, now=utc_now())
    click.echo(f"{done.restored} is now as in the backup.")
    if done.replaced is not None:
        click.echo(f"What it replaced is kept as {done.replaced}.")


@click.command("hand-over")
@click.argument("file", type=click.Path(path_type=Path))
@click.option(
    "--lists", type=click.Path(path_type=Path), help="Also write each list as CSV into this new folder."
)
@click.pass_obj
def hand_over(doorway: Doorway, file: Path, lists: Path | None) -> None:
    """Write everything into one archive that can be read without Snugfast."""
    from snugfast.exchange.archive import write_archive
    from snugfast.exchange.lists import write_lists
    from snugfast.usecases.safekeeping.hand_over import hand_over
    from snugfast.usecases.safekeeping.lists import listings

    workshop = doorway.open()
    written = write_archive(hand_over(workshop), file)
    click.echo(
        f"{written.path}: {counted(written.entries, 'entry', 'entries')}, "
        f"{counted(written.people, 'person', 'people')}."
    )
    if lists is not None:
        for path in write_lists(listings(workshop), lists):
            click.echo(f"{path}")


def _take_in_notes(doorway: Doorway, file: Path, *, as_json: bool) -> bool:
    """Take field notes in; False where the file holds none."""
    typed_in = str(file) == "-"
    if not typed_in and not file.is_file():
        return False
    from snugfast.exchange.notes_files import is_picture, notes_in

    if typed_in:
        data = sys.stdin.buffer.read()
    else:
        with file.open("rb") as begun:
            start = begun.read(4096)
        if not (is_picture(start) or b"field notes" in start):
            return False
        data = file.read_bytes()

    from snugfast.usecases.field.notes import take_in_notes

    done = take_in_notes(doorway.open(), notes_in(data))
    if as_json:
        print_json(done)
        return True
    for told in done.told:
        click.echo(told)
    click.echo(f"{counted(done.new, 'note is', 'notes are')} new, {done.known} were here already.")
    if done.new:
        click.echo(f"To take them back: {to_type('undo')}")
    return True


@click.command("take-in")
@click.argument("file", type=click.Path(path_type=Path))
@click.option("--leave-out", is_flag=True, help="Take in the rest when some lines cannot be, and list them.")
@JSON
@click.pass_obj
def take_in(doorway: Doorway, file: Path, leave_out: bool, as_json: bool) -> None:
    """Take in an archive, or a store that parted from this one: what is new is added, nothing dropped.

    Without a workshop here, the archive becomes it. Lines that cannot be true are refused, all at once.
    Notes of a field sheet are taken in too: their text in a file, “-” for what is typed or piped in, or a
    photograph of their codes.
    """
    if _take_in_notes(doorway, file, as_json=as_json):
        return
    from snugfast.exchange.meeting import everything_in, open_or_make
    from snugfast.usecases.safekeeping.hand_over import take_in

    everything = everything_in(file, leave_out=leave_out)
    workshop = open_or_make(doorway.where, everything, by=doorway.by, read_only=doorway.read_only)
    done = take_in(workshop, everything, leave_out=leave_out)
    if as_json:
        print_json(done)
        return
    new = counted(done.new, "entry is", "entries are")
    people = f"; {counted(done.new_people, 'new person', 'new people')}" if done.new_people else ""
    click.echo(f"{new} new, {done.known} were here already{people}.")
    for left in done.left_out:
        click.echo(f"Left out: {left.sentence}")
    for one in done.contradictions:
        click.echo(
            f"These contradict each other, and both were saved: {one.sentence}\n  {typed(one.way_out)}"
        )


@click.command("self-check")
@click.option(
    "--rebuild", is_flag=True, help="Drop all that is worked out; it is worked out anew when asked for."
)
@click.option("--warm", is_flag=True, help="Compile the car model now, so that no question waits for it.")
@JSON
@click.pass_obj
def self_check(doorway: Doorway, rebuild: bool, warm: bool, as_json: bool) -> None:
    """Look everything through: store, journal, clock, space, backups, tables, car model.

    The exit code is 1 on trouble.
    """
    from snugfast.app.kernel_cache import look_at_kernel
    from snugfast.usecases.safekeeping.self_check import State, self_check

    workshop = doorway.open()
    if rebuild:
        with workshop.store.work() as work:
            work.projections.drop_all()
            work.commit()
    lines = self_check(workshop, lambda: look_at_kernel(may_compile=warm))
    if as_json:
        print_json(lines)
    else:
        for line in lines:
            click.echo(f"{line.what:<20} {line.state.value:<13} {line.seen}")
            if line.way_out:
                click.echo(f"{'':<34} {typed(line.way_out)}")
    if any(line.state is State.TROUBLE for line in lines):
        sys.exit(1)
