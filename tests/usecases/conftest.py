"""Fixtures shared by the tests of use-cases."""

from __future__ import annotations

from collections.abc import Iterator

import pytest

from tests.usecases.pack_bench import Bench, bench_with_pack


@pytest.fixture
def packs() -> Iterator[Bench]:
    """A bench with one pack, one charger and one truck."""
    with bench_with_pack() as bench:
        yield bench
