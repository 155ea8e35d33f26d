"""The pages in a real browser, on a phone and a desktop, in light and dark, and without script."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Page, expect

from snugfast.app.opening import open_workshop
from snugfast.records.entries import Checked, Ran
from tests.setup.browser import PHONE, watched_page
from tests.setup.server import StartServer

from .conftest import ENVIRONMENT, SERVE

SEVERAL = [
    "/",
    "/runs/new",
    "/sheet",
    "/sheet?car=Bramble&minutes=20&make=1",
    "/journal",
    "/packs",
    "/packs/views",
    "/packs/fit",
    "/settings",
    "/cars/new",
]


def last_fact(path: Path) -> object:
    workshop = open_workshop(str(path))
    with workshop.store.reading() as reads:
        entry = reads.entries_after(reads.position() - 1)[0].entry
    workshop.store.close()
    return entry.fact


@pytest.mark.parametrize("colour_scheme", ["light", "dark"])
def test_nobody_is_shut_out_and_nothing_scrolls_sideways_on_a_phone(
    pages: str, phone_page: Page, axe: Callable[[Page], None]
) -> None:
    addresses = [pages + path for path in SEVERAL]
    phone_page.goto(pages)
    addresses.append(
        phone_page.get_by_role("heading", name="Bramble").get_by_role("link").evaluate("a => a.href")
    )
    for address in addresses:
        phone_page.goto(address)
        axe(phone_page)
        assert phone_page.evaluate("document.documentElement.scrollWidth") <= 390, address


def test_everything_unfolded_is_as_sound_on_a_desktop(
    pages: str, desktop_page: Page, axe: Callable[[Page], None]
) -> None:
    desktop_page.goto(pages + "/sheet?minutes=20&wet=mud&make=1")
    desktop_page.get_by_role("link", name="Open everything").click()
    axe(desktop_page)
    assert desktop_page.evaluate("document.documentElement.scrollWidth") <= 1440


def test_what_a_thumb_must_hit_is_large_enough(pages: str, phone_page: Page) -> None:
    for path in ("/", "/sheet?car=Bramble&minutes=20&make=1", "/runs/new"):
        phone_page.goto(pages + path)
        small = phone_page.evaluate(
            """() => [...document.querySelectorAll(
                "button, .button, .quiet, nav a, summary, select, input, textarea, .pick, .station a")]
              .filter(node => node.checkVisibility() && !node.matches(".pick input"))
              .filter(node => node.getBoundingClientRect().height < 43.5)
              .map(node => node.outerHTML.slice(0, 90))"""
        )
        assert small == []


def test_no_letter_is_too_small_to_read_at_arms_length(pages: str, phone_page: Page) -> None:
    for path in ("/", "/sheet?car=Bramble&minutes=20&make=1", "/packs", "/journal"):
        phone_page.goto(pages + path)
        small = phone_page.evaluate(
            """() => [...document.querySelectorAll("body *")]
              .filter(node => node.checkVisibility())
              .filter(node => [...node.childNodes].some(n => n.nodeType === 3 && n.data.trim()))
              .filter(node => parseFloat(getComputedStyle(node).fontSize) < 12.9)
              .map(node => node.outerHTML.slice(0, 90))"""
        )
        assert small == [], path


def test_a_run_is_logged_and_a_check_answered_with_script_turned_off(
    pages: str, browser: Browser, workshop_file: Path
) -> None:
    with watched_page(browser, java_script_enabled=False, **PHONE) as phone:
        phone.goto(pages)
        form = phone.get_by_role("region", name="Log a run")
        form.get_by_label("Car").select_option("Quarry")
        form.get_by_label("Pack").select_option("Ember 2")
        form.get_by_label("Minutes").fill("about 11")
        form.get_by_role("button", name="Go on").tap()
        expect(phone.get_by_role("heading", name="Keep this?")).to_be_visible()
        phone.get_by_role("button", name="Keep it").tap()
        expect(phone.get_by_role("status")).to_contain_text("Quarry ran about 11 min with Ember 2")
        fact = last_fact(workshop_file)
        assert isinstance(fact, Ran)
        assert fact.running_min == 11.0

        phone.get_by_role("link", name="Sheet for 20 min").first.tap()
        card = phone.locator("li.card").filter(has_text="Check the wheel nuts are tight")
        card.get_by_text("Found something").tap()
        card.get_by_label("Found", exact=True).select_option("loose @ front left")
        card.get_by_role("radio", name="renewed").check()
        card.get_by_role("button", name="Keep what was found").tap()
        expect(card).to_contain_text("Loose, front left, renewed")
        found = last_fact(workshop_file)
        assert isinstance(found, Checked)
        assert found.check == "wheel_nuts"


def test_the_keyboard_reaches_the_page_and_shows_where_it_is(pages: str, desktop_page: Page) -> None:
    desktop_page.goto(pages)
    desktop_page.keyboard.press("Tab")
    skip = desktop_page.get_by_role("link", name="To the page")
    expect(skip).to_be_focused()
    expect(skip).to_be_in_viewport()
    desktop_page.keyboard.press("Tab")
    width = desktop_page.evaluate("parseFloat(getComputedStyle(document.activeElement).outlineWidth)")
    assert width >= 2


def test_a_notch_of_the_drive_line_opens_its_places(pages: str, phone_page: Page) -> None:
    phone_page.goto(pages)
    phone_page.get_by_role("group", name="Drive line of Bramble").get_by_role("link", name="wheels").tap()
    expect(phone_page.get_by_role("heading", name="Wheel nuts")).to_be_in_viewport(ratio=0.1)


def test_the_first_start_in_a_browser(
    live_server: StartServer, tmp_path: Path, phone_page: Page, axe: Callable[[Page], None]
) -> None:
    file = tmp_path / "fresh" / "workshop.sqlite"
    phone_page.goto(live_server(SERVE, env={ENVIRONMENT: str(file)}, health="/health"))
    axe(phone_page)
    phone_page.get_by_label("Who are you?").fill("Pip")
    phone_page.get_by_label("Currency").fill("CRD")
    phone_page.get_by_role("button", name="Begin").tap()
    phone_page.get_by_label("Name").fill("Old Tin")
    phone_page.get_by_role("button", name="Go on").tap()
    phone_page.get_by_role("button", name="Keep it").tap()
    expect(phone_page.get_by_role("heading", name="Old Tin")).to_be_visible()
    axe(phone_page)
