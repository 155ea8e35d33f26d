"""A small workshop with a few entries of every kind, taken from a season that the first version wrote."""

from __future__ import annotations

from collections import Counter
from dataclasses import replace
from functools import cache

from snugfast.exchange.archive import read_archive
from snugfast.records.entries import CarAdded, ChargerAdded, PackAdded, SettingsChosen
from snugfast.usecases.safekeeping.hand_over import Everything
from tests.stories.test_old_seasons import SEASONS

ALWAYS = (CarAdded, PackAdded, ChargerAdded, SettingsChosen)
OF_EACH_KIND = 2


@cache
def small_season() -> Everything:
    """All cars, packs and chargers, and the last two entries of each other kind."""
    season = read_archive(SEASONS / "2026-11-28.one-season.zip")
    seen: Counter[type[object]] = Counter()
    chosen = []
    for entry in reversed(season.entries):
        kind = type(entry.fact)
        seen[kind] += 1
        if isinstance(entry.fact, ALWAYS) or seen[kind] <= OF_EACH_KIND:
            chosen.append(entry)
    return replace(season, entries=tuple(reversed(chosen)), lines=())
