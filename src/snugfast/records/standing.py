"""Which entries stand, given all of them in any order.

A family is an entry with its corrections and theirs. At most one of a family stands: the newest correction.
Taking back a correction lets stand what it corrected; taking back what was first said takes back the
corrections with it. A withdrawal is an entry like any other: it can be taken back, and then it takes nothing
back.

Two stores that parted may bring two corrections of one entry, or a correction of what the other took back.
Something has to stand, so the rule above and the time of recording decide, and the conflict is told.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import datetime
from enum import Enum
from graphlib import TopologicalSorter
from uuid import UUID

from snugfast.records.entries import Entry, Withdrawn
from snugfast.records.resting import depends_on

__all__ = ["Clash", "Conflict", "Standing", "depends_on", "standing"]


class Clash(Enum):
    """How entries can be at odds; the value says so in words."""

    RIVALS = "Two corrections of the same entry: the one recorded last stands."
    CORRECTED_BUT_WITHDRAWN = "An entry was corrected after it had been taken back: it stays taken back."
    CIRCLE = "Entries that replace or take back each other in a circle: those references count for nothing."


@dataclass(frozen=True, slots=True, order=True)
class Conflict:
    """Entries at odds, oldest identity first."""

    entries: tuple[UUID, ...]
    clash: Clash


@dataclass(frozen=True, slots=True)
class Standing:
    """What stands, in replay order, without the withdrawals; and what became of the others.

    `superseded` names what stands in an entry's stead, `withdrawn` what took it back.
    """

    entries: tuple[Entry, ...]
    superseded: Mapping[UUID, UUID]
    withdrawn: Mapping[UUID, UUID]
    conflicts: tuple[Conflict, ...]


def standing(entries: Iterable[Entry]) -> Standing:
    """What stands of these entries. Their order does not matter, nor do entries given twice.

    Raises ValueError when two different entries carry one identity.
    """
    by_id: dict[UUID, Entry] = {}
    for entry in entries:
        known = by_id.setdefault(entry.id, entry)
        if known is not entry and known != entry:
            raise ValueError(f"two different entries carry the identity {entry.id}")
    judging = _Judging(by_id)
    judging.judge()
    stand = (
        entry
        for entry in by_id.values()
        if not isinstance(entry.fact, Withdrawn)
        and entry.id not in judging.superseded
        and entry.id not in judging.withdrawn
    )
    return Standing(
        entries=tuple(sorted(stand, key=lambda entry: entry.order)),
        superseded={one: other for one, other in judging.superseded.items() if one in by_id},
        withdrawn={one: other for one, other in judging.withdrawn.items() if one in by_id},
        conflicts=tuple(sorted(judging.conflicts, key=lambda one: (one.entries, one.clash.name))),
    )


class _Judging:
    """Families are judged one after the other, those that take back before those they take back from."""

    def __init__(self, by_id: Mapping[UUID, Entry]) -> None:
        self.by_id = by_id
        self.superseded: dict[UUID, UUID] = {}
        self.withdrawn: dict[UUID, UUID] = {}
        self.conflicts: set[Conflict] = set()
        self._parent = self._corrections()
        self._first: dict[UUID, UUID] = {}
        self._family: dict[UUID, list[UUID]] = {}
        self._takes_back = self._withdrawals()
        self._taken_back_by: dict[UUID, UUID] = {}

    def judge(self) -> None:
        """Decide about every entry that replaces, is replaced, takes back or is taken back."""
        for first in self._in_order():
            self._judge_family(first, self._family[first])

    def _corrections(self) -> dict[UUID, UUID]:
        """What each correction replaces; the entries named may be absent."""
        parent = {e.id: e.replaces for e in self.by_id.values() if e.replaces is not None}
        circles = _on_circles({child: {of} for child, of in parent.items()})
        self._tell(Clash.CIRCLE, circles)
        return {child: of for child, of in parent.items() if child not in circles}

    def _withdrawals(self) -> dict[UUID, UUID]:
        """What each withdrawal takes back. Also gathers the families of all that is referred to or refers."""
        takes_back = {e.id: e.fact.entry for e in self.by_id.values() if isinstance(e.fact, Withdrawn)}
        concerned = {*self._parent, *self._parent.values(), *takes_back, *takes_back.values()}
        for identity in sorted(concerned):
            self._family.setdefault(self._first_said(identity), []).append(identity)
        circles = _on_circles(self._family_links(takes_back))
        void = {
            withdrawal
            for withdrawal, target in takes_back.items()
            if self._first[withdrawal] in circles and self._first[target] in circles
        }
        self._tell(Clash.CIRCLE, void)
        return {w: target for w, target in takes_back.items() if w not in void}

    def _first_said(self, identity: UUID) -> UUID:
        """The entry a family began with, found once for each member."""
        way = []
        while identity not in self._first and identity in self._parent:
            way.append(identity)
            identity = self._parent[identity]
        first = self._first.setdefault(identity, identity)
        self._first.update(dict.fromkeys(way, first))
        return first

    def _family_links(self, takes_back: Mapping[UUID, UUID]) -> dict[UUID, set[UUID]]:
        links: dict[UUID, set[UUID]] = {}
        for withdrawal, target in takes_back.items():
            links.setdefault(self._first[withdrawal], set()).add(self._first[target])
        return links

    def _in_order(self) -> Iterable[UUID]:
        sorter = TopologicalSorter[UUID](dict.fromkeys(self._family, ()))
        for withdrawing, targets in self._family_links(self._takes_back).items():
            for target in targets:
                sorter.add(target, withdrawing)
        return sorter.static_order()

    def _judge_family(self, first: UUID, members: Iterable[UUID]) -> None:
        children: dict[UUID, list[UUID]] = {}
        for member in members:
            if member in self._parent:
                children.setdefault(self._parent[member], []).append(member)
        downwards = [first]
        for member in downwards:
            downwards += children.get(member, ())
        for member in downwards:
            self._take_back(member)
        head = self._head(downwards, children)
        if head is None:
            return
        for member in members:
            if member != head and member not in self.withdrawn:
                self.superseded[member] = head
        if head in self._takes_back:
            target = self._takes_back[head]
            rival = self._taken_back_by.get(target)
            if rival is None or self._recorded(head) < self._recorded(rival):
                self._taken_back_by[target] = head

    def _take_back(self, member: UUID) -> None:
        """A member goes by its own withdrawal, or with what it corrects."""
        own = self._taken_back_by.get(member)
        inherited = self.withdrawn.get(self._parent.get(member, member))
        if own is None and inherited is not None and self._recorded(inherited) < self._recorded(member):
            self._tell(Clash.CORRECTED_BUT_WITHDRAWN, {inherited, member})
        withdrawal = own or inherited
        if withdrawal is not None:
            self.withdrawn[member] = withdrawal

    def _head(self, downwards: list[UUID], children: Mapping[UUID, list[UUID]]) -> UUID | None:
        """The member that stands: the newest correction, worked out from the ends inwards."""
        heads: dict[UUID, UUID] = {}
        for member in reversed(downwards):
            if member in self.withdrawn:
                continue
            of_branches = [heads[child] for child in children.get(member, ()) if child in heads]
            if len(of_branches) > 1:
                self._tell(Clash.RIVALS, set(of_branches))
            if of_branches:
                heads[member] = max(of_branches, key=self._recorded)
            elif member in self.by_id:
                heads[member] = member
        return heads.get(downwards[0])

    def _recorded(self, identity: UUID) -> tuple[datetime, UUID]:
        return (self.by_id[identity].recorded_at, identity)

    def _tell(self, clash: Clash, entries: set[UUID]) -> None:
        if entries:
            self.conflicts.add(Conflict(entries=tuple(sorted(entries)), clash=clash))


def _on_circles(links: Mapping[UUID, set[UUID]]) -> set[UUID]:
    """What is left when both ends are peeled off: nodes on circles, and on ways from circle to circle."""
    left = {*links, *(target for targets in links.values() for target in targets)}
    backwards: dict[UUID, set[UUID]] = {}
    for node, targets in links.items():
        for target in targets:
            backwards.setdefault(target, set()).add(node)
    for ahead, behind in ((links, backwards), (backwards, links)):
        counts = {node: len(ahead.get(node, set()) & left) for node in left}
        ends = [node for node, count in counts.items() if count == 0]
        for end in ends:
            left.discard(end)
            for node in behind.get(end, set()) & left:
                counts[node] -= 1
                if counts[node] == 0:
                    ends.append(node)
    return left
