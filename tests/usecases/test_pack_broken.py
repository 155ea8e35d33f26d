"""A break can be said of a pack, on the bench and in a run.

Authority: the rule of the journal that a break belongs to what carries its clock, and laws.
"""

from __future__ import annotations

import pytest

from snugfast.core.errors import BadInput, NotKnown, SnugfastError
from snugfast.records.entries import Broke, Done, Failed, Ran
from snugfast.usecases.journal.cars import draft_car, starter
from snugfast.usecases.journal.keeping import keep
from snugfast.usecases.journal.run_log import RunSaid, draft_broke, draft_runs
from snugfast.usecases.packs.state import pack_now
from snugfast.usecases.shared.draft import Draft
from tests.usecases.pack_bench import PACK, Bench
from tests.usecases.test_pack_signs import belief

pytestmark = pytest.mark.slow  # through a whole use-case: not in make check

OTHER = "Ember 2"


def broke(packs: Bench, words: str, **more: str) -> Draft:
    return draft_broke(packs.workshop, "Bramble", words, **more)  # type: ignore[arg-type]


def break_of(draft: Draft) -> Broke:
    (entry,) = draft.entries
    assert isinstance(entry.fact, Failed | Ran)
    return entry.fact.broke if isinstance(entry.fact, Failed) else entry.fact.broke[0]


def pack_id(packs: Bench, name: str = PACK) -> object:
    return pack_now(packs.workshop, name).record.id


@pytest.mark.parametrize(
    ("words", "more"),
    [
        (f"pack lead torn @ {PACK}: left as it is", {}),
        (f"pack lead torn @ pack {PACK.lower()}: left as it is", {}),
        ("pack lead torn: left as it is", {"pack": PACK}),
        (f"unknown @ {PACK}: left as it is", {}),
        ("unknown: left as it is", {"pack": PACK}),
    ],
)
def test_a_pack_is_named_after_the_at_or_by_itself(packs: Bench, words: str, more: dict[str, str]) -> None:
    draft = broke(packs, words, **more)
    told = break_of(draft)
    assert told.pack == pack_id(packs)
    assert told.done is Done.LEFT and not told.spot
    assert PACK in draft.echo[0]


def test_a_torn_lead_moves_the_belief_of_that_pack_and_takes_it_out_of_use(packs: Bench) -> None:
    packs.add_pack(OTHER)
    before = belief(packs, "pack_lead_torn", OTHER)
    keep(packs.workshop, broke(packs, f"pack lead torn @ {PACK}: left as it is").entries)
    assert belief(packs, "pack_lead_torn") > 0.9
    assert belief(packs, "pack_lead_torn", OTHER) == pytest.approx(before)
    assert packs.state().damaged and not packs.state(OTHER).damaged


def test_a_name_that_fell_short_or_a_wrong_kind_of_pack_is_refused(packs: Bench) -> None:
    packs.add_pack("Nick", chemistry="nimh", cells="7")
    with pytest.raises(BadInput, match="no pack is named"):
        broke(packs, "pack lead torn")
    with pytest.raises(NotKnown, match="Ember 9"):
        broke(packs, "pack lead torn @ Ember 9")
    with pytest.raises(BadInput, match="happens to a car"):
        broke(packs, "wheel nut @ front left", pack=PACK)
    with pytest.raises(BadInput, match="is said of others") as refused:
        broke(packs, "pack damaged @ Nick")
    assert "nickel vented" in refused.value.way_out


def test_what_broke_on_the_car_stays_on_the_car(packs: Bench) -> None:
    assert break_of(broke(packs, "wheel nut @ front left")).pack is None
    assert break_of(broke(packs, "unknown @ front left")).pack is None


def test_of_two_packs_in_a_run_the_one_that_failed_is_named(packs: Bench) -> None:
    big = draft_car(packs.workshop, "Rook", starter(packs.workshop, "truck-1-5-4wd-8s"))
    keep(packs.workshop, [big])  # drives on two packs in series
    left, right = "Left", "Right"
    for name in (left, right):
        packs.add_pack(name, cells="4")
    both = RunSaid("Rook", (left, right), "12")
    one = RunSaid("Rook", (left,), "12")

    def ran(said: RunSaid, words: str) -> Broke:
        told = RunSaid(said.car, said.packs, said.minutes, broke=(words,))
        return break_of(draft_runs(packs.workshop, (told,)))

    assert ran(both, f"pack imbalance @ {right}").pack == pack_id(packs, right)
    assert ran(one, "pack imbalance").pack == pack_id(packs, left)
    with pytest.raises(SnugfastError, match=f"Which pack failed, {left} or {right}"):
        ran(both, "pack imbalance")
    with pytest.raises(SnugfastError, match="was not in this run"):
        ran(one, f"pack imbalance @ {right}")
