"""The box of spares: what is in it, what fits where, orders, what to carry, what to buy."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from snugfast.cli.doorway import Doorway, counted, keep_after_echo, print_json
from snugfast.cli.figures import echo_sources
from snugfast.cli.on_paper import PDF, link_of, write_leaf
from snugfast.cli.options import HELD, JSON, WHEN, options
from snugfast.cli.whole_help import WholeHelp
from snugfast.cli.writing import FORCE, write_said

if TYPE_CHECKING:
    from snugfast.usecases.spares.buy import BuyList
    from snugfast.usecases.spares.carry import CarryList
    from snugfast.usecases.stock.box import BoxLine, BoxList
    from snugfast.usecases.stock.kinds import Fit

CSV = (
    click.option("--csv", "csv_file", type=click.Path(path_type=Path), help="Write it for a spreadsheet."),
    FORCE,
)
SAID = (
    click.option("--name", default="", help="What you call it."),
    click.option("--count", default="", help="How many pieces are there."),
    click.option("--in", "place", default="", help="Where it lies: “drawer 2”."),
    click.option("--minimum", default="", help="Fewer than this is too few."),
    click.option("--price", default="", help="Of one piece, like 1.20."),
    click.option("--packs-of", "pack_of", default="", help="How many are sold together."),
    click.option("--from", "supplier", default="", help="Where you buy it, in your own words."),
    click.option("--days", default="", help="Days until an order comes."),
)


@click.group(cls=WholeHelp, invoke_without_command=True)
@click.pass_context
def box(ctx: click.Context) -> None:
    """The box of spares: what is in it, what fits, what to carry, what to buy.

    Alone it lists the box.
    """
    if ctx.invoked_subcommand is None:
        ctx.invoke(listed)


@box.command("list")
@click.argument("car", default="")
@options(*CSV)
@JSON
@click.pass_obj
def listed(
    doorway: Doorway, car: str = "", csv_file: Path | None = None, force: bool = False, as_json: bool = False
) -> None:
    """What is in the box, for all cars or for one."""
    from snugfast.usecases.stock.box import box_list

    found = box_list(doorway.open(), car)
    if csv_file is not None:
        from snugfast.exchange.box_lists import box_csv

        write_said(csv_file, box_csv(found), force=force)
    elif as_json:
        print_json(found)
    else:
        for line in _list_lines(found):
            click.echo(line)


@box.command()
@click.argument("car")
@click.argument("place_of_car", metavar="PLACE")
@click.option("--size", "sizes", multiple=True, help="A size that differs from the build: teeth_count=15.")
@options(*SAID, *HELD)
@click.pass_obj
def add(
    doorway: Doorway,
    /,
    car: str,
    place_of_car: str,
    sizes: tuple[str, ...],
    yes: bool,
    as_json: bool,
    **said: Any,
) -> None:
    """Put a part in the box, by a place it goes in. The same part elsewhere is known by its sizes.

    snugfast box add Bramble “outer wheel bearings” --count 10 --in “drawer 2” --price 1.20 --packs-of 10
    """
    from snugfast.usecases.stock.drafts import BoxPartSaid, draft_part

    workshop = doorway.open()
    draft = draft_part(workshop, BoxPartSaid(car, place_of_car, sizes=sizes, **said))
    keep_after_echo(workshop, draft, yes=yes, as_json=as_json)


@box.command()
@click.argument("part")
@options(*SAID, *HELD)
@click.pass_obj
def change(doorway: Doorway, /, part: str, yes: bool, as_json: bool, **said: Any) -> None:
    """Change what is said of a part of the box: name only what is new."""
    from snugfast.usecases.stock.drafts import BoxPartSaid, draft_part

    workshop = doorway.open()
    keep_after_echo(workshop, draft_part(workshop, BoxPartSaid(part=part, **said)), yes=yes, as_json=as_json)


@box.command()
@click.argument("counted_parts", nargs=-1, required=True, metavar="PART PIECES [PART PIECES]...")
@WHEN
@options(*HELD)
@click.pass_obj
def count(doorway: Doorway, counted_parts: tuple[str, ...], when: str, yes: bool, as_json: bool) -> None:
    """A stock-take: snugfast box count 3 12 “nylon locknut M4” 20"""
    from snugfast.core.errors import BadInput
    from snugfast.usecases.stock.drafts import draft_counted

    if len(counted_parts) % 2:
        raise BadInput("A part or its number is missing.", "Write PART PIECES, and again for the next.")
    pairs = tuple(zip(counted_parts[::2], counted_parts[1::2], strict=True))
    workshop = doorway.open()
    keep_after_echo(workshop, draft_counted(workshop, pairs, when=when), yes=yes, as_json=as_json)


@box.command()
@click.argument("part")
@click.argument("pieces", default="1")
@click.option("--why", default="", help="Given away, lost, used on something else.")
@options(*HELD)
@click.pass_obj
def take(doorway: Doorway, part: str, pieces: str, why: str, yes: bool, as_json: bool) -> None:
    """Take pieces out by hand. What a finding used leaves by itself."""
    from snugfast.usecases.stock.drafts import draft_took

    workshop = doorway.open()
    keep_after_echo(workshop, draft_took(workshop, part, pieces, why), yes=yes, as_json=as_json)


@box.command()
@click.argument("part")
@options(*HELD)
@click.pass_obj
def gone(doorway: Doorway, part: str, yes: bool, as_json: bool) -> None:
    """Take a part off the list of the box."""
    from snugfast.usecases.stock.drafts import draft_gone

    workshop = doorway.open()
    keep_after_echo(workshop, draft_gone(workshop, part), yes=yes, as_json=as_json)


@box.command()
@click.argument("part")
@click.argument("pieces")
@click.option("--spent", default="", help="For all of them, where they are paid for now.")
@WHEN
@options(*HELD)
@click.pass_obj
def ordered(
    doorway: Doorway, part: str, pieces: str, spent: str, when: str, yes: bool, as_json: bool
) -> None:
    """Log an order: snugfast box ordered 3 10 --spent 11.50"""
    from snugfast.usecases.stock.drafts import draft_ordered

    workshop = doorway.open()
    draft = draft_ordered(workshop, part, pieces, spent=spent, when=when)
    keep_after_echo(workshop, draft, yes=yes, as_json=as_json)


@box.command()
@click.argument("part")
@click.argument("pieces", default="")
@click.option("--spent", default="", help="For all of them, where they are paid for now.")
@WHEN
@options(*HELD)
@click.pass_obj
def arrived(
    doorway: Doorway, part: str, pieces: str, spent: str, when: str, yes: bool, as_json: bool
) -> None:
    """Log what came, ordered or bought in a shop. Without PIECES all that was ordered of it came."""
    from snugfast.usecases.stock.drafts import draft_arrived

    workshop = doorway.open()
    draft = draft_arrived(workshop, part, pieces, spent=spent, when=when)
    keep_after_echo(workshop, draft, yes=yes, as_json=as_json)


@box.command()
@click.argument("part")
@click.argument("place_of_car", default="", metavar="[PLACE]")
@click.option("--size", "sizes", multiple=True, help="A size of the part you mean to buy: bore_mm=5.")
@JSON
@click.pass_obj
def fits(doorway: Doorway, part: str, place_of_car: str, sizes: tuple[str, ...], as_json: bool) -> None:
    """Will it fit? A part of the box, or one about to be bought: CAR PLACE, with the sizes that differ.

    snugfast box fits Bramble pinion --size bore_mm=5 --size teeth_count=17
    """
    from snugfast.usecases.stock.box import item_called, stock_and_builds, will_it_fit
    from snugfast.usecases.stock.drafts import BoxPartSaid, part_of_place

    workshop = doorway.open()
    ledger, _ = stock_and_builds(workshop)
    if place_of_car or ledger.car_named(part):
        item = part_of_place(workshop, ledger, BoxPartSaid(part, place_of_car, sizes=sizes))
    else:
        item = item_called(ledger, part)
    found = will_it_fit(workshop, item)
    if as_json:
        print_json(found)
        return
    click.echo(item.name)
    for fit in found:
        click.echo(_fit_line(fit))
    if not found:
        click.echo("  No car here takes such a part.")


@box.command()
@click.argument("cars", nargs=-1, metavar="[CAR]...")
@click.option("--packs", default="", help="How many packs each car is driven.")
@click.option("--minutes", default="", help="How long each car is to run, instead.")
@click.option("--wet", default="", help="How wet it will be.")
@click.option("--ground", default="", help="What you will drive on.")
@click.option("--sheet", default="", help="Bench minutes you have before; 20 if left out.")
@options(*PDF)
@JSON
@click.pass_obj
def plan(
    doorway: Doorway,
    /,
    cars: tuple[str, ...],
    pdf: Path | None,
    paper: str,
    force: bool,
    as_json: bool,
    **said: Any,
) -> None:
    """Plan a day out: packs for each car, what to charge tonight, the sheet before, spares and tools.

    snugfast box plan Bramble Nettle --packs 3 --wet mud
    """
    from snugfast.exchange.paper.leaf import leaf_lines
    from snugfast.exchange.paper.spares import plan_leaf
    from snugfast.usecases.spares.plan import PlanSaid, day_plan

    workshop = doorway.open()
    found = day_plan(workshop, PlanSaid(cars=cars, **said))
    leaf = plan_leaf(workshop, found, link_of(doorway, "/box/plan"))
    if pdf is not None:
        write_leaf(leaf, pdf, paper, force=force)
    elif as_json:
        print_json(found)
    else:
        for line in leaf_lines(leaf):
            click.echo(line)
        echo_sources(found.sources)


def _list_lines(found: BoxList) -> Iterator[str]:
    if not found.lines:
        yield "The box is empty."
        yield "Add a part by a place it goes in: snugfast box add CAR PLACE --count 2"
        return
    worth = ", ".join(f"{each.value:.2f} {each.unit}" for each in found.worth)
    short = f", {found.short} below their minimum" if found.short else ""
    yield f"{counted(len(found.lines), 'part')} in the box{f', worth {worth}' if worth else ''}{short}"
    yield ""
    for line in found.lines:
        yield from _line(line)


def _line(line: BoxLine) -> Iterator[str]:
    said = [f"at least {line.minimum}"] if line.minimum else []
    said += [f"{line.coming} on the way"] if line.coming else []
    said += [line.place] if line.place else []
    mark = "!" if line.is_short else " "
    told = f" ({', '.join(said)})" if said else ""
    yield f"{line.number:3d} {mark}{line.count:4d} × {line.name}{told}"
    if line.sizes:
        yield f"            {line.sizes}"
    where = "; ".join(line.where) or "no car here takes it"
    yield f"            {where}"


def _fit_line(fit: Fit) -> str:
    word = {"fits": "yes", "does not fit": "no", "not known": "not known"}[fit.verdict.value]
    why = f": {'; '.join(fit.reasons)}" if fit.reasons else ""
    return f"  {word:<9} {fit.car}, {fit.place} ({fit.pieces}){why}"


@box.command()
@click.argument("cars", nargs=-1, metavar="[CAR]...")
@click.option("--pieces", default="", help="How many spare parts you take at most.")
@click.option("--weight", "grams", default="", help="How heavy they may be: 1500 g.")
@click.option("--litres", default="", help="How much room there is.")
@click.option("--money", default="", help="What may be spent before on what the box does not have.")
@click.option("--trip", default="", help="What the way there is worth to you, lost with a car that stands.")
@click.option("--packs", default="", help="How many packs each car is driven.")
@click.option("--wet", default="", help="How wet it will be.")
@click.option("--ground", default="", help="What you will drive on.")
@options(*PDF, *CSV[:1])
@JSON
@click.pass_obj
def carry(
    doorway: Doorway,
    /,
    cars: tuple[str, ...],
    pdf: Path | None,
    paper: str,
    force: bool,
    csv_file: Path | None,
    as_json: bool,
    **said: Any,
) -> None:
    """What to carry to the next outing for the cars that go: the pieces that save most, with the tools.

    snugfast box carry Bramble Nettle --pieces 12 --weight 600g --money 0
    """
    from snugfast.usecases.spares.carry import CarrySaid, carry_list

    workshop = doorway.open()
    found = carry_list(workshop, CarrySaid(cars=cars, **said))
    if pdf is not None:
        from snugfast.exchange.paper.spares import carry_leaf

        write_leaf(carry_leaf(workshop, found, link_of(doorway, "/box/carry")), pdf, paper, force=force)
    elif csv_file is not None:
        from snugfast.exchange.box_lists import carry_csv

        write_said(csv_file, carry_csv(found), force=force)
    elif as_json:
        print_json(found)
    else:
        for line in _carry_lines(found):
            click.echo(line)
        echo_sources(found.sources)


@box.command()
@click.argument("cars", nargs=-1, metavar="[CAR]...")
@click.option("--money", default="", help="What may be spent.")
@options(*PDF, *CSV[:1])
@JSON
@click.pass_obj
def buy(
    doorway: Doorway,
    cars: tuple[str, ...],
    money: str,
    pdf: Path | None,
    paper: str,
    force: bool,
    csv_file: Path | None,
    as_json: bool,
) -> None:
    """What to buy now: for what is broken, for what will likely be wanted, and what is below its minimum."""
    from snugfast.usecases.spares.buy import buy_list

    workshop = doorway.open()
    found = buy_list(workshop, money, cars)
    if pdf is not None:
        from snugfast.exchange.paper.spares import buy_leaf

        write_leaf(buy_leaf(workshop, found, link_of(doorway, "/box/buy")), pdf, paper, force=force)
    elif csv_file is not None:
        from snugfast.exchange.box_lists import buy_csv

        write_said(csv_file, buy_csv(found), force=force)
    elif as_json:
        print_json(found)
    else:
        for line in _buy_lines(found):
            click.echo(line)
        echo_sources(found.sources)


def _carry_lines(found: CarryList) -> Iterator[str]:
    unit = found.saves.unit
    yield f"What to carry for {', '.join(found.cars) or 'no car'}: {counted(found.pieces, 'piece')}"
    yield f"within {', '.join(found.limits)}; about {found.mass.value:.0f} g"
    yield ""
    for line in found.lines:
        where = f", {line.place}" if line.place and line.have else ""
        have = f"in the box{where}" if line.have >= line.take else f"{line.have} in the box{where}"
        part = f"{have}, buy {line.buy}" if line.have else "not in the box"
        stock = part if line.buy else have
        yield f"  [ ] {line.take} × {line.name} ({stock})"
        yield f"        {line.chance.value * 100:.0f} % wanted; {'; '.join(line.why)}"
    if not found.lines:
        yield "  Nothing is worth packing."
    yield ""
    yield (
        f"Breakages would cost you about {found.at_stake.value:.2f} {unit} of running without spares; "
        f"these save {found.saves.value:.2f}."
    )
    gap = f"at most {found.gap.value:.2f} {unit} short of the best"
    yield "No other choice within these limits saves more." if found.is_proved else f"This is {gap}."
    if found.tools:
        yield ""
        yield "Tools for these parts"
        yield from (f"  [ ] {tool.name}" for tool in found.tools)
        yield from (f"  [ ] {also}" for also in found.also)


def _buy_lines(found: BuyList) -> Iterator[str]:
    if not found.lines:
        yield "Nothing needs buying now."
        return
    unit = found.price.unit
    within = f" within {found.money}" if found.money else ""
    yield f"To buy now{within}: {counted(len(found.lines), 'part')}, {found.price.value:.2f} {unit}"
    yield ""
    for line in found.lines:
        price = f"{line.price.value:.2f} {line.price.unit}" if line.price else "price not entered"
        yield f"{line.number:3d} [ ] {line.buy} × {line.name}, {price}"
        said = [f"{line.needed} for a job that waits"] if line.needed else []
        said += [f"{line.have} in the box"] if line.have else []
        said += [f"{line.coming} on the way"] if line.coming else []
        said += [f"from {line.supplier}"] if line.supplier else []
        yield f"        {'; '.join([*said, *line.why])}"
    if found.left_out:
        yield ""
        yield f"Worth buying when there is money: {', '.join(found.left_out)}."
