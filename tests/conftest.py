"""Fixtures for every test, and the marks that sort tests into lanes."""

from __future__ import annotations

import pytest

pytest_plugins = ["tests.setup.server", "tests.setup.postgres", "tests.setup.browser"]

MARK_OF_FIXTURE = {"browser": "browser", "postgres_cluster": "postgres"}


@pytest.hookimpl(tryfirst=True)
def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Mark what needs the browser or PostgreSQL, and run browser tests last.

    Last, because the browser's driver keeps an event loop running in the main thread once it is started, and
    a test that calls asyncio.run after that fails.
    """
    for item in items:
        for fixture, mark in MARK_OF_FIXTURE.items():
            if fixture in getattr(item, "fixturenames", ()):
                item.add_marker(mark)
    items.sort(key=lambda item: item.get_closest_marker("browser") is not None)
