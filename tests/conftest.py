"""Fixtures for every test, and the marks that sort tests into lanes."""

from __future__ import annotations

import os
from pathlib import Path

import pytest
from hypothesis import settings

# Products of small matrices spend more on meeting threads than on the sums; said before NumPy is loaded.
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

from snugfast.app.kernel_cache import use_kernel_cache

pytest_plugins = ["tests.setup.server", "tests.setup.postgres", "tests.setup.browser"]

use_kernel_cache()  # what setting up compiled is there for the tests too

# No deadline: a busy machine is not a fault. The daily lanes draw the same examples each time, so that a
# failure belongs to the change it appears with; the soak draws new ones, and more.
settings.register_profile("daily", deadline=None, derandomize=True)
settings.register_profile("soak", deadline=None, max_examples=1000, print_blob=True)
settings.load_profile("daily")

TESTS = Path(__file__).resolve().parent
# These rooms drive whole doors or whole seasons: all their tests are slow. Elsewhere a file or a test says so
# itself with pytest.mark.slow.
SLOW_ROOMS = ("app", "cli", "exchange", "fuzz", "stories", "web")
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
        if item.path.relative_to(TESTS).parts[0] in SLOW_ROOMS:
            item.add_marker("slow")
    items.sort(key=lambda item: item.get_closest_marker("browser") is not None)
