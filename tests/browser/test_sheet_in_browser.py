"""The bench sheet under a thumb: how many screens, words and taps it takes, and that nothing jumps."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Locator, Page, expect

from snugfast.app.opening import open_workshop
from snugfast.records.entries import Checked, Done
from snugfast.records.standing import standing
from tests.setup.browser import PHONE, watched_page

SHEET = "/sheet?car=Bramble&minutes=20&make=1"
# Lines of which every finding is at a corner, or at no place that must be touched.
AT_A_CORNER = "li.check:has(.wheel):not(:has(.where-picker .chip))"
ANYWHERE = (
    "li.check:has(fieldset > .chips input.bad):not(:has(.where-picker)):not(:has(input[name$='.pack']))"
)
SCREENS, WORDS, TAPS = 3.5, 700, 14  # what a 20-minute sheet may take


def answers(path: Path) -> list[Checked]:
    """What stands in the journal as answers to checks."""
    workshop = open_workshop(str(path))
    with workshop.store.reading() as reads:
        entries = standing(row.entry for row in reads.entries_after(0)).entries
    workshop.store.close()
    return [entry.fact for entry in entries if isinstance(entry.fact, Checked)]


def line(page: Page, name: str) -> Locator:
    """A line of the sheet by words of its title."""
    return page.locator("li.check").filter(has=page.locator("summary, .told").filter(has_text=name)).first


def counted(page: Page) -> tuple[float, int]:
    """Screens of the page and words a person sees on it."""
    screens, words = page.evaluate(
        """() => {
          const main = document.querySelector("main").cloneNode(true);
          main.querySelectorAll(".hidden, details:not([open]) > :not(summary)").forEach(n => n.remove());
          return [document.documentElement.scrollHeight / innerHeight,
                  main.textContent.split(/\\s+/).filter(Boolean).length];
        }"""
    )
    return screens, words


@pytest.mark.parametrize("colour_scheme", ["light", "dark"])
def test_a_closed_sheet_is_short_and_open_to_all(
    pages: str, phone_page: Page, axe: Callable[[Page], None]
) -> None:
    phone_page.goto(pages + SHEET)
    screens, words = counted(phone_page)
    assert screens <= SCREENS
    assert words <= WORDS
    axe(phone_page)


def test_two_findings_and_the_rest_take_few_taps_and_nothing_jumps(
    pages: str, phone_page: Page, workshop_file: Path
) -> None:
    page, taps = phone_page, 0
    before = len(answers(workshop_file))
    page.goto(pages + SHEET)

    def tap(target: Locator) -> None:
        nonlocal taps
        target.tap()
        taps += 1

    for lines in (AT_A_CORNER, ANYWHERE):
        check = page.locator(lines).first
        tap(check.locator("summary").first)
        chip = check.locator("input.bad").first
        chip.scroll_into_view_if_needed()
        top = page.evaluate("scrollY")
        tap(chip)
        assert page.evaluate("scrollY") == top
        if lines == AT_A_CORNER:
            tap(check.get_by_role("checkbox", name="front left", exact=True))
        tap(check.get_by_role("radio", name="Fixed", exact=True))
    while (rest := page.locator(".round:not(.is-done) button[value=ok]").first).count():
        left = page.locator(".round:not(.is-done)").count()
        tap(rest)
        expect(page.locator(".round:not(.is-done)")).to_have_count(left - 1)
        if left > 1:
            expect(page.locator(".round:not(.is-done) h2").first).to_be_in_viewport()
    assert taps <= TAPS
    expect(page.get_by_role("heading", name="Ready")).to_be_visible()
    new = answers(workshop_file)[before:]
    found = [(one.spot, one.done) for fact in new for one in fact.answers]
    assert sorted(found, key=lambda one: one[0]) == [("", Done.PUT_RIGHT), ("front left", Done.PUT_RIGHT)]
    assert all(fact.looked for fact in new)


def test_without_script_a_finding_asks_for_its_remedy_and_a_line_is_taken_back(
    pages: str, browser: Browser, workshop_file: Path
) -> None:
    before = len(answers(workshop_file))
    with watched_page(browser, java_script_enabled=False, **PHONE) as page:
        page.goto(pages + "/sheet?car=Quarry&minutes=20&make=1")
        check = line(page, "wheel nuts")
        form = page.locator(".round form").filter(has=check)
        check.locator("summary").first.tap()
        check.get_by_role("checkbox", name="loose", exact=True).tap()
        check.get_by_role("checkbox", name="front left", exact=True).tap()
        form.get_by_role("button", name="OK").tap()
        expect(page.get_by_role("alert").first).to_contain_text("what did you do about it?")
        assert len(answers(workshop_file)) == before
        check = line(page, "wheel nuts")
        check.get_by_role("radio", name="Not fixed yet").tap()
        page.locator(".round form").filter(has=check).get_by_role("button", name="OK").tap()
        done = page.locator(".round.is-done").first
        expect(done).to_contain_text("1 found")
        kept = len(answers(workshop_file))
        assert kept > before
        done.locator("summary").tap()
        done.get_by_role("button", name="Undo").first.tap()
        expect(page.locator(".round.is-done")).to_have_count(0)
        assert len(answers(workshop_file)) == kept - 1
        # What is ticked in one round is not lost when another is saved; what is not ticked there stays open.
        first, second = page.locator(".round").nth(0), page.locator(".round").nth(1)
        ticked = first.locator("li.check").first.get_attribute("id")
        page.locator(f"#{ticked} label.ok").tap()
        second.locator("button[value=ok]").tap()
        expect(page.locator(f"#{ticked}.is-ok")).to_be_attached()
        expect(page.locator(".round").nth(0)).not_to_contain_text("skipped")


def test_a_double_tap_is_one_entry(pages: str, phone_page: Page, workshop_file: Path) -> None:
    phone_page.goto(pages + "/sheet?car=Quarry&minutes=15&make=1")
    before = len(answers(workshop_file))
    form = phone_page.locator(".round form").first
    lines = form.locator("li.check").count()
    packs = form.locator("li.check").count()
    form.get_by_role("button", name="OK").dblclick()
    expect(phone_page.locator(".round.is-done").first).to_be_visible()
    new = answers(workshop_file)[before:]
    assert lines == packs <= len(new)
    assert len({(fact.check, fact.pack) for fact in new}) == len(new)
