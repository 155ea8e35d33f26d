"""The ledger as it stands, taken further from what was kept of it instead of folded from the first entry.

Two are kept: the newest, and an earlier one that some hundreds of entries have followed since. What only adds
to the end is folded onto the newest. A late entry, a correction or a withdrawal mostly concerns the last
days, and then what stands after the earlier one is folded onto that; else everything is folded anew. The
outcome is the same each way, which a test holds.
"""

from __future__ import annotations

from collections.abc import Iterable
from functools import lru_cache
from typing import TYPE_CHECKING
from uuid import UUID

from snugfast.records.codec import kinds_mark
from snugfast.records.entries import Entry, Withdrawn
from snugfast.records.ledger import Ledger, fold
from snugfast.records.ledger_form import ledger_bytes, ledger_from
from snugfast.records.standing import standing

if TYPE_CHECKING:
    from snugfast.records.store.reads import Reads
    from snugfast.records.store.store import Work

LEDGER, EARLIER = "ledger", "earlier ledger"
WHOLE_WORKSHOP = UUID(int=0)
LEDGER_FORM = "10"
FOLDED_ANEW_AFTER = 20  # entries
EARLIER_BY = 300  # entries that stand after an earlier ledger, or an earlier story, when it is kept


def ledger_now(reads: Reads) -> Ledger:
    """Cars, packs, parts, settings and habits as they stand; worked out once while nothing is added."""
    return reads.once(LEDGER, lambda: ledger_worked_out(reads))


def ledger_worked_out(reads: Reads) -> Ledger:
    """The ledger as `ledger_now` has it, taken from what the store keeps of it."""
    further = _newest_further(reads)
    if further is not None:
        return further
    earlier, rest = _earlier_and_rest(reads)
    return fold(rest, earlier)


def remember_ledger(work: Work) -> None:
    """Keep the ledger as this piece of work leaves it, so that the next question need not fold far.

    A few entries that only add to the end are left to be folded then; a late one, a correction or a
    withdrawal would have much of the journal folded at every question, and so is kept at once.
    """
    kept = _kept(work.reads, LEDGER)
    if kept is not None:
        ledger, position = kept
        since = _since(work.reads, position)
        if len(since) < FOLDED_ANEW_AFTER and only_further(since, ledger.last_order):
            return
    put_ledger(work)


def put_ledger(work: Work) -> None:
    """Keep the ledger as it stands, and an earlier one when the one there was is far back or void."""
    position = work.reads.position()
    ledger = _newest_further(work.reads)
    kept = _kept(work.reads, EARLIER)
    far_back = position - (kept[1] if kept else 0) > 2 * EARLIER_BY
    if ledger is None or far_back:
        earlier, rest = _earlier_and_rest(work.reads)
        if len(rest) > 2 * EARLIER_BY:
            earlier, rest = fold(rest[:-EARLIER_BY], earlier), rest[-EARLIER_BY:]
            _put(work, EARLIER, earlier, position)
        ledger = fold(rest, earlier)
    _put(work, LEDGER, ledger, position)


def only_further(since: Iterable[Entry], last: tuple[object, object] | None) -> bool:
    """Whether the entries only add to the end: none late, none that corrects or withdraws."""
    return all(
        entry.replaces is None
        and not isinstance(entry.fact, Withdrawn)
        and (last is None or entry.order > last)
        for entry in since
    )


def _newest_further(reads: Reads) -> Ledger | None:
    """The ledger kept last with what came since, unless that does more than add to its end."""
    kept = _kept(reads, LEDGER)
    if kept is None:
        return None
    ledger, position = kept
    since = _since(reads, position)
    if not only_further(since, ledger.last_order):
        return None
    return fold(sorted(since, key=lambda entry: entry.order), ledger)


def _earlier_and_rest(reads: Reads) -> tuple[Ledger, tuple[Entry, ...]]:
    """An earlier ledger and what stands after it; an empty one and everything that stands, when none holds.

    It holds when nothing that came since is, or touches, an entry that it was folded from or passed over.
    """
    kept = _kept(reads, EARLIER)
    if kept is not None and (last := kept[0].last_order) is not None:
        ledger, position = kept
        if all(entry.order > last for entry in reads.related(_since(reads, position))):
            after = [entry for entry in reads.entries_from(last[0]) if entry.order > last]
            stands = standing(reads.related(after)).entries
            return ledger, tuple(entry for entry in stands if entry.order > last)
    return Ledger(), standing(row.entry for row in reads.entries_after(0)).entries


def _kept(reads: Reads, name: str) -> tuple[Ledger, int] | None:
    kept = reads.projection(name, WHOLE_WORKSHOP)
    if kept is None or kept.fingerprint != _fingerprint():
        return None
    try:
        return _read(kept.payload), kept.position
    except (LookupError, ValueError, TypeError, AttributeError):
        return None  # of another form after all: it is only kept to save working it out


@lru_cache(4)
def _read(payload: bytes) -> Ledger:
    """The ledger of these bytes; a ledger is never changed, so the same bytes are read once."""
    return ledger_from(payload)


def _fingerprint() -> str:
    return f"{LEDGER_FORM}/{kinds_mark()}"


def _put(work: Work, name: str, ledger: Ledger, position: int) -> None:
    work.projections.put(
        name, WHOLE_WORKSHOP, position=position, fingerprint=_fingerprint(), payload=ledger_bytes(ledger)
    )


def _since(reads: Reads, position: int) -> list[Entry]:
    return [row.entry for row in reads.entries_after(position)]
