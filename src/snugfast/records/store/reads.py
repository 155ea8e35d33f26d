"""What can be read: one SELECT each, small frozen rows."""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable, MutableMapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any, TypeVar
from uuid import UUID

from sqlalchemy import (
    ColumnElement,
    Connection,
    Select,
    String,
    and_,
    cast,
    func,
    or_,
    select,
    true,
    tuple_,
    type_coerce,
    union,
)
from sqlalchemy.exc import OperationalError
from sqlalchemy.types import NullType

from snugfast.records.entries import Entry
from snugfast.records.store import schema
from snugfast.records.store.kin import in_handfuls
from snugfast.records.store.projections import unsealed
from snugfast.records.store.rows import Arrived, arrived, searchable, withdrawal_of

_ENTRY = tuple(column for column in schema.entry.c if column.name not in ("withdraws", "words"))


T = TypeVar("T")
Moment = tuple[int, UUID | None]


@dataclass(frozen=True, slots=True)
class WorkshopRow:
    """The workshop a store belongs to."""

    id: UUID
    made_at: datetime
    position: int


@dataclass(frozen=True, slots=True)
class PersonRow:
    """Somebody who writes entries; the name is None once it was erased."""

    id: UUID
    name: str | None


@dataclass(frozen=True, slots=True)
class ProjectionRow:
    """What was worked out from the journal up to a position, by a programme with this fingerprint."""

    position: int
    fingerprint: str
    payload: bytes


class Reads:
    """The questions a store answers, all at the moment its transaction began.

    `worked_out` holds what was worked out from the same moment before, so that one command need not work it
    out again at every question; a piece of work may look there but leaves nothing, for it may not be kept.
    """

    def __init__(
        self,
        connection: Connection,
        worked_out: MutableMapping[str, tuple[Moment, Any]] | None = None,
        *,
        leaves: bool = False,
        about: MutableMapping[str, tuple[object, Any]] | None = None,
    ) -> None:
        self._connection = connection
        self._worked_out_about = {} if about is None else about
        self._worked_out = {} if worked_out is None else worked_out
        self._leaves = leaves

    def moment(self) -> Moment:
        """What tells one state of the journal from every other: its position, and the newest entry."""
        newest = select(schema.entry.c.id).where(schema.entry.c.position == schema.workshop.c.position)
        row = self._connection.execute(select(schema.workshop.c.position, newest.scalar_subquery())).one()
        return (row[0], row[1])

    def once(self, what: str, work_out: Callable[[], T]) -> T:
        """What is worked out from this moment alone, worked out once while it lasts."""
        moment = self.moment()
        kept = self._worked_out.get(what)
        if kept is not None and kept[0] == moment:
            found: T = kept[1]
            return found
        result = work_out()
        if self._leaves:
            self._worked_out[what] = (moment, result)
        return result

    def news_of(self, subjects: Collection[UUID]) -> dict[UUID, tuple[int, frozenset[UUID]]]:
        """What tells one state of what is known about each car or pack from every other.

        Its newest position, and the entries that arrived, or were drawn in, there; (0, nothing) before any.
        """
        link = schema.entry_subject.c
        newest = (
            select(link.subject, func.max(link.position).label("position"))
            .where(link.subject.in_(list(subjects)))
            .group_by(link.subject)
            .subquery()
        )
        rows = self._connection.execute(
            select(link.subject, link.position, link.entry).join(
                newest, and_(link.subject == newest.c.subject, link.position == newest.c.position)
            )
        )
        news: dict[UUID, tuple[int, frozenset[UUID]]] = dict.fromkeys(subjects, (0, frozenset()))
        for subject, position, entry in rows:
            news[subject] = (position, news[subject][1] | {entry})
        return news

    def once_about(self, what: str, news: tuple[int, frozenset[UUID]], work_out: Callable[[], T]) -> T:
        """What is worked out from the entries about one car or pack, anew when there is news of it."""
        kept = self._worked_out_about.get(what)
        if kept is not None and kept[0] == news:
            found: T = kept[1]
            return found
        result = work_out()
        if self._leaves:
            self._worked_out_about[what] = (news, result)
        return result

    def workshop(self) -> WorkshopRow:
        """The workshop, and how many entries have arrived."""
        row = self._connection.execute(
            select(schema.workshop.c.id, schema.workshop.c.made_at, schema.workshop.c.position)
        ).one()
        return WorkshopRow(*row)

    def position(self, subject: UUID | None = None) -> int:
        """The position of the newest entry, or of the newest about one car or pack (0: none yet)."""
        if subject is None:
            return int(self._connection.execute(select(schema.workshop.c.position)).scalar_one())
        newest = select(func.max(schema.entry_subject.c.position)).where(
            schema.entry_subject.c.subject == subject
        )
        return int(self._connection.execute(newest).scalar_one() or 0)

    def entry(self, entry_id: UUID) -> Arrived | None:
        """One entry, if it is there."""
        found = self._entries(_entries().where(schema.entry.c.id == entry_id))
        return found[0] if found else None

    def entry_ending(self, digits: str) -> Arrived | None:
        """The newest entry whose identity ends with these hexadecimal digits, if there is one."""
        entry = schema.entry.c
        identity = func.replace(cast(entry.id, String), "-", "", type_=String)
        found = self._entries(
            _entries()
            .where(identity.endswith(digits, autoescape=True))
            .order_by(entry.happened_at.desc(), entry.id.desc())
            .limit(1)
        )
        return found[0] if found else None

    def entries_with(self, ids: Iterable[UUID]) -> tuple[Arrived, ...]:
        """The entries with these identities, as many as are there, in order of arrival."""
        return self._entries(
            _entries().where(schema.entry.c.id.in_(list(ids))).order_by(schema.entry.c.position)
        )

    def entries_after(self, position: int, subject: UUID | None = None) -> tuple[Arrived, ...]:
        """The news since a position, in order of arrival; of one car or pack, if it is named.

        Earlier entries that a later arrival has drawn in are news again: a withdrawal that came before what
        it withdraws says something only now.
        """
        entry, link = schema.entry.c, schema.entry_subject.c
        drawn_in = select(link.entry).where(link.position > position)
        if subject is not None:
            is_news: ColumnElement[bool] = entry.id.in_(drawn_in.where(link.subject == subject))
        elif position > 0:
            is_news = entry.id.in_(union(drawn_in, select(entry.id).where(entry.position > position)))
        else:
            is_news = true()
        return self._entries(_entries().where(is_news).order_by(entry.position))

    def entries_of(self, subjects: Iterable[UUID]) -> tuple[Entry, ...]:
        """Every entry about any of these cars and packs, with all that replaces or withdraws it, in replay
        order.

        A correction that moved an entry to another car is among the entries of both: after `standing`,
        take what is about the one you ask for.
        """
        link = schema.entry_subject
        about = select(link.c.entry).where(link.c.subject.in_(list(subjects)))
        found = self._entries(
            _entries()
            .where(schema.entry.c.id.in_(about))
            .order_by(schema.entry.c.happened_at, schema.entry.c.id)
        )
        return tuple(row.entry for row in found)

    def changes_to(self, ids: Iterable[UUID]) -> tuple[Entry, ...]:
        """What corrects or withdraws any of these entries, and what does so to those in turn."""
        entry = schema.entry.c
        found: dict[UUID, Entry] = {}
        ahead = list(ids)
        while ahead:
            referring = or_(entry.replaces.in_(ahead), entry.withdraws.in_(ahead))
            rows = [row.entry for row in self._entries(_entries().where(referring))]
            ahead = [row.id for row in rows if row.id not in found]
            found.update((row.id, row) for row in rows)
        return tuple(found.values())

    def related(self, entries: Iterable[Entry]) -> tuple[Entry, ...]:
        """These entries with all that they correct or withdraw and that does so to them, through others too.

        As many as `standing` needs to judge them as it would with the whole journal.
        """
        entry = schema.entry.c
        found = {one.id: one for one in entries}
        ahead = list(found.values())
        while ahead:
            named = {other for one in ahead for other in (one.replaces, withdrawal_of(one)) if other}
            asked = [*(one.id for one in ahead), *(named - found.keys())]
            ahead = []
            for some in in_handfuls(asked):
                is_kin = or_(entry.id.in_(some), entry.replaces.in_(some), entry.withdraws.in_(some))
                ahead += [row.entry for row in self._entries(_entries().where(is_kin))]
            ahead = [one for one in ahead if found.setdefault(one.id, one) is one]
        return tuple(found.values())

    def entries_from(self, moment: datetime, subjects: Collection[UUID] = ()) -> tuple[Entry, ...]:
        """What happened at that moment or later; about any of these cars and packs, if some are named."""
        entry, link = schema.entry.c, schema.entry_subject.c
        asked = _entries().where(entry.happened_at >= moment)
        if subjects:
            asked = asked.where(entry.id.in_(select(link.entry).where(link.subject.in_(list(subjects)))))
        return tuple(row.entry for row in self._entries(asked))

    def entries_around(self, subjects: Iterable[UUID], since: datetime, until: datetime) -> tuple[Entry, ...]:
        """Of the entries about these cars and packs, those of a span of time, ends included, in replay order.

        With them come all that replace or withdraw an entry, whenever they did, so that `standing` can judge.
        """
        entry, link = schema.entry.c, schema.entry_subject.c
        about = select(link.entry).where(link.subject.in_(list(subjects)))
        within = entry.happened_at.between(since, until)
        changes = or_(entry.replaces.is_not(None), entry.withdraws.is_not(None))
        found = self._entries(
            _entries().where(entry.id.in_(about), or_(within, changes)).order_by(entry.happened_at, entry.id)
        )
        return tuple(row.entry for row in found)

    def search(
        self,
        *,
        text: str = "",
        kinds: Collection[str] = (),
        subject: UUID | None = None,
        since: datetime | None = None,
        until: datetime | None = None,
        limit: int = 50,
        before: tuple[datetime, UUID] | None = None,
    ) -> tuple[Arrived, ...]:
        """A page of the journal, newest first: entries that hold every word of the text.

        `since` is included, `until` is not. `before` is (happened_at, id) of the last entry of the page
        before.
        """
        entry = schema.entry.c
        asked = _entries().order_by(entry.happened_at.desc(), entry.id.desc()).limit(limit)
        for word in searchable(text).split():
            asked = asked.where(entry.words.contains(word, autoescape=True))
        if kinds:
            asked = asked.where(entry.kind.in_(list(kinds)))
        if subject is not None:
            link = schema.entry_subject
            asked = asked.where(entry.id.in_(select(link.c.entry).where(link.c.subject == subject)))
        if since is not None:
            asked = asked.where(entry.happened_at >= since)
        if until is not None:
            asked = asked.where(entry.happened_at < until)
        if before is not None:
            asked = asked.where(tuple_(entry.happened_at, entry.id) < tuple_(*before))
        return self._entries(asked)

    def projection(self, name: str, subject: UUID) -> ProjectionRow | None:
        """What was last worked out under this name about this subject; None when any bit of it changed since.

        Read without types, for what stands there may be anything by now.
        """
        kept = schema.projection.c
        key = (kept.name == name, kept.subject == subject)
        try:
            row = self._connection.execute(
                select(
                    type_coerce(kept.position, NullType()),
                    type_coerce(kept.fingerprint, NullType()),
                    type_coerce(kept.payload, NullType()),
                ).where(*key)
            ).first()
        except OperationalError as error:
            if "decode" not in str(error):  # text that is no longer UTF-8 is as good as dropped
                raise
            return None
        if row is None:
            return None
        position, fingerprint, payload = tuple[Any, Any, Any](row)
        payload = bytes(payload) if isinstance(payload, memoryview) else payload
        read = unsealed(name, subject, position, fingerprint, payload)
        return None if read is None else ProjectionRow(position, fingerprint, read)

    def people(self) -> tuple[PersonRow, ...]:
        """Everybody who writes entries, by name."""
        rows = self._connection.execute(
            select(schema.person.c.id, schema.person.c.name).order_by(
                schema.person.c.name, schema.person.c.id
            )
        )
        return tuple(PersonRow(*row) for row in rows)

    def _entries(self, asked: Select[tuple[object, ...]]) -> tuple[Arrived, ...]:
        return tuple(arrived(row) for row in self._connection.execute(asked).mappings())


def _entries() -> Select[tuple[object, ...]]:
    return select(*_ENTRY)
