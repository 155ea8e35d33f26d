"""What it all costs: paid by month, used up by car and hour, and what the checks avoided."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING

import click

from snugfast.cli.doorway import Doorway, print_json
from snugfast.cli.figures import echo_sources
from snugfast.cli.options import JSON, options
from snugfast.cli.writing import FORCE, write_said

if TYPE_CHECKING:
    from snugfast.usecases.money.money import CarCost, MoneyTold


@click.command()
@click.option("--since", default="", metavar="DAY", help="From this day on; everything if left out.")
@click.option("--until", default="", metavar="DAY", help="Up to this day.")
@click.option("--budget", default="", help="What the time may cost; says what is left.")
@click.option("--csv", "csv_file", type=click.Path(path_type=Path), help="Every payment, for a spreadsheet.")
@options(FORCE)
@JSON
@click.pass_obj
def money(
    doorway: Doorway,
    since: str,
    until: str,
    budget: str,
    csv_file: Path | None,
    force: bool,
    as_json: bool,
) -> None:
    """What it costs: paid by month, used up by car, per running hour and outing, from your own journal.

    snugfast money --since 2026-05-01 --budget 300
    """
    from snugfast.usecases.money.money import money_told

    told = money_told(doorway.open(), since, until, budget)
    if csv_file is not None:
        from snugfast.exchange.money_list import money_csv

        write_said(csv_file, money_csv(told), force=force)
    elif as_json:
        print_json(told)
    else:
        for line in _lines(told):
            click.echo(line)
        echo_sources(told.sources)


def _lines(told: MoneyTold) -> Iterator[str]:
    unit = told.currency

    def amount(minor: int) -> str:
        return f"{minor / 100:9.2f} {unit}"

    span = " ".join(
        filter(None, (told.since and f"since {told.since}", told.until and f"until {told.until}"))
    )
    yield f"Paid {span or 'so far'}: {told.paid_minor / 100:.2f} {unit}"
    if told.left_minor is not None and told.budget_minor is not None:
        left = told.left_minor / 100
        word = f"{left:.2f} {unit} left" if left >= 0 else f"{-left:.2f} {unit} over"
        yield f"Of {told.budget_minor / 100:.2f} {unit}: {word}"
    yield from (f"  {kind:<26} {amount(minor)}" for kind, minor in told.by_kind)
    for other in told.elsewhere:
        yield f"  and {other.minor / 100:.2f} {other.currency}, not added"
    if told.months:
        yield ""
        yield "By month"
        for month in told.months:
            kinds = ", ".join(f"{kind} {minor / 100:.2f}" for kind, minor in month.by_kind)
            yield f"  {month.month}  {amount(month.minor)}  {kinds}"
    yield ""
    yield "What running used up (packs by the runs they last, bench time at your own value)"
    for car in (*told.cars, told.together):
        yield from _car_lines(car, unit)
    yield ""
    yield from _avoided_lines(told)


def _car_lines(car: CarCost, unit: str) -> Iterator[str]:
    per = [f"{car.per_hour.value:.2f} an hour of running"] if car.per_hour else []
    per += [f"{car.per_outing.value:.2f} an outing"] if car.per_outing else []
    told = f" ({', '.join(per)})" if per else ""
    yield f"  {car.car}: {car.minor / 100:.2f} {unit}{told}"
    kinds = ", ".join(f"{kind} {minor / 100:.2f}" for kind, minor in car.by_kind)
    if kinds:
        yield f"      {kinds}"


def _avoided_lines(told: MoneyTold) -> Iterator[str]:
    avoided, unit = told.avoided, told.currency
    low, high = avoided.saved.low or 0.0, avoided.saved.high or 0.0
    yield (
        f"Found in time and fixed: {avoided.found}. Had a third of them gone on to fail, that would have "
        f"cost {low:.2f} {unit} more; had all of them, {high:.2f}."
    )
    yield f"Broke all the same: {avoided.broke}, about {avoided.broke_cost.value:.2f} {unit} with time lost."
