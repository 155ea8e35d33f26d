"""The page that says what went wrong and what to do next."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Self

from snugfast.core.errors import SnugfastError
from snugfast.web.troubles import Trouble, Troubles, WayOut, status_of

HOME = WayOut("Go to the first page", "/")


@dataclass(frozen=True, slots=True)
class TroublePage:
    """One sentence, everything that is wrong, and a way out."""

    status: int
    sentence: str
    items: tuple[Trouble, ...]
    way_out: WayOut

    @classmethod
    def of(cls, error: SnugfastError) -> Self:
        troubles = Troubles.of(error)
        return cls(status_of(error), troubles.sentence, troubles.items, troubles.way_out)

    @classmethod
    def no_such_page(cls, status: int = 404) -> Self:
        return cls(status, "There is no page at this address.", (), HOME)

    @classmethod
    def not_that_way(cls) -> Self:
        return cls(405, "This address is for sending a form.", (), HOME)

    @classmethod
    def not_our_form(cls) -> Self:
        way_out = WayOut("Open the form again and send it from there")
        return cls(422, "The form could not be read, so nothing was saved.", (), way_out)

    @classmethod
    def our_fault(cls, number: str) -> Self:
        way_out = WayOut("Look in the journal whether it was saved", "/journal")
        sentence = f"Something broke on our side (fault {number}). What was saved before is as it was."
        item = Trouble(
            "", "What happened is written in the log of faults, in Snugfast's data folder", WayOut("")
        )
        return cls(500, sentence, (item,), way_out)
