"""What the tests stand on does what it promises: databases, the server, the browser that tells."""

from __future__ import annotations

import re
import sys
from collections.abc import Callable
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Page
from sqlalchemy import create_engine, text
from sqlalchemy.exc import OperationalError

from tests.setup.browser import watched_page
from tests.setup.missing import MissingPart, find_program
from tests.setup.postgres import Cluster
from tests.setup.server import StartServer

TINY_APP = [sys.executable, "-m", "uvicorn", "--port", "{port}", "tests.house.tiny_app:app"]


def told_by(browser: Browser, address: str) -> str:
    """What the watch says after one page was opened."""
    with pytest.raises(pytest.fail.Exception) as told, watched_page(browser) as page:
        page.goto(address)
    return str(told.value)


def test_every_engine_gives_an_empty_database_that_answers(engine_url: str) -> None:
    engine = create_engine(engine_url)
    with engine.begin() as connection:
        connection.execute(text("create table lap (seconds integer)"))
        assert connection.execute(text("select 1")).scalar_one() == 1
    engine.dispose()


def test_the_next_test_finds_nothing_of_the_one_before(engine_url: str) -> None:
    engine = create_engine(engine_url)
    with engine.begin() as connection:
        connection.execute(text("create table lap (seconds integer)"))
    engine.dispose()


def test_postgres_listens_on_a_socket_file_only(postgres_url: str) -> None:
    with create_engine(postgres_url).connect() as connection:
        assert connection.execute(text("show listen_addresses")).scalar_one() == ""
        assert connection.execute(text("select current_user")).scalar_one() == "snugfast"


def test_a_database_goes_though_somebody_is_still_connected(postgres_cluster: Cluster) -> None:
    with postgres_cluster.empty_database() as url:
        careless = create_engine(url).connect()
        careless.execute(text("select 1"))
    with pytest.raises(OperationalError):
        careless.execute(text("select 1"))
    careless.invalidate()


def test_a_missing_program_is_an_error_that_says_what_to_type() -> None:
    with pytest.raises(MissingPart, match="Type: make test"):
        find_program("no-such-program-anywhere", also_in=[Path("/")])


def test_a_server_that_ends_at_once_tells_its_own_words(live_server: StartServer) -> None:
    with pytest.raises(RuntimeError, match="out of petrol"):
        live_server([sys.executable, "-c", "import sys; sys.exit('out of petrol')"])


def test_a_sound_page_passes_on_the_phone(
    live_server: StartServer, phone_page: Page, axe: Callable[[Page], None]
) -> None:
    phone_page.goto(live_server(TINY_APP))
    assert phone_page.evaluate("[innerWidth, innerHeight, devicePixelRatio]") == [390, 844, 3]
    phone_page.get_by_role("button", name="Count").tap()
    phone_page.get_by_text("counted 1").wait_for()
    axe(phone_page)


@pytest.mark.parametrize("colour_scheme", ["light", "dark"])
def test_a_page_sees_the_colour_scheme_asked_for(
    live_server: StartServer, desktop_page: Page, colour_scheme: str
) -> None:
    desktop_page.goto(live_server(TINY_APP))
    assert desktop_page.evaluate("innerWidth") == 1440
    assert desktop_page.evaluate("matchMedia('(prefers-color-scheme: dark)').matches") == (
        colour_scheme == "dark"
    )


def test_a_refused_form_is_for_the_test_to_judge(live_server: StartServer, phone_page: Page) -> None:
    answer = phone_page.goto(live_server(TINY_APP) + "/refused")
    assert answer is not None
    assert answer.status == 422


@pytest.mark.parametrize(
    ("path", "words"),
    [
        ("/throws", "A script failed: .*the wheel came off"),
        ("/complains", "The console says: not happy"),
        ("/fault", "/fault answered 500"),
        ("/no-style", "/missing.css answered 404"),
        ("/outside", "A request leaves this machine: http://outside.example/picture.png"),
    ],
)
def test_the_browser_tells_on_a_bad_page(
    live_server: StartServer, browser: Browser, path: str, words: str
) -> None:
    assert re.search(words, told_by(browser, live_server(TINY_APP) + path))


def test_the_accessibility_check_names_rule_and_place(
    live_server: StartServer, phone_page: Page, axe: Callable[[Page], None]
) -> None:
    phone_page.goto(live_server(TINY_APP) + "/unlabelled")
    with pytest.raises(pytest.fail.Exception, match=r"label \(critical\)") as told:
        axe(phone_page)
    assert "<input" in str(told.value)
