"""Back from the field under a thumb: taps and typed numbers counted."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

from playwright.sync_api import Locator, Page, expect

from snugfast.app.opening import open_workshop
from snugfast.records.entries import Ran

TAPS, TYPED = 9, 4  # for two cars and three runs


def test_two_cars_and_three_runs_take_few_taps(
    pages: str, phone_page: Page, workshop_file: Path, axe: Callable[[Page], None]
) -> None:
    page, taps, typed = phone_page, 0, 0
    page.goto(pages + "/outing")

    def tap(target: Locator) -> None:
        nonlocal taps
        target.tap()
        taps += 1

    bramble = page.locator(".ran").filter(has_text="Bramble")
    quarry = page.locator(".ran").filter(has_text="Quarry")
    tap(bramble.locator("input[name=car]"))
    tap(bramble.get_by_role("checkbox", name="Ember 1", exact=True))
    bramble.get_by_text("Other packs").tap()
    taps += 1
    tap(bramble.get_by_role("checkbox", name="Ember 2", exact=True))
    tap(quarry.locator("input[name=car]"))
    quarry.get_by_label("Min each").fill("11")
    typed += 1
    tap(page.get_by_role("radio", name="damp"))
    axe(page)
    tap(page.get_by_role("button", name="Save"))
    assert taps <= TAPS
    assert typed <= TYPED
    expect(page.get_by_role("heading", name="What it means now")).to_be_visible()
    workshop = open_workshop(str(workshop_file))
    with workshop.store.reading() as reads:
        facts = [row.entry.fact for row in reads.entries_after(reads.position() - 3)]
    workshop.store.close()
    runs = [fact for fact in facts if isinstance(fact, Ran)]
    assert sorted(run.running_min for run in runs) == [11.0, 13.0, 13.0]
    assert {run.wet.value for run in runs} == {"damp"}
