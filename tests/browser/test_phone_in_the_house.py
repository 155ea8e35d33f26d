"""A phone on the house network, in a real browser, against the real command: under a name, over plain HTTP.

Not under 127.0.0.1, where a browser is more trusting than it is with the house's plain HTTP.
"""

from __future__ import annotations

import json
import re
import sys
from collections.abc import Callable, Iterator
from datetime import UTC, datetime
from pathlib import Path

import pytest
from argon2 import PasswordHasher
from playwright.sync_api import Browser, Page, expect

from snugfast.records.store.engines import file_url
from tests.setup.browser import PHONE
from tests.setup.missing import find_program
from tests.setup.server import LOOPBACK, running_server
from tests.web.workshops import Clock, empty_workshop

NAME = "workshop.local"
PASSPHRASE = "nuts and bolts at nine"


@pytest.fixture
def phone_abroad(browser: Browser) -> Iterator[Page]:
    """A phone that knows this machine by a name only."""
    other = browser.browser_type.launch(
        executable_path=str(find_program("chromium", "chromium-browser")),
        args=["--disable-background-networking", f"--host-resolver-rules=MAP {NAME} {LOOPBACK}"],
    )
    yield other.new_context(**PHONE).new_page()
    other.close()


def test_a_phone_scans_the_code_and_signs_in_again_by_passphrase(
    tmp_path: Path, phone_abroad: Page, axe: Callable[[Page], None]
) -> None:
    file = tmp_path / "workshop.sqlite"
    empty_workshop(Clock(datetime.now(UTC)), file_url(file)).store.close()
    hashed = PasswordHasher(time_cost=1, memory_cost=8, parallelism=1).hash(PASSPHRASE)
    door = file.with_name("workshop.door.json")
    door.write_text(json.dumps({"form": 1, "passphrase": hashed, "phones": []}), "utf-8")
    log = tmp_path / "server.log"
    command = [str(Path(sys.executable).parent / "snugfast"), "--workshop", str(file)]
    command += ["serve", "--house", "--address", NAME, "--port", "{port}"]
    page = phone_abroad
    troubles: list[str] = []
    page.on("pageerror", lambda error: troubles.append(str(error)))
    page.on("request", lambda one: troubles.append(one.url) if f"//{NAME}:" not in one.url else None)
    with running_server(command, env={"PYTHONUNBUFFERED": "1"}, health="/health", log=log) as address:
        port = address.rsplit(":", 1)[1]
        link = re.search(rf"http://{NAME}:{port}/door/link/\S+", log.read_text("utf-8"))
        assert link, log.read_text("utf-8")
        page.goto(link[0])
        assert not page.evaluate("isSecureContext")
        axe(page)
        page.get_by_label("Who are you?").fill("Red phone")
        page.get_by_role("button", name="Come in").tap()
        expect(page.get_by_role("heading", name="No cars yet")).to_be_visible()
        page.goto(f"http://{NAME}:{port}/phones")
        expect(page.get_by_text("signed in as “Red phone”")).to_be_visible()
        token = next(one["value"] for one in page.context.cookies() if one["name"] == "snugfast-phone")
        page.get_by_role("button", name="Sign out").tap()
        expect(page.get_by_role("heading", name="Sign in")).to_be_visible()
        page.goto(f"http://{NAME}:{port}/more")
        page.get_by_label("Passphrase").fill("nuts and bolts at ten")
        page.get_by_role("button", name="Sign in").tap()
        expect(page.get_by_role("alert")).to_contain_text("not the passphrase")
        axe(page)
        page.get_by_label("Passphrase").fill(PASSPHRASE)
        page.get_by_role("button", name="Sign in").tap()
        expect(page.get_by_role("heading", name="More")).to_be_visible()
        page.goto(link[0])
        expect(page).to_have_url(f"http://{NAME}:{port}/")
    said = log.read_text("utf-8")
    assert "Plain HTTP" in said
    assert PASSPHRASE not in said
    assert token not in said
    assert said.count("/door/link/") == 1, "the command prints the link, and nothing logs it"
    assert not troubles
