"""What a workshop with 100,000 entries costs beside one with 1,000: pages of the journal, a sheet, keeping.

Both have ten cars, ten packs, and the same kinds of entries in the same proportions; they are timed in turn,
so that a busy neighbour harms both alike. What counts is the ratio: 1 means that it does not grow.
"""

from __future__ import annotations

import statistics
import tempfile
import time
from collections.abc import Callable, Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path

from snugfast.core.ids import compose
from snugfast.facts.load import load_facts
from snugfast.records.entries import Checked, Entry, Ground, Ran
from snugfast.records.store.engines import file_url
from snugfast.records.store.store import Store
from snugfast.usecases.bench.bench_sheet import bench_sheet
from snugfast.usecases.bench.sheet import Asked
from snugfast.usecases.journal.cars import draft_car, starter
from snugfast.usecases.journal.keeping import keep, redo, undo
from snugfast.usecases.journal.page import JournalAsked, entry_page, journal_page
from snugfast.usecases.journal.run_log import RunSaid, draft_runs
from snugfast.usecases.packs.register import PackSaid, draft_pack
from snugfast.usecases.shared.ledger import ledger_now
from snugfast.usecases.shared.workshop import Workshop

SIZES = (1_000, 100_000)
CARS = 10
CHECKS_PER_RUN = 4
AT_ONCE = 5_000
TIMES = 5


class Clock:
    """A clock that goes on when it is told to."""

    def __init__(self) -> None:
        self.at = datetime(2015, 1, 1, 12, 0, tzinfo=UTC)

    def __call__(self) -> datetime:
        """The time, a millisecond further with each look at it."""
        self.at += timedelta(milliseconds=1)
        return self.at


def workshop(folder: Path, size: int) -> tuple[Workshop, Clock]:
    """Ten cars and ten packs with so many entries behind them."""
    clock = Clock()
    folder.mkdir()
    made = Workshop(
        Store.create(file_url(folder / "workshop.sqlite"), clock=clock),
        load_facts(),
        clock,
        compose(1, bytes(10)),
    )
    for number in range(CARS):
        keep(made, [draft_car(made, f"Car {number}", starter(made, "truck-1-10-4wd-3s"))])
        keep(made, [draft_pack(made, PackSaid(f"Pack {number}", "3", "5000 mAh"))])
    history = list(_history(made, clock, size - 2 * CARS))
    for first in range(0, len(history), AT_ONCE):
        with made.store.work() as work:
            work.journal.add_all(history[first : first + AT_ONCE])
            work.commit()
    return made, clock


def _history(made: Workshop, clock: Clock, size: int) -> Iterator[Entry]:
    with made.store.reading() as reads:
        ledger = ledger_now(reads)
    cars, packs = list(ledger.cars), list(ledger.packs)
    for number in range(size):
        clock.at += timedelta(minutes=30)
        turn, step = divmod(number, 1 + CHECKS_PER_RUN)
        car, pack = cars[turn % CARS], packs[turn % CARS]
        if step == 0:
            yield made.entry(Ran(car, (pack,), 13.0, ground=Ground.GRAVEL), typed="13 min gravel")
        else:
            yield made.entry(Checked(car, ("mesh_feel", "diff_seep", "diff_feel", "spur_look")[step - 1]))


def took_ms(work: Callable[[], object]) -> float:
    """How long it takes, in ms."""
    began = time.perf_counter()
    work()
    return 1e3 * (time.perf_counter() - began)


def compare(
    name: str, make: Callable[[Workshop, Clock], Callable[[], object]], *sides: tuple[Workshop, Clock]
) -> None:
    """Time a piece of work on both in turn, and print the middles and their ratio."""
    works = [make(*side) for side in sides]
    taken: list[list[float]] = [[] for _ in works]
    for _ in range(TIMES):
        for n, work in enumerate(works):
            taken[n].append(took_ms(work))
    told(name, taken)


def told(name: str, taken: list[list[float]]) -> None:
    """One line: the middles of both, and their ratio."""
    small, large = (statistics.median(times) for times in taken)
    print(f"{name:36s} {small:8.1f} ms {large:9.1f} ms   ratio {large / small:6.2f}", flush=True)


def keep_a_run(made: Workshop, clock: Clock) -> Callable[[], object]:
    """One more run, now."""

    def log() -> None:
        clock.at += timedelta(hours=3)
        keep(made, draft_runs(made, (RunSaid("Car 3", ("Pack 3",), "13"),)).entries)

    return log


def keep_a_late_run(made: Workshop, clock: Clock) -> Callable[[], object]:
    """A run of some days ago."""

    def log() -> None:
        clock.at += timedelta(days=1)
        when = f"{clock.at - timedelta(days=4, hours=7):%Y-%m-%d %H:%M}"
        keep(made, draft_runs(made, (RunSaid("Car 3", ("Pack 3",), "13", when=when),)).entries)

    return log


def take_back(made: Workshop, _: Clock) -> Callable[[], object]:
    """An undo."""
    return lambda: undo(made)


def sheet_after(
    name: str, change: Callable[[Workshop, Clock], Callable[[], object]], *sides: tuple[Workshop, Clock]
) -> None:
    """Time the next sheet after a change, which is not timed itself."""
    taken: list[list[float]] = [[] for _ in sides]
    for _ in range(TIMES):
        for n, (made, clock) in enumerate(sides):
            change(made, clock)()
            taken[n].append(took_ms(lambda made=made: bench_sheet(made, Asked())))  # type: ignore[misc]
    told(name, taken)


def open_an_entry(made: Workshop, _: Clock) -> Callable[[], object]:
    """The page of the newest run."""
    newest = journal_page(made, JournalAsked(kinds=("ran",))).lines[0].id
    return lambda: entry_page(made, newest)


def main() -> None:
    """Make both workshops and print."""
    with tempfile.TemporaryDirectory() as folder:
        sides = []
        for size in SIZES:
            began = time.perf_counter()
            sides.append(workshop(Path(folder) / str(size), size))
            print(f"{size} entries written in {time.perf_counter() - began:.1f} s")
        print(f"{'':36s} {SIZES[0]:8d}    {SIZES[1]:9d} entries")
        first = [took_ms(lambda made=made: bench_sheet(made, Asked())) for made, _ in sides]
        print(f"{'first sheet, nothing worked out':36s} {first[0]:8.1f} ms {first[1]:9.1f} ms   told once")
        compare("page of the journal", lambda made, _: lambda: journal_page(made, JournalAsked()), *sides)
        asked = JournalAsked(text="gravel car 3")
        compare("page of the journal, by words", lambda made, _: lambda: journal_page(made, asked), *sides)
        compare("page of one entry", open_an_entry, *sides)
        compare("sheet, warm", lambda made, _: lambda: bench_sheet(made, Asked()), *sides)
        compare("keep a run", keep_a_run, *sides)
        compare("keep a run of days ago", keep_a_late_run, *sides)
        compare("undo", take_back, *sides)
        compare("redo", lambda made, _: lambda: redo(made), *sides)
        for made, _ in sides:
            bench_sheet(made, Asked())
        sheet_after("sheet after one more run", keep_a_run, *sides)
        sheet_after("sheet after a run of days ago", keep_a_late_run, *sides)
        sheet_after("sheet after an undo", take_back, *sides)
        for made, _ in sides:
            made.store.close()


if __name__ == "__main__":
    main()
