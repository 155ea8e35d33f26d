"""Every page in a real browser, opened once: on a phone and on a desktop, whoever looks at it.

Authority: WCAG 2.2 AA as axe checks it; 44 px is the target size of its level AAA (2.5.5).
"""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Browser, Page

from snugfast.app.opening import open_workshop
from snugfast.records.entries import Ran
from snugfast.usecases.shared.ledger import ledger_now
from tests.setup.browser import PHONE, describe_violations, watched_page
from tests.web.test_every_page import PATHS

MORE = [
    "/packs",
    "/packs/fit",
    "/packs/views",
    "/runs/new?car=Bramble",
    "/broke?car=Bramble",
    "/packs/together",
]
# One row of the tables stands for all: they share a template.
SOURCES = "/sources/wheel_nut_loose"
OPENED = [path for path in (*PATHS, *MORE) if not path.startswith("/sources/") or path == SOURCES]
PHONE_PX, DESKTOP_PX = (390, 844), (1280, 900)
SEVERE = ("serious", "critical")
SMALL = """() => [...document.querySelectorAll([
    "button, .button, .quiet, .bare, nav a, summary, select, input:not([type=hidden])",
    ".chip, .pick, .tile, .ok"].join())]
  .filter(node => node.checkVisibility() && node.getBoundingClientRect().width > 1)
  .filter(node => node.getBoundingClientRect().height < 43.5)
  .map(node => node.outerHTML.slice(0, 90))"""


@pytest.fixture(scope="module")
def names(workshop_file: Path) -> dict[str, str]:
    """What stands for {car} and {run} in an address."""
    workshop = open_workshop(str(workshop_file))
    with workshop.store.reading() as reads:
        car = ledger_now(reads).car_named("Bramble")
        run = next(row.entry for row in reads.entries_after(0) if isinstance(row.entry.fact, Ran))
    workshop.store.close()
    assert car is not None
    return {"car": str(car.id), "run": str(run.id)}


@pytest.fixture(scope="module")
def window(browser: Browser) -> Iterator[Page]:
    """One window for all pages; it fails at the end for whatever a page said to its console."""
    with watched_page(browser, **PHONE) as page:
        yield page


@pytest.mark.parametrize("path", OPENED)
def test_a_page_fits_both_screens_and_shuts_nobody_out(
    pages: str, window: Page, names: dict[str, str], path: str
) -> None:
    window.set_viewport_size({"width": PHONE_PX[0], "height": PHONE_PX[1]})
    window.goto(pages + path.format(**names))
    assert window.evaluate("document.documentElement.scrollWidth") <= PHONE_PX[0]
    assert window.evaluate(SMALL) == []
    severe = [one for one in Axe().run(window).response["violations"] if one["impact"] in SEVERE]
    assert not severe, describe_violations(severe)
    window.set_viewport_size({"width": DESKTOP_PX[0], "height": DESKTOP_PX[1]})
    assert window.evaluate("document.documentElement.scrollWidth") <= DESKTOP_PX[0]
