"""The field sheet opened from a phone's files with the network off, noted on, and brought home."""

from __future__ import annotations

import shutil
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import pytest
from playwright.sync_api import Page, expect

from snugfast.app.opening import open_workshop
from snugfast.exchange.field_sheet.make import LARGEST, field_sheet
from snugfast.exchange.notes_files import notes_in
from snugfast.records.entries import Checked, Ran
from snugfast.usecases.bench.sheet import Asked
from snugfast.usecases.field.notes import take_in_notes
from snugfast.usecases.hunt.hunt import hunt_view
from tests.usecases.bench import as_the_tables_mean


@pytest.mark.parametrize("colour_scheme", ["dark"])
def test_a_sheet_is_noted_on_without_a_network_and_comes_home(
    workshop_file: Path, tmp_path: Path, phone_page: Page, axe: Callable[[Page], None]
) -> None:
    copy = tmp_path / "workshop.sqlite"
    shutil.copyfile(workshop_file, copy)
    workshop = open_workshop(str(copy))
    workshop = replace(workshop, facts=as_the_tables_mean(workshop.facts))  # whose nuts are worth a look
    html = field_sheet(workshop, Asked(("Bramble",), minutes=90.0))
    assert len(html.encode()) < LARGEST
    file = tmp_path / "field-sheet.html"
    file.write_text(html, "utf-8")

    page = phone_page
    page.set_default_timeout(15_000)
    page.context.set_offline(True)
    page.goto(file.as_uri())
    axe(page)
    assert page.evaluate("document.documentElement.scrollWidth") <= 390
    small = page.evaluate(
        """() => [...document.querySelectorAll("button, summary, select, input:not([type=checkbox]), nav a")]
          .filter(node => node.checkVisibility() && node.getBoundingClientRect().height < 43.5)
          .map(node => node.outerHTML.slice(0, 90))"""
    )
    assert small == []
    first = page.get_by_role("button", name="OK:").first
    first.tap()
    nuts = page.locator("[data-check=wheel_nuts]")
    nuts.locator("summary").tap()
    nuts.locator("[name=found]").select_option(value="loose @ front left")
    nuts.locator("[name=did]").select_option(label="Not fixed yet")
    nuts.locator("[name=note]").fill("two | turns")
    nuts.get_by_role("button", name="Save what was found").tap()
    expect(nuts.locator(".said")).to_contain_text("not fixed yet")
    page.locator("#r-minutes").fill("11")
    page.get_by_role("checkbox", name="Ember 2").check()
    page.get_by_role("button", name="Save the run").tap()
    page.get_by_role("checkbox", name="Motor turns, wheels don’t").check()
    page.get_by_role("button", name="Find out why").tap()
    good = page.locator("#hunt .answers button").first
    nothing_wrong = good.inner_text()
    good.tap()
    page.reload()  # the phone closed it
    hunt = page.locator("#hunt")
    expect(hunt.get_by_text("1 answer so far")).to_be_visible()
    hunt.get_by_role("button", name="Can’t tell").tap()
    hunt.get_by_role("button", name="Undo the last answer").tap()
    expect(hunt.get_by_text("1 answer so far")).to_be_visible()
    axe(page)
    expect(page.locator("#runs")).to_contain_text("Bramble: 11 min, Ember 2")
    text = page.locator("#notes").input_value()
    page.get_by_role("button", name="Show codes").tap()
    codes = page.locator("#codes svg")
    pictures = [codes.nth(number).screenshot() for number in range(codes.count())]
    axe(page)

    head = text.splitlines()[:2]
    only_the_hunt = take_in_notes(
        workshop, "\n".join([*head, *(r for r in text.splitlines() if "| hunt |" in r)])
    )
    assert only_the_hunt.new == 4
    view = hunt_view(workshop, "Bramble")
    assert view is not None and [one.answer for one in view.told] == [nothing_wrong]
    assert view.test is not None
    expect(hunt.locator("h3").nth(1)).to_have_text(view.test.name)
    for bar in view.likely:
        words = f"{bar.name} {bar.words}, {bar.chance.value * 100:.0f} %"
        expect(hunt.locator("ol.plain")).to_contain_text(words)
    done = take_in_notes(workshop, text)
    with workshop.store.reading() as reads:
        facts = [row.entry.fact for row in reads.entries_with(done.entries)]
    workshop_told = [fact for fact in facts if isinstance(fact, Checked) and fact.answers]
    assert workshop_told[0].noticed == "two / turns"
    assert workshop_told[0].answers[0].spot == "front left"
    assert any(isinstance(fact, Ran) and fact.running_min == 11.0 for fact in facts)
    read = "\n".join(notes_in(picture) for picture in pictures)
    again = take_in_notes(workshop, read)
    assert (again.new, again.known) == (0, done.new + 4), "the codes say the same as the text"
    workshop.store.close()
