"""The pages in a real browser, on a phone and a desktop, in light and dark, and without script."""

from __future__ import annotations

import time
from collections.abc import Callable
from pathlib import Path

import pytest
from playwright.sync_api import Page, expect

from tests.setup.server import StartServer

from .conftest import ENVIRONMENT, SERVE

SEVERAL = [
    "/",
    "/outing",
    "/more",
    "/sheet",
    "/journal",
    "/packs",
    "/settings",
    "/cars/new",
    "{car}",
    "{car}/change",
    "{car}/gearing",
]


@pytest.mark.parametrize("colour_scheme", ["dark"])
def test_nobody_is_shut_out_in_the_dark(
    pages: str, car: str, phone_page: Page, axe: Callable[[Page], None]
) -> None:
    for path in SEVERAL:
        phone_page.goto(pages + path.format(car=car))
        axe(phone_page)


def test_no_letter_is_too_small_to_read_at_arms_length(pages: str, car: str, phone_page: Page) -> None:
    for path in ("/", "/sheet?car=Bramble&minutes=20&make=1", "/packs", "/journal", "{car}"):
        phone_page.goto(pages + path.format(car=car))
        small = phone_page.evaluate(
            """() => [...document.querySelectorAll("body *")]
              .filter(node => node.checkVisibility())
              .filter(node => [...node.childNodes].some(n => n.nodeType === 3 && n.data.trim()))
              .filter(node => parseFloat(getComputedStyle(node).fontSize) < 12.9)
              .map(node => node.outerHTML.slice(0, 90))"""
        )
        assert small == [], path


def test_the_keyboard_reaches_the_page_and_shows_where_it_is(pages: str, desktop_page: Page) -> None:
    desktop_page.goto(pages)
    desktop_page.keyboard.press("Tab")
    skip = desktop_page.get_by_role("link", name="To the page")
    expect(skip).to_be_focused()
    expect(skip).to_be_in_viewport()
    desktop_page.keyboard.press("Tab")
    width = desktop_page.evaluate("parseFloat(getComputedStyle(document.activeElement).outlineWidth)")
    assert width >= 2


def test_a_notch_of_the_drive_line_opens_its_places(pages: str, car: str, phone_page: Page) -> None:
    phone_page.goto(pages + car)
    phone_page.get_by_role("group", name="Drivetrain of Bramble").get_by_role("link", name="wheels").tap()
    expect(phone_page.get_by_role("heading", name="Wheel nuts")).to_be_in_viewport(ratio=0.1)


def test_the_first_start_in_a_browser(
    live_server: StartServer, tmp_path: Path, phone_page: Page, axe: Callable[[Page], None]
) -> None:
    file = tmp_path / "fresh" / "workshop.sqlite"
    began = time.monotonic()
    phone_page.goto(live_server(SERVE, env={ENVIRONMENT: str(file)}, health="/health"))
    axe(phone_page)
    phone_page.get_by_role("radio", name="1/10 trail crawler").tap()
    phone_page.get_by_label("What do you call it?").fill("Old Tin")
    phone_page.get_by_role("button", name="Done: its first sheet").tap()
    expect(phone_page.get_by_role("heading", name="Old Tin, 20 minutes")).to_be_visible()
    assert time.monotonic() - began < 60.0  # two taps and a name; the rest is the machine's
    axe(phone_page)
