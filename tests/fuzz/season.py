"""A small workshop with a few entries of every kind, taken from a season that the first version wrote."""

from __future__ import annotations

from collections import Counter
from dataclasses import replace
from functools import cache
from pathlib import Path

from snugfast.app.opening import utc_now
from snugfast.exchange.archive import read_archive
from snugfast.facts.load import load_facts
from snugfast.records.entries import CarAdded, ChargerAdded, PackAdded, SettingsChosen
from snugfast.records.store.engines import file_url
from snugfast.records.store.store import Store
from snugfast.usecases.safekeeping.hand_over import Everything, take_in
from snugfast.usecases.shared.workshop import Workshop
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


def story_file(folder: Path) -> Path:
    """The small season in a store of its own, closed."""
    file = folder / "season.sqlite"
    everything = small_season()
    with Store.create(file_url(file), clock=utc_now) as store:
        take_in(Workshop(store, load_facts(), utc_now, everything.people[0].id), everything)
    return file
