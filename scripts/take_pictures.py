"""Photograph pages of the demo workshop for the site of the docs: on a phone and on a desk, light and dark.

Makes a demo of its own in build/pictures-demo, serves it, and writes PNG files to build/pages/pictures. Then
`make docs` puts them on the page “What it looks like”. Needs a Chromium: $CHROMIUM, or the one of the system.
"""

from __future__ import annotations

import os
import shutil
import socket
import subprocess
import sys
import time
import urllib.error
import urllib.request
from pathlib import Path

from playwright.sync_api import Page, sync_playwright

from scripts.docs_site import PAGES, PICTURES
from tests.house.tree import ROOT

WORKSHOP = ROOT / "build/pictures-demo"
PHONE, DESK = {"width": 390, "height": 844}, {"width": 1280, "height": 900}
# What is seen, its address, and on what: in the order of the page.
SEEN = (
    ("1 home", "/", DESK),
    ("2 sheet on the phone", "/sheet?car=Bramble&minutes=20&make=1", PHONE),
    ("3 gearing", "{car}/gearing", DESK),
    ("4 hunt", "{car}/hunt", PHONE),
    ("5 packs", "/packs", DESK),
)


def free_port() -> int:
    """One that nobody uses now."""
    with socket.socket() as asked:
        asked.bind(("127.0.0.1", 0))
        return int(asked.getsockname()[1])


def wait_for(address: str, *, minutes: int = 5) -> None:
    """Until the pages answer. The first one works everything out, which takes long on a busy machine."""
    end = time.monotonic() + 60.0 * minutes
    while time.monotonic() < end:
        try:
            urllib.request.urlopen(address, timeout=60.0 * minutes).close()
        except (urllib.error.URLError, TimeoutError):
            time.sleep(0.25)
        else:
            return
    raise SystemExit(f"The pages of the demo did not come up in {minutes} minutes.")


def first_car(page: Page, address: str) -> str:
    """The address of the first car that home names."""
    page.goto(address)
    return str(page.locator("a[href^='/cars/']").first.get_attribute("href"))


def photograph(address: str, browser_path: str | None) -> None:
    """Every page in both schemes."""
    folder = PAGES / PICTURES
    shutil.rmtree(folder, ignore_errors=True)
    folder.mkdir(parents=True)
    with sync_playwright() as p:
        browser = p.chromium.launch(executable_path=browser_path, args=["--disable-background-networking"])
        for scheme in ("light", "dark"):
            context = browser.new_context(color_scheme=scheme)
            page = context.new_page()
            page.set_default_timeout(300_000)
            car = first_car(page, address)
            for name, where, size in SEEN:
                page.set_viewport_size(size)
                answer = page.goto(address + where.format(car=car), wait_until="networkidle")
                if answer is None or not answer.ok:
                    raise SystemExit(f"{where} did not answer.")
                page.screenshot(path=folder / f"{name.replace(' ', '-')}-{scheme}.png")
        browser.close()


def main() -> None:
    """Make the demo, serve it, photograph it, stop serving."""
    command = [str(Path(sys.executable).with_name("snugfast")), "--workshop", str(WORKSHOP)]
    shutil.rmtree(WORKSHOP, ignore_errors=True)
    subprocess.run([*command, "demo"], check=True, stdout=subprocess.DEVNULL)
    port = free_port()
    server = subprocess.Popen([*command, "serve", "--port", str(port)], stdout=subprocess.DEVNULL)
    try:
        address = f"http://127.0.0.1:{port}"
        wait_for(address)
        photograph(address, os.environ.get("CHROMIUM") or shutil.which("chromium"))
    finally:
        server.terminate()
        server.wait(timeout=20)
    print(f"{2 * len(SEEN)} pictures are in {(PAGES / PICTURES).relative_to(ROOT)}; next: make docs")


if __name__ == "__main__":
    main()
