"""What a set-up means: from the record, the build and estimates; a change tried; cold oil; refusals."""

from __future__ import annotations

from collections.abc import Iterator

import pytest

from snugfast.core.errors import SnugfastError
from snugfast.usecases.chassis.setup_record import SetUpSaid, draft_set_up
from snugfast.usecases.chassis.suspension_sums import SumsSaid, SuspensionSums, suspension_sums
from snugfast.usecases.journal.cars import draft_car, starter
from snugfast.usecases.journal.keeping import keep
from snugfast.usecases.shared.workshop import Workshop
from tests.usecases.bench import Clock, with_truck, workshop_in_memory

pytestmark = pytest.mark.slow  # through whole use-cases


@pytest.fixture
def bench() -> Iterator[tuple[Workshop, Clock]]:
    with workshop_in_memory() as (workshop, clock):
        with_truck(workshop)
        clock.on(days=1)
        yield workshop, clock


def ask(workshop: Workshop, **said: str) -> SuspensionSums:
    return suspension_sums(workshop, SumsSaid("Bramble", **said))


def put(workshop: Workshop, *changes: str) -> None:
    keep(workshop, draft_set_up(workshop, SetUpSaid("Bramble", changes)).entries)


def test_the_reference_corner_comes_out_of_a_record(bench: tuple[Workshop, Clock]) -> None:
    """Worked: 0.45 N/mm, 0.62 and 0.38 kg sprung: 3.396 Hz; a band only where the ratio is our estimate."""
    workshop, _ = bench
    corner = 380.0 / 0.85
    put(workshop, "spring 0.45", f"corner weight {corner:.4f}", "motion ratio front 0.62")
    front, rear = ask(workshop).now
    assert front.frequency is not None and rear.frequency is not None
    assert front.frequency.value == pytest.approx(3.3957, abs=2e-4)
    assert front.frequency.low is None
    assert rear.frequency.low is not None and rear.frequency.high is not None
    assert rear.frequency.low < rear.frequency.value < rear.frequency.high
    assert front.damping is None and any("piston" in name for name in front.missing)
    put(workshop, "piston front 2 x 1.7 mm")
    assert ask(workshop).now[0].damping is not None


def test_cold_oil_and_a_change_tried(bench: tuple[Workshop, Clock]) -> None:
    """Law: half the oil is half the damping; four times the spring is twice the bounce and half the ratio."""
    workshop, _ = bench
    put(workshop, "piston 2 x 1.7 mm", "motion ratio front 50/75", "shock oil front 400", "spring front 0.5")
    cold = ask(workshop, air="5C", change="shock oil front 200")
    front, tried = cold.now[0], cold.tried[0]
    assert front.feels_like is not None and front.feels_like.value == pytest.approx(400 * 1.527685, rel=1e-6)
    assert front.damping is not None and tried.damping is not None and front.damping_now is not None
    assert tried.damping.value == pytest.approx(front.damping.value / 2, rel=1e-9)
    assert front.damping_now.value == pytest.approx(front.damping.value * 1.527685, rel=1e-6)
    assert any("feels like 610 cSt" in line for line in front.sentences)
    stiff = ask(workshop, change="spring front 2")
    before, after = stiff.now[0], stiff.tried[0]
    assert before.frequency is not None and after.frequency is not None
    assert after.frequency.value == pytest.approx(2 * before.frequency.value)
    assert before.damping is not None and after.damping is not None
    assert after.damping.value == pytest.approx(before.damping.value / 2)
    assert any("bounces at" in line and "+100 %" in line for line in stiff.compared)
    assert ask(workshop, change="toe front 1").compared == ("The change moves none of these numbers.",)


def test_shafts_diffs_and_mixing(bench: tuple[Workshop, Clock]) -> None:
    workshop, _ = bench
    sums = ask(workshop, drop="25mm", steer="30°", mix="500 + 300 = 400", air="3C")
    assert "bends 17°" in sums.shafts[0] and "34°" in sums.shafts[0] and "close to" in sums.shafts[1]
    assert "16\u00a0000 cSt at 3 °C" in sums.diffs[0]
    assert sums.mix.startswith("About 56 % of the 500")
    assert {source.seen for source in sums.sources} >= {"secondary", "elicited", "memory"}


@pytest.mark.parametrize(
    ("said", "words"),
    [
        ({"air": "90C"}, "no weather"),
        ({"change": "shock oil front 35wt"}, "is a weight"),
        ({"mix": "300 500"}, "no mix"),
        ({"mix": "100 + 1000 = 400"}, "too far apart"),
        ({"mix": "300 + 35wt = 320"}, "is a weight"),
        ({"mix": "300 + 500 = 600"}, "does not lie between"),
        ({"drop": "900mm"}, "longer than the shaft"),
        ({"drop": "20mm", "steer": "120"}, "does not steer"),
    ],
)
def test_what_cannot_be_is_refused_with_what_to_do(
    bench: tuple[Workshop, Clock], said: dict[str, str], words: str
) -> None:
    with pytest.raises(SnugfastError, match=words) as refused:
        ask(bench[0], **said)
    assert refused.value.way_out


def test_every_starter_build_says_what_it_can(bench: tuple[Workshop, Clock]) -> None:
    workshop, _ = bench
    for key in ("crawler-1-10-4wd-3s-brushed", "buggy-1-8-4wd-4s", "mini-1-18-4wd-2s", "drift-1-10-2wd-2s"):
        keep(workshop, [draft_car(workshop, key, starter(workshop, key))])
        sums = suspension_sums(workshop, SumsSaid(key, bar_length="70", bar_arm="30"))
        assert all(one.frequency is not None or one.missing for one in sums.now), key
    buggy = suspension_sums(workshop, SumsSaid("buggy-1-8-4wd-4s", bar_length="70", bar_arm="30"))
    assert all(one.bar is not None for one in buggy.now) and len(buggy.diffs) == 4
