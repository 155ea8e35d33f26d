"""How long a bench sheet takes: a car with 2,000 runs and 5,000 findings beside one with 200 and 500.

The aims are 50 ms for a warm sheet and 100 ms for the page (95th percentile, this machine). Both cars are
timed in turn, so that a busy neighbour harms both alike; what counts is the ratio, and that the number of
questions put to the database does not grow with what has been written down. “Warm” is a sheet asked for again
with nothing new since; “one run more” follows the logging of a run; “anew” is with everything that was worked
out dropped.
"""

from __future__ import annotations

import statistics
import tempfile
import time
from collections.abc import Callable, Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path
from random import Random

from fastapi.testclient import TestClient

from snugfast.core.ids import compose
from snugfast.facts.load import load_facts
from snugfast.facts.model import Arrival, Build, Check
from snugfast.records.entries import Answer, Checked, Done, Entry, Ground, Ran
from snugfast.records.store.engines import file_url
from snugfast.records.store.store import Store
from snugfast.usecases.bench.bench_sheet import bench_sheet
from snugfast.usecases.bench.sheet import Asked
from snugfast.usecases.journal.cars import draft_car, starter
from snugfast.usecases.journal.keeping import keep
from snugfast.usecases.journal.run_log import RunSaid, draft_runs
from snugfast.usecases.packs.register import PackSaid, draft_pack
from snugfast.usecases.shared.applicability import car_checks, of_pack
from snugfast.usecases.shared.ledger import ledger_now
from snugfast.usecases.shared.workshop import Workshop
from snugfast.web.app import create_for

SIZES = {"small": (200, 500), "large": (2000, 5000)}
ASKED = Asked(("Bramble",), minutes=20)
TIMES = 25
JOINED = datetime(2020, 1, 1, 12, 0, tzinfo=UTC)


class Clock:
    """A clock that goes on by a minute for each entry written."""

    def __init__(self) -> None:
        self.at = JOINED

    def __call__(self) -> datetime:
        return self.at


def workshop(folder: Path, runs: int, findings: int) -> Workshop:
    """A truck and a pack with so many runs and findings behind them, added in bulk."""
    clock = Clock()
    folder.mkdir()
    store = Store.create(file_url(folder / "workshop.sqlite"), clock=clock)
    made = Workshop(store, load_facts(), clock, compose(1, bytes(10)), "UTC")
    keep(made, [draft_car(made, "Bramble", starter(made, "truck-1-10-4wd-3s"))])
    keep(made, [draft_pack(made, PackSaid("Ember 1", "3", "5000 mAh"))])
    clock.at += timedelta(minutes=1)
    with store.work() as work:
        work.journal.add_all(list(_history(made, clock, runs, findings)))
        work.commit()
    return made


def _history(made: Workshop, clock: Clock, runs: int, findings: int) -> Iterator[Entry]:
    """Runs of a quarter of an hour with checks between; every fourth look finds what wears worn."""
    with made.store.reading() as reads:
        ledger = ledger_now(reads)
    (car,), (pack,) = ledger.cars.values(), ledger.packs.values()
    build = made.build(car.build)
    checks = [check for check in car_checks(made.facts, build) if not of_pack(made.facts, check)]
    chance = Random(1)
    looked = 0
    for n in range(runs):
        clock.at += timedelta(hours=3)
        yield made.entry(Ran(car.id, (pack.id,), 13.0, ground=Ground.GRAVEL, hard_hits=chance.randint(0, 3)))
        while looked * runs < (n + 1) * findings:
            clock.at += timedelta(minutes=1)
            check, turn = checks[looked % len(checks)], looked // len(checks)
            looked += 1
            answers = tuple(_worn(made, build, check)) if turn % 4 == 3 else ()
            yield made.entry(Checked(car.id, check.key, answers=answers))


def _worn(made: Workshop, build: Build, check: Check) -> Iterator[Answer]:
    for answer in check.answers:
        mode = made.facts.modes.get(answer.mode)
        if mode is not None and mode.arrival is Arrival.WEAR_OUT:
            for place in build.of_role(mode.role):
                yield Answer(answer.word, mode.key, place.key, done=Done.RENEWED)


def took_ms(work: Callable[[], object]) -> float:
    """How long it takes, in ms."""
    began = time.perf_counter()
    work()
    return 1e3 * (time.perf_counter() - began)


def in_turn(*works: Callable[[], object], times: int = TIMES) -> list[list[float]]:
    """Times of each work in ms, all of them done in turn."""
    taken: list[list[float]] = [[] for _ in works]
    for _ in range(times):
        for n, work in enumerate(works):
            taken[n].append(took_ms(work))
    return taken


def statements(made: Workshop, work: Callable[[], object]) -> int:
    """How many statements go to the database meanwhile."""
    with made.store.counting() as count:
        work()
    return count.statements


def drop(made: Workshop) -> None:
    """Drop all that was worked out."""
    with made.store.work() as work:
        work.projections.drop_all()
        work.commit()


def page(made: Workshop) -> Callable[[], object]:
    """The page of a sheet, asked for as a browser does: the question, and what it is sent on to."""
    client = TestClient(create_for(made), base_url="http://127.0.0.1")

    def get() -> None:
        answer = client.get("/sheet", params={"car": "Bramble", "minutes": "20", "make": "1"})
        assert answer.status_code == 200 and "/sheets/" in str(answer.url), answer.url

    return get


def one_run_more(made: Workshop) -> Callable[[], object]:
    """A sheet after one more run; keeping the run is not timed."""

    def log() -> None:
        made.now.at += timedelta(hours=3)  # type: ignore[attr-defined]
        keep(made, draft_runs(made, (RunSaid("Bramble", ("Ember 1",), "13", ground="gravel"),)).entries)

    return log


def line(name: str, small: list[float], large: list[float], aim: str = "") -> None:
    """One line of the result: middle and 95th percentile of both, and the ratio of the middles."""
    middle = [statistics.median(small), statistics.median(large)]
    p95 = [sorted(times)[max(0, round(0.95 * len(times)) - 1)] for times in (small, large)]
    print(
        f"{name:28s} small {middle[0]:8.1f} ms (p95 {p95[0]:7.1f})   large {middle[1]:8.1f} ms "
        f"(p95 {p95[1]:7.1f})   ratio {middle[1] / middle[0]:5.2f}   {aim}"
    )


def main() -> None:
    """Make both workshops and print."""
    with tempfile.TemporaryDirectory() as folder:
        small, large = (workshop(Path(folder) / name, *size) for name, size in SIZES.items())

        def sheets() -> tuple[Callable[[], object], Callable[[], object]]:
            return (lambda: bench_sheet(small, ASKED)), (lambda: bench_sheet(large, ASKED))

        anew: list[list[float]] = [[], []]
        for n, made in enumerate((small, large)):
            drop(made)
            anew[n].append(took_ms(sheets()[n]))
        line("anew, nothing worked out", anew[0], anew[1])
        warm = in_turn(*sheets())
        line("warm sheet", warm[0], warm[1], aim="aim 50 ms")
        more: list[list[float]] = [[], []]
        for _ in range(8):
            for n, made in enumerate((small, large)):
                one_run_more(made)()
                more[n].append(took_ms(sheets()[n]))
        line("sheet after one run more", more[0], more[1])
        pages = in_turn(page(small), page(large))
        line("page", pages[0], pages[1], aim="aim 100 ms (p95)")
        counts = [statements(made, sheet) for made, sheet in zip((small, large), sheets(), strict=True)]
        print(f"statements for a warm sheet: small {counts[0]}, large {counts[1]}")
        for made in (small, large):
            made.store.close()


if __name__ == "__main__":
    main()
