"""What it all costs, as a page."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated

from fastapi import APIRouter, Query, Request
from fastapi.responses import Response
from pydantic import BaseModel

from snugfast.exchange.money_list import money_csv
from snugfast.usecases.money.money import MoneyTold, money_told
from snugfast.web.bench import TheWorkshop
from snugfast.web.figure_lines import RestsOn, rests_on
from snugfast.web.showing import csv_file, show
from snugfast.web.troubles import Troubles, answered

pages = APIRouter(prefix="/money")


class MoneyForm(BaseModel):
    """From which day to which, and what it may cost."""

    since: str = ""
    until: str = ""
    budget: str = ""


@dataclass(frozen=True, slots=True)
class MoneyPage:
    """Paid, used up, avoided."""

    told: MoneyTold | None
    form: MoneyForm
    query: str
    sources: tuple[RestsOn, ...]
    troubles: Troubles | None


@pages.get("")
def money(request: Request, workshop: TheWorkshop, form: Annotated[MoneyForm, Query()]) -> Response:
    told, troubles, status = answered(lambda: money_told(workshop, form.since, form.until, form.budget))
    sources = rests_on(told.sources) if told else ()
    page = MoneyPage(told, form, request.url.query, sources, troubles)
    return show(request, "money/money.html", page, title="Money", here="more", status=status)


@pages.get(".csv")
def payments(workshop: TheWorkshop, form: Annotated[MoneyForm, Query()]) -> Response:
    return csv_file(money_csv(money_told(workshop, form.since, form.until, form.budget)), "payments")
