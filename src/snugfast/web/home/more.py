"""What does not stand under the five tabs, each in one line."""

from __future__ import annotations

from dataclasses import dataclass

from fastapi import APIRouter, Request
from fastapi.responses import Response

from snugfast.web.showing import show

pages = APIRouter()


@dataclass(frozen=True, slots=True)
class Link:
    """A page, and what it is for."""

    to: str
    name: str
    what: str


@dataclass(frozen=True, slots=True)
class LinkGroup:
    """Pages of one kind."""

    title: str
    links: tuple[Link, ...]


@dataclass(frozen=True, slots=True)
class MorePage:
    """Every page that is not under a tab or on a car."""

    groups: tuple[LinkGroup, ...]


GROUPS = (
    LinkGroup(
        "Log",
        (
            Link("/journal", "Journal", "everything that happened, and undo"),
            Link("/runs/new", "One run in detail", "readings, several packs, another day"),
            Link("/broke", "Found broken on the bench", "outside a run"),
            Link("/field/notes", "Field notes", "take a sheet along, bring its notes home"),
            Link("/catch-up", "Catch up on old runs", "many at once, from memory"),
        ),
    ),
    LinkGroup(
        "Bench",
        (
            Link("/bearings", "Bearings", "sizes and how many, for all cars"),
            Link("/box", "Spares box", "what is in it, what fits, stock-take"),
            Link("/box/plan", "Plan a day out", "packs, what to charge, the sheet, spares, on one page"),
            Link("/box/carry", "Spares to carry", "to the next outing, with ticks"),
            Link("/box/buy", "What to buy", "for what waits, and for what will be wanted"),
            Link("/money", "Money", "paid by month, used up by car and hour"),
            Link("/kit", "Tools and hardware", "what to have in the box"),
            Link("/packs/fit", "Pack and car", "which goes with which"),
            Link("/packs/views", "Packs over time", "what the sources say"),
        ),
    ),
    LinkGroup(
        "Dates",
        (Link("/dates", "What has a date", "packs, wet, worn parts, the next sheet; for your calendar"),),
    ),
    LinkGroup(
        "On paper",
        (
            Link("/paper/outing", "Outing list", "what to take, and room for the runs"),
            Link("/paper/packs", "Pack shelf", "with room for volts"),
            Link("/paper/wet", "After wet", "step by step"),
            Link("/labels", "Labels", "for packs, cars and drawers: scan one, its page opens"),
            Link("/paper/kit", "Tools and hardware", "to tick in the shop"),
        ),
    ),
    LinkGroup(
        "Workshop",
        (
            Link("/cars/new", "Add a car", "from a picture of its kind"),
            Link("/packs/new", "Add a pack", ""),
            Link("/chargers/new", "Add a charger", ""),
            Link("/phones", "Phones in the house", "open these pages on a phone"),
            Link("/settings", "Settings", "money, minutes, time zone"),
            Link("/sources", "Where the numbers come from", "every table and its source"),
        ),
    ),
)


@pages.get("/more")
def more(request: Request) -> Response:
    return show(request, "home/more.html", MorePage(GROUPS), title="More", here="more")
