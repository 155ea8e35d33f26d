"""A real browser that tells on the page: script errors, missing files, faults, requests to elsewhere."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from typing import Any, Literal
from urllib.parse import urlsplit

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import (
    Browser,
    ConsoleMessage,
    Page,
    Request,
    Response,
    WebError,
    expect,
    sync_playwright,
)

from tests.setup.missing import find_program
from tests.setup.server import LOOPBACK

ColourScheme = Literal["light", "dark"]

# The browser makes no calls of its own, and names lead nowhere: a page that fetches from outside fails.
QUIET_FLAGS = [
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
    "--no-first-run",
    f"--host-resolver-rules=MAP * ~NOTFOUND , EXCLUDE {LOOPBACK}",
]
PHONE: dict[str, Any] = {
    "viewport": {"width": 390, "height": 844},
    "device_scale_factor": 3,
    "has_touch": True,
    "is_mobile": True,
}
SHOWN_WITHIN_MS = 60_000.0  # a busy machine is not a fault
DESKTOP: dict[str, Any] = {"viewport": {"width": 1440, "height": 900}}


class Watch:
    """Keeps what went wrong in a browser window, one sentence each."""

    def __init__(self) -> None:
        self.troubles: list[str] = []

    def console(self, message: ConsoleMessage) -> None:
        # The browser also writes a line for each answer of 400 and up; `response` judges those.
        if message.type == "error" and not message.text.startswith("Failed to load resource"):
            self.troubles.append(f"The console says: {message.text}")

    def error(self, error: WebError) -> None:
        self.troubles.append(f"A script failed: {error.error}")

    def request(self, request: Request) -> None:
        address = urlsplit(request.url)
        if address.scheme in {"http", "https", "ws", "wss"} and address.hostname != LOOPBACK:
            self.troubles.append(f"A request leaves this machine: {request.url}")

    def response(self, response: Response) -> None:
        # A 4xx to a page or a form is an answer to a person, and the test's to judge; to a style sheet,
        # a script or a picture it is a missing file.
        asked_by_person = response.request.resource_type in {"document", "fetch", "xhr"}
        if response.status >= 500 or (response.status >= 400 and not asked_by_person):
            self.troubles.append(f"{response.url} answered {response.status}")


@contextmanager
def watched_page(browser: Browser, **options: Any) -> Iterator[Page]:
    """A page in a fresh window. At the end the test fails when anything went wrong in it."""
    watch = Watch()
    context = browser.new_context(**options)
    context.set_default_timeout(SHOWN_WITHIN_MS)
    context.on("console", watch.console)
    context.on("weberror", watch.error)
    context.on("request", watch.request)
    context.on("response", watch.response)
    page = context.new_page()
    try:
        yield page
        if not page.is_closed():
            page.evaluate("0")  # a round trip, so that whatever was said before it has arrived
    finally:
        context.close()
    if watch.troubles:
        pytest.fail("In the browser:\n  " + "\n  ".join(watch.troubles), pytrace=False)


def describe_violations(violations: list[dict[str, Any]]) -> str:
    """What the accessibility check found, as text: the rule, then each place and how to mend it."""
    lines = []
    for violation in violations:
        lines.append(f"{violation['id']} ({violation['impact']}): {violation['help']}")
        for node in violation["nodes"]:
            mend = node.get("failureSummary", "").replace("\n", "\n    ")
            lines.append(f"  at {node['target']}: {node['html']}\n    {mend}")
    return "\n".join(lines)


@pytest.fixture(scope="session")
def browser() -> Iterator[Browser]:
    """Chromium as Debian builds it, without a window."""
    chromium = find_program("chromium", "chromium-browser")
    expect.set_options(timeout=SHOWN_WITHIN_MS)
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(
            executable_path=str(chromium), args=QUIET_FLAGS, timeout=2 * SHOWN_WITHIN_MS
        )
        yield browser
        browser.close()


@pytest.fixture
def colour_scheme() -> ColourScheme:
    """Light, unless the test says @pytest.mark.parametrize("colour_scheme", ["light", "dark"])."""
    return "light"


@pytest.fixture
def phone_page(browser: Browser, colour_scheme: ColourScheme) -> Iterator[Page]:
    """A page on a phone: 390 by 844, sharp screen, touch."""
    with watched_page(browser, color_scheme=colour_scheme, **PHONE) as page:
        yield page


@pytest.fixture
def desktop_page(browser: Browser, colour_scheme: ColourScheme) -> Iterator[Page]:
    """A page on a desktop: 1440 by 900, mouse."""
    with watched_page(browser, color_scheme=colour_scheme, **DESKTOP) as page:
        yield page


@pytest.fixture
def axe() -> Callable[[Page], None]:
    """Check a page for accessibility; the test fails with the rule, the place and how to mend it."""

    def check(page: Page) -> None:
        violations = Axe().run(page).response["violations"]
        if violations:
            pytest.fail(f"{page.url} shuts people out:\n{describe_violations(violations)}", pytrace=False)

    return check
