"""What a process does until it is done or killed, for the tests of several processes and of kills.

Run as `python -m tests.usecases.plays PLAY URL ...`. It says “ready”, begins, and prints a number for each
thing that was done.
"""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterator
from datetime import timedelta
from pathlib import Path
from random import Random

from snugfast.exchange.archive import read_archive, write_archive
from snugfast.facts.load import load_facts
from snugfast.records.entries import Ran
from snugfast.records.store import Store
from snugfast.records.store.engines import address_of
from snugfast.records.store.restoring import restore
from snugfast.usecases.journal.keeping import keep
from snugfast.usecases.safekeeping.hand_over import hand_over, take_in
from snugfast.usecases.shared.workshop import Workshop
from tests.records.making import CAR, ME, START, identity

LATER = START + timedelta(days=2000)


def workshop(store: Store) -> Workshop:
    """A workshop whose clock stands still, long after everything that is kept."""
    return Workshop(store, load_facts(), lambda: LATER, ME)


def keeping(url: str, first: str, how_many: str) -> Iterator[int]:
    """Keep runs one by one, not in the order in which they happened."""
    numbers = list(range(int(first), int(first) + int(how_many)))
    Random(int(first)).shuffle(numbers)
    with Store.open(url, clock=lambda: LATER) as store:
        bench = workshop(store)
        yield 0
        for number in numbers:
            at = START + timedelta(minutes=30 * number)
            run = bench.entry(Ran(CAR, (), running_min=12.0), happened_at=at, id=identity(number))
            keep(bench, [run])
            yield number


def handing_over(url: str, folder: str) -> Iterator[int]:
    """Write one archive after the other."""
    with Store.open(url, clock=lambda: LATER) as store:
        bench = workshop(store)
        yield 0
        for number in range(1, 10_000):
            write_archive(hand_over(bench), Path(folder, f"{number}.zip"))
            yield number


def taking_in(url: str, archive: str) -> Iterator[int]:
    """Take in an archive."""
    everything = read_archive(Path(archive))
    with Store.open(url, clock=lambda: LATER) as store:
        bench = workshop(store)
        yield 0
        take_in(bench, everything)
        yield 1


def restoring(url: str, backup: str) -> Iterator[int]:
    """Put a backup in the store's place."""
    yield 0
    restore(Path(backup), address_of(url), now=LATER)
    yield 1


if __name__ == "__main__":
    plays: dict[str, Callable[..., Iterator[int]]]
    plays = {"keeping": keeping, "handing-over": handing_over, "taking-in": taking_in, "restoring": restoring}
    acts = plays[sys.argv[1]](*sys.argv[2:])
    next(acts)
    print("ready", flush=True)
    for done in acts:
        print(done, flush=True)
