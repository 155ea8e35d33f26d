"""The box of spares: counted, used by findings, given back by undo; the same part is one part.

Authority: laws of this project, and sizes of the starter builds.
"""

from __future__ import annotations

import csv
import io

import pytest

from snugfast.core.errors import BadInput, NotKnown, WrongData
from snugfast.exchange.box_lists import box_csv
from snugfast.records.box import BoxItem
from snugfast.records.entries import BoxTook, Ran
from snugfast.records.ledger import Ledger, fold
from snugfast.records.ledger_form import ledger_bytes, ledger_from
from snugfast.usecases.bench.bench_sheet import bench_sheet
from snugfast.usecases.bench.sheet import Asked
from snugfast.usecases.journal.bench_answers import FoundSaid, draft_found
from snugfast.usecases.journal.cars import draft_car, draft_fitted, starter
from snugfast.usecases.journal.forms import keep_form, with_box
from snugfast.usecases.journal.keeping import keep, redo, undo, withdraw
from snugfast.usecases.journal.run_log import RunSaid, draft_runs
from snugfast.usecases.shared.ledger import ledger_now
from snugfast.usecases.shared.workshop import Workshop
from snugfast.usecases.stock.box import box_list, item_called, will_it_fit
from snugfast.usecases.stock.drafts import (
    BoxPartSaid,
    draft_arrived,
    draft_counted,
    draft_gone,
    draft_ordered,
    draft_part,
    draft_took,
    part_of_place,
)
from snugfast.usecases.stock.kinds import Verdict, same_size
from tests.usecases.bench import Clock, with_truck, workshop_in_memory

CRAWLER = "crawler-1-10-4wd-3s-brushed"


def ledger_of(workshop: Workshop) -> Ledger:
    with workshop.store.reading() as reads:
        return ledger_now(reads)


def with_part(workshop: Workshop, at: str, count: str, car: str = "Bramble", **said: str) -> BoxItem:
    draft = draft_part(workshop, BoxPartSaid(car, at, count=count, **said))  # type: ignore[arg-type]
    keep(workshop, draft.entries)
    return ledger_of(workshop).stock.items[draft.entries[0].fact.item]  # type: ignore[union-attr]


def pieces(workshop: Workshop, item: BoxItem) -> int:
    return ledger_of(workshop).stock.items[item.id].count


def test_the_same_bearing_in_many_places_and_cars_is_one_part() -> None:
    with workshop_in_memory() as (workshop, _):
        with_truck(workshop)
        keep(workshop, [draft_car(workshop, "Nettle", starter(workshop, CRAWLER))])
        outer = with_part(workshop, "outer wheel bearings", "10")
        again = with_part(workshop, "spur shaft bearings", "12", car="Nettle")
        assert again.id == outer.id and pieces(workshop, outer) == 12
        (line,) = box_list(workshop).lines
        # By hand from the two builds: 4 + 2 + 2 in the truck, 2 + 3 + 8 + 4 in the crawler.
        assert line.carried == 25
        assert {where.split(":")[0] for where in line.where} == {"Bramble", "Nettle"}
        other = with_part(workshop, "inner wheel bearings", "4")
        assert other.id != outer.id


def test_a_part_about_to_be_bought_fits_or_not_with_the_reason() -> None:
    with workshop_in_memory() as (workshop, _):
        with_truck(workshop)
        ledger = ledger_of(workshop)
        thin = part_of_place(
            workshop, ledger, BoxPartSaid("Bramble", "pinion", sizes=("bore_mm=3.175", "teeth_count=17"))
        )
        (fit,) = will_it_fit(workshop, thin)
        assert fit.verdict is Verdict.DOES_NOT
        assert fit.reasons == ("bore 3.175 mm, but the shaft diameter of the motor is 5 mm",)
        coarse = part_of_place(workshop, ledger, BoxPartSaid("Bramble", "pinion", sizes=("pitch=48 DP",)))
        (fit,) = will_it_fit(workshop, coarse)
        assert "gear pitch" in fit.reasons[0] and "module 0.8" in fit.reasons[0]
        bigger = part_of_place(workshop, ledger, BoxPartSaid("Bramble", "pinion", sizes=("teeth_count=17",)))
        (fit,) = will_it_fit(workshop, bigger)
        assert fit.verdict is Verdict.FITS and "number of teeth 17, now 15" in fit.reasons


def test_what_no_size_tells_all_about_fits_only_that_place_of_such_cars() -> None:
    with workshop_in_memory() as (workshop, _):
        with_truck(workshop)
        with_truck(workshop, "Burdock")
        arm = part_of_place(workshop, ledger_of(workshop), BoxPartSaid("Bramble", "front arms"))
        fits = [fit for fit in will_it_fit(workshop, arm) if fit.verdict is Verdict.FITS]
        assert [(fit.car, fit.place) for fit in fits] == [
            ("Bramble", "Front arms"),
            ("Burdock", "Front arms"),
        ]


@pytest.mark.parametrize(
    ("one", "other", "same"),
    [(3.17, 3.175, True), (3.0, 3.175, False), ("48DP", "48 dp", True), ("48 DP", "module 0.5", False)],
)
def test_sizes_are_the_same_however_they_are_typed(one: object, other: object, same: bool) -> None:
    assert same_size(one, other) is same


def test_what_a_finding_used_leaves_the_box_and_comes_back_by_undo() -> None:
    with workshop_in_memory() as (workshop, _):
        with_truck(workshop)
        nuts = with_part(workshop, "wheel nuts", "6")
        said = FoundSaid("Bramble", "wheel_nuts", ("loose @ front left: replaced",))
        draft = with_box(workshop, draft_found(workshop, said))
        assert draft.echo[-1].startswith("From the box: 1 × ") and draft.echo[-1].endswith("5 left.")
        keep(workshop, draft.entries)
        assert pieces(workshop, nuts) == 5
        undone = undo(workshop)
        assert "From the box: 1" in undone.told
        assert pieces(workshop, nuts) == 6
        redo(workshop)
        assert pieces(workshop, nuts) == 5


def test_a_nut_that_was_only_tightened_or_left_uses_nothing() -> None:
    with workshop_in_memory() as (workshop, _):
        with_truck(workshop)
        nuts = with_part(workshop, "wheel nuts", "6")
        for words in ("loose @ front left: fixed", "loose @ rear left: not fixed yet", "ok"):
            keep(workshop, draft_found(workshop, FoundSaid("Bramble", "wheel_nuts", (words,))).entries)
        assert pieces(workshop, nuts) == 6


def test_a_part_fitted_takes_as_many_as_its_spots_and_no_more_than_there_are() -> None:
    with workshop_in_memory() as (workshop, _):
        with_truck(workshop)
        bearings = with_part(workshop, "outer wheel bearings", "3")
        keep(
            workshop, draft_fitted(workshop, "Bramble", "outer wheel bearings", spots=("front left",)).entries
        )
        assert pieces(workshop, bearings) == 2
        keep(workshop, draft_fitted(workshop, "Bramble", "outer wheel bearings").entries)
        assert pieces(workshop, bearings) == 0


def test_another_pinion_is_not_taken_for_the_one_in_the_box() -> None:
    with workshop_in_memory() as (workshop, _):
        with_truck(workshop)
        fifteen = with_part(workshop, "pinion", "1")
        keep(workshop, draft_fitted(workshop, "Bramble", "pinion", part="pinion, 17 teeth").entries)
        assert pieces(workshop, fifteen) == 1


def test_a_correction_gives_back_what_the_first_version_took() -> None:
    with workshop_in_memory() as (workshop, clock):
        with_truck(workshop)
        nuts = with_part(workshop, "wheel nuts", "1")
        clock.on(hours=1)
        said = RunSaid(car="Bramble", minutes="12", packs=("Bramble pack",), broke=("wheel nuts: replaced",))
        (first,) = draft_runs(workshop, (said,)).entries
        keep(workshop, [first])
        assert pieces(workshop, nuts) == 0
        longer = RunSaid(
            car="Bramble", minutes="11", packs=("Bramble pack",), broke=("wheel nuts: replaced",)
        )
        with workshop.store.reading() as reads:
            kept = reads.entry(first.id)
        assert kept is not None
        (second,) = draft_runs(workshop, (longer,), replaces=kept.entry).entries
        keep(workshop, [second])
        assert pieces(workshop, nuts) == 0
        with workshop.store.reading() as reads:
            stands = reads.entry(second.id)
        assert stands is not None and isinstance(stands.entry.fact, Ran)
        assert [one.count for one in stands.entry.fact.from_box] == [1]


def test_the_second_tap_on_a_form_takes_nothing_twice() -> None:
    with workshop_in_memory() as (workshop, _):
        with_truck(workshop)
        nuts = with_part(workshop, "wheel nuts", "6")
        said = FoundSaid("Bramble", "wheel_nuts", ("loose @ front left: replaced",), id=workshop.new_id())
        for _ in range(2):
            keep_form(workshop, draft_found(workshop, said).entries)
        assert pieces(workshop, nuts) == 5


def test_ordered_then_arrived_in_two_parcels() -> None:
    with workshop_in_memory() as (workshop, _):
        with_truck(workshop)
        nuts = with_part(workshop, "wheel nuts", "1", pack_of="10", price="0.40")
        keep(workshop, draft_ordered(workshop, "1", "10", spent="4.00").entries)
        assert ledger_of(workshop).stock.coming(nuts.id) == 10
        keep(workshop, draft_arrived(workshop, "1", "4").entries)
        stock = ledger_of(workshop).stock
        assert stock.items[nuts.id].count == 5 and stock.coming(nuts.id) == 6
        with pytest.raises(BadInput):
            draft_arrived(workshop, "1", spent="4.00")  # it was paid for when it was ordered
        keep(workshop, draft_arrived(workshop, "1").entries)
        stock = ledger_of(workshop).stock
        assert stock.items[nuts.id].count == 11 and not stock.orders
        (line,) = box_list(workshop).lines
        assert line.odd == 1  # one pack of ten and one odd one
        assert box_list(workshop).worth[0].value == pytest.approx(4.40)
        with pytest.raises(BadInput):
            draft_arrived(workshop, "1")


def test_a_stock_take_is_an_entry_and_what_is_taken_must_be_there() -> None:
    with workshop_in_memory() as (workshop, _):
        with_truck(workshop)
        nuts = with_part(workshop, "wheel nuts", "6", minimum="8")
        assert box_list(workshop).short == 1
        keep(workshop, draft_counted(workshop, (("1", "9"),)).entries)
        assert pieces(workshop, nuts) == 9 and box_list(workshop).short == 0
        keep(workshop, draft_took(workshop, "1", "2", "lent").entries)
        assert pieces(workshop, nuts) == 7
        with pytest.raises(WrongData, match="the box holds 7"):
            keep(workshop, draft_took(workshop, "1", "8").entries)
        with pytest.raises(WrongData, match="not in the box"):
            keep(workshop, [workshop.entry(BoxTook(workshop.new_id(), 1))])
        keep(workshop, draft_gone(workshop, "1").entries)
        assert not box_list(workshop).lines
        assert with_part(workshop, "wheel nuts", "2").id == nuts.id  # the same part again


def test_fix_first_says_whether_the_box_has_it() -> None:
    with workshop_in_memory() as (workshop, _):
        with_truck(workshop)
        keep(
            workshop,
            draft_found(workshop, FoundSaid("Bramble", "wheel_nuts", ("lost @ front left",))).entries,
        )
        (job,) = bench_sheet(workshop, Asked()).fix_first
        assert job.parts[0].in_box is None and job.parts[0].box_note == ""
        with_part(workshop, "wheel nuts", "3", place="drawer 2")
        (job,) = bench_sheet(workshop, Asked()).fix_first
        assert job.parts[0].box_note == " (in the box: 3, drawer 2)" and not job.parts[0].is_missing
        keep(workshop, draft_counted(workshop, (("1", "0"),)).entries)
        (job,) = bench_sheet(workshop, Asked()).fix_first
        assert job.parts[0].box_words == "none in the box" and job.parts[0].is_missing


def test_dropped_and_folded_again_the_box_is_equal() -> None:
    with workshop_in_memory() as (workshop, _):
        with_truck(workshop)
        with_part(workshop, "wheel nuts", "6", price="0.40", days="4", supplier="=corner shop")
        keep(workshop, draft_ordered(workshop, "1", "10").entries)
        ledger = ledger_of(workshop)
        assert ledger_from(ledger_bytes(ledger)).stock == ledger.stock
        with workshop.store.reading() as reads:
            entries = [row.entry for row in reads.entries_after(0)]
        again = fold(sorted(entries, key=lambda entry: entry.order))
        assert again.stock == ledger.stock


def test_cells_that_a_spreadsheet_would_run_are_made_harmless() -> None:
    with workshop_in_memory() as (workshop, _):
        with_truck(workshop)
        with_part(workshop, "wheel nuts", "6", supplier="=HYPERLINK(1)", name="@nuts", place="-1")
        rows = list(csv.DictReader(io.StringIO(box_csv(box_list(workshop)).decode("utf-8-sig"))))
        assert rows[0]["supplier"] == "'=HYPERLINK(1)"
        assert rows[0]["part"] == "'@nuts" and rows[0]["place"] == "'-1"


def test_a_part_that_is_not_there_is_answered_with_the_nearest() -> None:
    with workshop_in_memory() as (workshop, _):
        with_truck(workshop)
        nuts = with_part(workshop, "wheel nuts", "6", name="M4 nuts")
        ledger = ledger_of(workshop)
        assert item_called(ledger, "m4 n").id == nuts.id == item_called(ledger, nuts.id.hex).id
        with pytest.raises(NotKnown) as unknown:
            item_called(ledger, "M4 nutz")
        assert "m4 nuts" in str(unknown.value.way_out).casefold()
        with pytest.raises(BadInput):
            draft_counted(workshop, (("1", "2.5"),))


def test_withdrawing_the_finding_itself_gives_back_too() -> None:
    with workshop_in_memory() as (workshop, clock):
        with_truck(workshop)
        nuts = with_part(workshop, "wheel nuts", "6")
        said = FoundSaid("Bramble", "wheel_nuts", ("loose @ front left: replaced",))
        found = draft_found(workshop, said).entries
        keep(workshop, found)
        _later(workshop, clock)
        withdraw(workshop, found[0].id)
        assert pieces(workshop, nuts) == 6


def _later(workshop: Workshop, clock: Clock) -> None:
    clock.on(hours=2)
    keep(
        workshop,
        draft_runs(workshop, (RunSaid(car="Bramble", minutes="12", packs=("Bramble pack",)),)).entries,
    )
