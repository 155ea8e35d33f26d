"""Errors as words and a status, in one place."""

from __future__ import annotations

import re
from dataclasses import dataclass

from snugfast.core.errors import BadInput, NotKnown, RefusedAction, SnugfastError, StaleRecord, WrongData
from snugfast.records.store.troubles import StoreTrouble

# What a way out names on the command line, and the page that does the same.
PAGE_OF = (
    (r"snugfast car add\b[^”]*", "Add a car", "/cars/new"),
    (r"snugfast packs add\b[^”]*", "Add a pack", "/packs/new"),
    (r"snugfast packs charger\b[^”]*", "Add a charger", "/chargers/new"),
    (r"snugfast packs\b.*", "Go to the packs", "/packs"),
    (r"snugfast wake-up\b[^”]*", "Wake it on the page of the car", "/"),
    (r"snugfast car places\b[^”]*", "See the places on the page of the car", "/"),
    (r"snugfast sheet\b[^”]*", "Make a sheet", "/sheet"),
    (r"snugfast journal\b[^”]*", "Look in the journal", "/journal"),
    (r"snugfast settings\b[^”]*", "See the settings", "/settings"),
    (r"snugfast begin\b[^”]*", "Begin", "/first-start"),
)
LEAD_IN = r"(?:[Tt]ype|[Ss]ee|[Aa]dd it first|[Ss]tand at the right of):?\s*"


@dataclass(frozen=True, slots=True)
class WayOut:
    """What to do next, and where, when a page does it."""

    text: str
    link: str = ""


@dataclass(frozen=True, slots=True)
class Trouble:
    """One thing wrong: where, what, and the way out."""

    where: str
    problem: str
    way_out: WayOut


@dataclass(frozen=True, slots=True)
class Troubles:
    """What is wrong, all at once, as a page shows it."""

    sentence: str
    items: tuple[Trouble, ...]
    way_out: WayOut

    @classmethod
    def of(cls, error: SnugfastError) -> Troubles:
        if isinstance(error, WrongData):
            items = tuple(
                Trouble(found.where, found.problem, way_out(found.way_out)) for found in error.findings
            )
            count = len(items)
            things = "1 thing" if count == 1 else f"{count} things"
            return cls(f"{error.what}: {things} to put right. Nothing was kept.", items, WayOut(""))
        return cls(error.sentence, (), way_out(error.way_out))


def way_out(text: str) -> WayOut:
    """A way out in the words of the pages."""
    for command, words, link in PAGE_OF:
        if re.search(command, text):
            rest = re.sub(rf"(?:{LEAD_IN})?{command}", "", text).strip(" .;:")
            return WayOut(f"{rest}. {words}" if rest else words, link)
    return WayOut(re.sub(r"\s*(?::\s*)?--\w[\w-]*(?:\s+NAME)?", "", text))


def status_of(error: SnugfastError) -> int:
    """The HTTP status that says the same."""
    match error:
        case StaleRecord():
            return 409
        case NotKnown():
            return 404
        case BadInput():
            return 422
        case StoreTrouble():
            return 503
        case RefusedAction():
            return 409
        case _:
            return 422
