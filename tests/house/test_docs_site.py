"""The site of the docs before the generator sees it: every page is reached, and every link leads to one."""

from __future__ import annotations

from scripts.docs_site import BROUGHT, MADE, gathered, links, navigation
from tests.house.tree import tracked_files


def test_every_page_is_in_the_navigation_once_and_nothing_else_is() -> None:
    named = [
        page for group in navigation() for pages in group.values() for one in pages for page in one.values()
    ]
    assert sorted(named) == sorted({*gathered(), *MADE})


def test_every_link_between_pages_leads_to_one() -> None:
    pages = {*gathered(), *MADE}
    lost = [
        f"{page}: {target}"
        for page, text in gathered().items()
        for target in links(page, text)
        if target not in pages
    ]
    assert not lost


def test_the_front_pages_of_the_project_are_there() -> None:
    """Also where somebody moves one of them."""
    there = {path.name for path in tracked_files()}
    assert set(BROUGHT) <= there
