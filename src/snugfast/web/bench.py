"""What the pages stand on: the workshop, once there is one, and the sheets that are being worked through."""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from threading import Lock
from typing import Annotated, Any
from uuid import UUID

from fastapi import Depends, Request

from snugfast.app.house_door import HouseDoor, Phone
from snugfast.app.opening import begin_workshop, open_workshop
from snugfast.core.errors import NotKnown, RefusedAction, SnugfastError
from snugfast.core.spelling import OURS, Spelling, spelling_of
from snugfast.records.store.troubles import StoreNotThere
from snugfast.usecases.bench.sheet import Sheet
from snugfast.usecases.shared.ledger import ledger_now
from snugfast.usecases.shared.workshop import Workshop
from snugfast.web.at_work import AtWork
from snugfast.web.memo import Memo

SHEETS_KEPT = 64
PHONE = "snugfast.phone"  # in the scope: the phone that asks; missing at the machine itself
HARMLESS = frozenset(("GET", "HEAD", "OPTIONS"))


class NoWorkshopYet(NotKnown):
    """Nothing stands at the address; the first start asks for what is needed."""


@dataclass(slots=True)
class Shelf:
    """Sheets that were made, so that one stays as it is while somebody works through it.

    They live as long as the server does; a sheet that is no longer here is made anew from its question.
    """

    _sheets: OrderedDict[UUID, Sheet] = field(default_factory=OrderedDict)
    _lock: Lock = field(default_factory=Lock)

    def put(self, key: UUID, sheet: Sheet) -> None:
        with self._lock:
            self._sheets[key] = sheet
            while len(self._sheets) > SHEETS_KEPT:
                self._sheets.popitem(last=False)

    def get(self, key: UUID) -> Sheet | None:
        with self._lock:
            return self._sheets.get(key)


@dataclass(frozen=True, slots=True)
class House:
    """How the pages are open to the house network."""

    door: HouseDoor
    address: str  # what phones open, such as http://192.168.1.5:8765
    secure: bool  # whether it is HTTPS

    @property
    def link(self) -> str:
        """The one-time link that lets the first phone in."""
        return f"{self.address}/door/link/{self.door.link()}"


@dataclass(slots=True)
class Bench:
    """The workshop at an address, opened when it is first asked for."""

    address: str = ""
    read_only: bool = False
    shelf: Shelf = field(default_factory=Shelf)
    at_work: AtWork = field(default_factory=AtWork)
    memo: Memo = field(default_factory=Memo)
    house: House | None = None
    _workshop: Workshop | None = None
    _lock: Lock = field(default_factory=Lock)

    @classmethod
    def around(cls, workshop: Workshop) -> Bench:
        """A bench with a workshop that is open already."""
        return cls(read_only=workshop.read_only, _workshop=workshop)

    def workshop(self) -> Workshop:
        """The workshop, in the zone its settings name by now. Raises NoWorkshopYet when there is none."""
        with self._lock:
            if self._workshop is None:
                try:
                    self._workshop = open_workshop(self.address, read_only=self.read_only)
                except (NotKnown, StoreNotThere) as missing:
                    raise NoWorkshopYet(missing.sentence, missing.way_out) from missing
            workshop = self._workshop
        with workshop.store.reading() as reads:  # a command beside these pages may have changed it
            zone = str(ledger_now(reads).settings.get("zone", workshop.zone))
        if zone != workshop.zone:
            with self._lock:
                workshop = self._workshop = replace(workshop, zone=zone)
        return workshop

    def spelling(self) -> Spelling:
        """How the owner writes units, times, dates and decimals; ours while there is no workshop."""
        try:
            with self.workshop().store.reading() as reads:
                return spelling_of(ledger_now(reads).settings)
        except SnugfastError:
            return OURS

    def workshop_of(self, phone: Phone | None, *, writes: bool) -> Workshop:
        """The workshop as whoever uses a phone works in it; a name nobody has yet is a new person's.

        Without a name, as at the machine itself, it is the owner who writes.
        """
        workshop = self.workshop()
        if phone is None or not phone.named:
            return workshop
        with workshop.store.reading() as reads:
            known = {(person.name or "").casefold(): person.id for person in reads.people()}
        who = known.get(phone.name.casefold())
        if who is None:
            if not writes or workshop.read_only:
                return workshop
            who = workshop.new_id()
            with self._lock, workshop.store.work() as work:
                work.people.add(who, phone.name)
                work.commit()
        return replace(workshop, author=who)

    def begin(self, *, by: str, settings: Mapping[str, Any], zone: str) -> None:
        """Make the workshop."""
        if self.read_only:
            raise RefusedAction(
                "The pages are open for reading only.", "Start them without --read-only to begin."
            )
        with self._lock:
            self._workshop = begin_workshop(self.address, by=by, settings=settings, zone=zone)

    def reopen(self) -> None:
        """Open the workshop anew at the next question: its time zone or its people changed."""
        with self._lock:
            if self.address:
                if self._workshop is not None:
                    self._workshop.store.close()
                self._workshop = None


async def _bench(request: Request) -> Bench:
    bench: Bench = request.app.state.bench
    return bench


def _workshop(request: Request) -> Workshop:
    bench: Bench = request.app.state.bench
    return bench.workshop_of(request.scope.get(PHONE), writes=request.method not in HARMLESS)


TheBench = Annotated[Bench, Depends(_bench)]
TheWorkshop = Annotated[Workshop, Depends(_workshop)]
