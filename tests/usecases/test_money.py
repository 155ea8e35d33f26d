"""Money: a hand-kept ledger of a small season that adds to the cent, and what is never added.

Authority: *by hand*, and laws of this project.
"""

from __future__ import annotations

import csv
import io
from collections.abc import Iterator

import pytest

from snugfast.core.errors import BadInput
from snugfast.exchange.money_list import money_csv
from snugfast.records.entries import Broke, Failed, Money, PackLeft
from snugfast.usecases.journal.bench_answers import FoundSaid, draft_found
from snugfast.usecases.journal.cars import draft_car, draft_fitted, starter
from snugfast.usecases.journal.keeping import keep, undo
from snugfast.usecases.journal.run_log import RunSaid, draft_runs
from snugfast.usecases.money.money import For, Used, money_told
from snugfast.usecases.packs.register import ChargerSaid, PackSaid, draft_charger, draft_pack
from snugfast.usecases.settings import draft_settings, judgement
from snugfast.usecases.shared.ledger import ledger_now
from snugfast.usecases.shared.lookup import car_and_build
from snugfast.usecases.shared.workshop import Workshop
from snugfast.usecases.stock.drafts import BoxPartSaid, draft_arrived, draft_ordered, draft_part
from tests.usecases.bench import TRUCK, Clock, workshop_in_memory

# The hand-kept ledger: day, for what, paid. The clock begins on 2 May 2026.
BY_HAND = (
    ("2026-05-02", For.PACKS, 4990),
    ("2026-05-02", For.CHARGERS, 8990),
    ("2026-05-02", For.BOX, 403),  # ten nuts, 40.3 each
    ("2026-05-20", For.TYRES, 2399),
    ("2026-06-05", For.UPKEEP, 120),
    ("2026-06-05", For.PARTS, 650),
    ("2026-06-21", For.BREAKAGE, 777),
)


@pytest.fixture
def season() -> Iterator[tuple[Workshop, Clock]]:
    """Two months: a truck, a pack, a charger, ten nuts, tyres, an upkeep, a break, three runs of 20 min."""
    with workshop_in_memory() as (workshop, clock):
        said = judgement(currency="CRD", bench_minute="0.20", running_minute="0.40")
        keep(workshop, [draft_settings(workshop, said)])
        keep(workshop, [draft_car(workshop, "Bramble", starter(workshop, TRUCK))])
        pack = PackSaid("Ember", "3", "5000 mAh", price="49.90")
        keep(workshop, [draft_pack(workshop, pack)])
        charger = ChargerSaid("Twin", "10 A", "200 W", "2", price="89.90")
        keep(workshop, draft_charger(workshop, charger).entries)
        keep(workshop, draft_part(workshop, BoxPartSaid("Bramble", "wheel nuts", price="0.50")).entries)
        keep(workshop, draft_ordered(workshop, "1", "10", spent="4.03").entries)
        keep(workshop, draft_arrived(workshop, "1").entries)
        clock.on(days=18)
        keep(workshop, draft_fitted(workshop, "Bramble", "tyres", spent="23.99").entries)
        run(workshop)
        clock.on(days=16)
        found = FoundSaid(
            "Bramble", "wheel_nuts", ("loose @ front left: replaced",), minutes="3", spent="1.20"
        )
        keep(workshop, draft_found(workshop, found).entries)
        keep(workshop, draft_fitted(workshop, "Bramble", "pinion", spent="6.50").entries)
        run(workshop)
        clock.on(days=16)
        run(workshop, broke=("front arms: replaced",))
        yield workshop, clock


def run(workshop: Workshop, **said: object) -> None:
    told = RunSaid(car="Bramble", packs=("Ember",), minutes="20", **said)  # type: ignore[arg-type]
    keep(workshop, draft_runs(workshop, (told,)).entries)


def with_break(workshop: Workshop) -> None:
    car, _ = car_and_build(workshop, "Bramble")
    broke = Broke("wheel_nut_loose", "wheel_nuts", "front left", spent=Money(777, "CRD"), minutes=6.0)
    keep(workshop, [workshop.entry(Failed(car.id, broke))])


def test_the_hand_kept_ledger_adds_to_the_cent(season: tuple[Workshop, Clock]) -> None:
    workshop, _ = season
    with_break(workshop)
    told = money_told(workshop)
    assert sorted((line.day, line.what.value, line.minor) for line in told.paid) == sorted(
        (day, what.value, minor) for day, what, minor in BY_HAND
    )
    assert told.paid_minor == sum(minor for _, _, minor in BY_HAND) == 18329
    assert {month.month: month.minor for month in told.months} == {
        "2026-05": 4990 + 8990 + 403 + 2399,
        "2026-06": 120 + 650 + 777,
    }
    for month in told.months:
        assert sum(minor for _, minor in month.by_kind) == month.minor
    assert sum(minor for _, minor in told.by_kind) == told.paid_minor


def test_what_running_used_up_adds_to_the_cent(season: tuple[Workshop, Clock]) -> None:
    """By hand: tyres 23.99, upkeep 1.20, pinion 6.50, break 7.77; nuts from the box, 2 × 0.403 as two cents
    rounded each; the pack 3 of 200 runs of 49.90 is 0.75; the bench 3 min and 6 min at 0.20."""
    workshop, _ = season
    with_break(workshop)
    told = money_told(workshop)
    used = dict(told.together.by_kind)
    life = workshop.assume("pack_life_runs")
    assert used == {
        Used.TYRES.value: 2399,
        Used.UPKEEP.value: 120,
        Used.PARTS.value: 650,
        Used.BREAKAGE.value: 777,
        Used.FROM_BOX.value: 80,  # one nut at the check, one at the break, 0.40 each
        Used.PACKS.value: round(4990 * 3 / life),
        Used.BENCH.value: 9 * 20,
    }
    assert told.together.minor == sum(used.values())
    (bramble,) = told.cars
    assert bramble.minor == told.together.minor and bramble.outings == 3
    assert bramble.hours == pytest.approx(1.0)
    assert bramble.per_hour is not None and bramble.per_hour.value == pytest.approx(bramble.minor / 100.0)
    assert bramble.per_outing is not None
    assert bramble.per_outing.value == pytest.approx(bramble.minor / 300.0)
    assert bramble.without_bench == bramble.minor - 180


def test_a_span_of_days_takes_what_falls_in_it_and_a_budget_says_what_is_left(
    season: tuple[Workshop, Clock],
) -> None:
    workshop, _ = season
    told = money_told(workshop, "2026-06-01", budget="20")
    assert told.paid_minor == 120 + 650
    assert told.left_minor == 2000 - 770
    assert money_told(workshop, until="2026-05-31").paid_minor == 4990 + 8990 + 403 + 2399
    over = money_told(workshop, "2026-06-01", budget="5")
    assert over.left_minor == 500 - 770
    with pytest.raises(BadInput):
        money_told(workshop, budget="much")


def test_two_currencies_are_never_added(season: tuple[Workshop, Clock]) -> None:
    workshop, _ = season
    before = money_told(workshop).paid_minor
    keep(workshop, draft_fitted(workshop, "Bramble", "spur", spent="9.99 EUR").entries)
    told = money_told(workshop)
    assert told.paid_minor == before
    assert [(other.minor, other.currency) for other in told.elsewhere] == [(999, "EUR")]
    undo(workshop)
    assert money_told(workshop).elsewhere == ()


def test_a_pack_wears_off_its_price_once_and_no_more(season: tuple[Workshop, Clock]) -> None:
    workshop, _ = season
    with workshop.store.reading() as reads:
        pack = ledger_now(reads).pack_named("Ember")
    assert pack is not None
    keep(workshop, [workshop.entry(PackLeft(pack.id, "puffed up"))])
    assert dict(money_told(workshop).together.by_kind)[Used.PACKS.value] == 4990


def test_what_the_checks_avoided_is_a_band_beside_what_broke(season: tuple[Workshop, Clock]) -> None:
    workshop, _ = season
    avoided = money_told(workshop).avoided
    assert avoided.found == 1 and avoided.broke == 1
    low, high = avoided.saved.low, avoided.saved.high
    assert low is not None and high is not None and 0.0 < low < avoided.saved.value < high
    assert avoided.broke_cost.value > 0.0


def test_every_payment_goes_into_the_spreadsheet(season: tuple[Workshop, Clock]) -> None:
    workshop, _ = season
    told = money_told(workshop)
    rows = list(csv.DictReader(io.StringIO(money_csv(told).decode("utf-8-sig"))))
    assert sum(round(float(row["paid"]) * 100) for row in rows) == told.paid_minor
