"""Errors as words and a status, in one place."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import TypeVar

from snugfast.core.errors import (
    BadInput,
    NotKnown,
    RefusedAction,
    SnugfastError,
    StaleRecord,
    SystemTrouble,
    WrongData,
)
from snugfast.core.ways_out import Action
from snugfast.core.ways_out import WayOut as ActionNeeded
from snugfast.records.store.troubles import StoreTrouble

# The page that does what a way out asks for: its words and its address. Empty where the field is on the page.
PAGES = {
    Action.ADD_CAR: ("Add a car", "/cars/new"),
    Action.ADD_PACK: ("Add a pack", "/packs/new"),
    Action.ADD_CHARGER: ("Add a charger", "/chargers/new"),
    Action.ADD_TO_BOX: ("Open the spares box", "/box"),
    Action.BACK_UP: ("Backups are taken on the computer itself", ""),
    Action.BRING_BACK: ("Open the journal", "/journal"),
    Action.CHANGE_BUILD: ("Choose the car", "/"),
    Action.CHANGE_PACK: ("Go to the packs", "/packs"),
    Action.CHANGE_SETTINGS: ("See the settings", "/settings"),
    Action.COMPILE_AHEAD: ("It compiles at the first question", ""),
    Action.CORRECT_RUN: ("Open the journal", "/journal"),
    Action.FIT_PART: ("Choose the car", "/"),
    Action.LOOK_OVER_PACK: ("Go to the packs", "/packs"),
    Action.MEASURE_PACK: ("Go to the packs", "/packs"),
    Action.REBUILD: ("It is rebuilt on the computer itself", ""),
    Action.RESTORE: ("Backups are restored on the computer itself", ""),
    Action.SEE_CHARGERS: ("Go to the packs", "/packs"),
    Action.SEE_JOURNAL: ("Open the journal", "/journal"),
    Action.SEE_PLACES: ("Choose the car", "/"),
    Action.SEE_SHEET: ("Make a sheet", "/sheet"),
    Action.STORE_PACK: ("Go to the packs", "/packs"),
    Action.WAKE_CAR: ("Choose the car", "/"),
    Action.GIVE_CORNER: ("", ""),
    Action.GIVE_FACE: ("", ""),
    Action.GIVE_FINAL_RATIO: ("", ""),
    Action.GIVE_INTERNAL_RATIO: ("", ""),
    Action.GIVE_MASS: ("", ""),
    Action.GIVE_MODE: ("", ""),
    Action.GIVE_PACK: ("", ""),
    Action.GIVE_PEAK_TORQUE: ("", ""),
    Action.GIVE_PINIONS: ("", ""),
    Action.GIVE_PINION_TEETH: ("", ""),
    Action.GIVE_PITCH: ("", ""),
    Action.GIVE_SHAFT: ("", ""),
    Action.GIVE_SPUR_TEETH: ("", ""),
    Action.LEAVE_DRAG_OUT: ("", ""),
    Action.OPEN_FOR_WRITING: ("", ""),
    Action.ROLL_OR_RUN_FREE: ("", ""),
}


T = TypeVar("T")


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
            return cls(f"{error.what}: {things} to fix. Nothing was saved.", items, WayOut(""))
        if isinstance(error, StaleRecord):
            both = (("As it stands now", error.stands), ("What you sent", error.sent))
            items = tuple(Trouble(where, told, WayOut("")) for where, several in both for told in several)
            return cls(error.sentence, items, way_out(error.way_out))
        return cls(error.sentence, (), way_out(error.way_out))


def way_out(text: str) -> WayOut:
    """A way out in the words of the pages, with the page that does it."""
    if not isinstance(text, ActionNeeded):
        return WayOut(text)
    words, link = PAGES[text.action]
    said = text.rstrip(". ")
    return WayOut(f"{said}. {words}" if said and words else words or f"{said}.", link)


def status_of(error: SnugfastError) -> int:
    """The HTTP status that says the same."""
    match error:
        case StaleRecord():
            return 409
        case NotKnown():
            return 404
        case BadInput():
            return 422
        case StoreTrouble() | SystemTrouble():
            return 503
        case RefusedAction():
            return 409
        case _:
            return 422


def answered(ask: Callable[[], T]) -> tuple[T | None, Troubles | None, int]:
    """The answer to a question, or what is wrong with it, and the status of the page that shows either."""
    try:
        return ask(), None, 200
    except SnugfastError as refused:
        return None, Troubles.of(refused), 422
