"""Cycles of a pack: runs, and charges that no run explains, never both for one and the same charge.

Authority: conservation of charge (what went in came out before, but for a few hundredths), and laws. A cycle
is one capacity’s worth of charge, as ageing by throughput counts it.
"""

from __future__ import annotations

from uuid import UUID

import pytest
from hypothesis import given
from hypothesis import strategies as st

from snugfast.physics.packs.reasons import Level
from snugfast.records.entries import Finish, PackCharged, Ran
from snugfast.usecases.journal.keeping import keep
from snugfast.usecases.packs.cycles import Cycles
from snugfast.usecases.packs.state import pack_now
from snugfast.usecases.packs.words import runs_words
from tests.usecases.pack_bench import PACK, Bench

pytestmark = pytest.mark.slow  # through a whole use-case: not in make check

ONE = UUID(int=1)
CAPACITY_Ah = 5.0
FULL, STORAGE, PART = Finish.FULL, Finish.STORAGE, Finish.PART


def ran(put_back_Ah: float | None = None) -> Ran:
    return Ran(ONE, (ONE,), 12.0, put_back_Ah=put_back_Ah)


def charged(put_in_Ah: float | None, finish: Finish = FULL) -> PackCharged:
    return PackCharged(ONE, finish, put_in_Ah)


def told(*facts: Ran | PackCharged) -> Cycles:
    cycles = Cycles.of_new(CAPACITY_Ah, counter_share=0.05)
    for fact in facts:
        cycles.ran(fact) if isinstance(fact, Ran) else cycles.charged(fact)
    return cycles


@pytest.mark.parametrize(
    ("facts", "from_charges"),
    [
        ((charged(2.4),), 0.0),  # as it came
        ((charged(2.4), ran(), charged(3.9)), 0.0),
        ((charged(2.4), ran(3.9), charged(3.95)), 0.0),
        ((charged(2.4), ran(), charged(1.4, STORAGE), charged(2.4)), 0.0),  # in two goes
        ((charged(2.4), ran(), ran(), charged(3.9)), 0.0),  # a charge between them nobody logged
        ((charged(2.4), ran(), charged(None), charged(3.5)), 0.7),  # lent in between
        ((charged(2.4), charged(4.0)), 0.8),
        ((charged(2.4), ran(3.0), charged(4.15)), 0.2),  # 3.15 of it is the run's
        ((charged(2.4), charged(-2.4, STORAGE), charged(2.4)), 0.48),  # emptied by the charger, filled again
        ((charged(2.4), charged(None), charged(None)), 0.0),  # not known is not counted
    ],
)
def test_a_charge_counts_as_far_as_no_run_explains_it(
    facts: tuple[Ran | PackCharged, ...], from_charges: float
) -> None:
    """*worked* by hand, 5 Ah a cycle, the counter right within 5 %."""
    assert told(*facts).from_charges == pytest.approx(from_charges, abs=1e-9)


steps = st.lists(
    st.one_of(
        st.builds(ran, st.one_of(st.none(), st.floats(0.1, 5.0))),
        st.builds(
            charged, st.one_of(st.none(), st.floats(-5.0, 5.0)), st.sampled_from((FULL, STORAGE, PART))
        ),
    ),
    max_size=12,
)


@given(steps)
def test_it_never_counts_more_than_was_put_in_and_never_goes_back(facts: list[Ran | PackCharged]) -> None:
    """*law*."""
    before = 0.0
    for n in range(len(facts)):
        now = told(*facts[: n + 1])
        assert now.total >= before
        before = now.total
    put_in_Ah = sum(max(f.put_in_Ah or 0.0, 0.0) for f in facts if isinstance(f, PackCharged))
    assert told(*facts).bench_Ah <= put_in_Ah + 1e-9


@given(st.lists(st.floats(0.2, 4.9), min_size=1, max_size=8))
def test_a_log_of_runs_and_their_charges_counts_the_runs_alone(taken_Ah: list[float]) -> None:
    """*law*: whatever each run took, the charge after it is that run's."""
    facts = [fact for took in taken_Ah for fact in (ran(took), charged(took))]
    assert told(charged(2.0), *facts).total == len(taken_Ah)


def test_a_pack_that_is_used_at_the_bench_wears_without_a_run(packs: Bench) -> None:
    packs.ran()
    packs.charged(put_in="4000 mAh")
    state = packs.state()
    assert (state.wear.runs, state.wear.cycles_from_charges) == (1, 0.0)
    for _ in range(3):
        packs.clock.on(days=1)
        packs.charged(put_in="4500 mAh")
    wear = packs.state().wear
    assert wear.runs == 1
    assert wear.cycles_from_charges == pytest.approx(2.7)
    assert runs_words(1, 2.7) == "1 run and 2.7 cycles by charges that no run explains"


def test_hundreds_of_cycles_by_charges_alone_make_a_pack_old(packs: Bench) -> None:
    """The limit of the tables is 300 cycles; what put them on it does not matter."""
    pack, entries = pack_now(packs.workshop, PACK).record.id, []
    for _ in range(330):
        packs.clock.on(hours=4)
        entries.append(packs.workshop.entry(PackCharged(pack, FULL, 4.7)))
    keep(packs.workshop, entries)
    packs.looked()
    reasons = pack_now(packs.workshop, PACK).judged.standing.reasons
    assert any("cycles behind it" in reason.says and reason.level is Level.GENTLY for reason in reasons)
