"""A process that adds entries one after the other and acknowledges each, to be raced or killed by a test.

Run as `python -m tests.records.writer URL SORT FIRST HOW_MANY`; SORT is `adding` or `backing-up`.
Each line it prints is the number of a run that was kept (and backed up).
"""

from __future__ import annotations

import sys
from pathlib import Path

from snugfast.records.store import Store
from tests.records.making import clock, ran, withdrawn


def add(store: Store, number: int) -> None:
    """A run, its withdrawal and the withdrawal's withdrawal: they come together or not at all."""
    told = ran(3 * number)
    undone = withdrawn(3 * number + 1, told)
    with store.work() as work:
        before = work.reads.position()
        work.journal.add_all([told, undone, withdrawn(3 * number + 2, undone)], seen=before)
        work.commit()


def main(url: str, sort: str, first: int, how_many: int) -> None:
    with Store.open(url, clock=clock) as store:
        print("ready", flush=True)
        for number in range(first, first + how_many):
            add(store, number)
            if sort == "backing-up":
                store.back_up(Path(f"{store.address.file}.copy-{number}"))
            print(number, flush=True)


if __name__ == "__main__":
    main(sys.argv[1], sys.argv[2], int(sys.argv[3]), int(sys.argv[4]))
