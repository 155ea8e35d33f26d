"""How long the first answer of each page takes after an entry: p95 over several entries, aim 100 ms.

What a page stands on is worked out anew when something is logged; a person who logs sees that answer, never a
warm one. Before each page one run is logged on another day. Processor time, and how many SELECTs the answer
asks for. With `--profile PAGE` the heaviest functions of that page are told instead.
"""

from __future__ import annotations

import cProfile
import pstats
import sys
import tempfile
import time
from datetime import UTC, datetime, timedelta
from pathlib import Path

from fastapi.testclient import TestClient
from sqlalchemy import Engine, event

from snugfast.app.demo import make_demo
from snugfast.app.opening import open_workshop
from snugfast.usecases.journal.keeping import keep
from snugfast.usecases.journal.run_log import RunSaid, draft_runs
from snugfast.usecases.shared.ledger import ledger_now
from snugfast.usecases.shared.workshop import Workshop
from snugfast.web.app import create_for

TIMES, AIM_MS = 5, 100.0
PATHS = (
    *("/", "/outing", "/sheet?car=Bramble&minutes=20&make=1", "/sheet?minutes=30&make=1", "/packs"),
    *("/journal", "{car}", "{car}/gearing", "{car}/arrive", "{car}/mesh", "/bearings", "/dates"),
)


def log_a_run(workshop: Workshop, nth: int) -> None:
    """One run of Bramble, some minutes ago."""
    when = (datetime.now(UTC) - timedelta(minutes=1400 - 12 * nth)).strftime("%Y-%m-%d %H:%M")
    said = RunSaid("Bramble", ("Ember 2",), "9", when=when, ground="gravel")
    keep(workshop, draft_runs(workshop, (said,)).entries)


def main() -> None:
    with tempfile.TemporaryDirectory() as folder:
        make_demo(Path(folder) / "demo", now=datetime.now(UTC))
        workshop = open_workshop(str(Path(folder) / "demo"))
        client = TestClient(create_for(workshop), base_url="http://127.0.0.1")
        with workshop.store.reading() as reads:
            car = ledger_now(reads).car_named("Bramble")
        assert car is not None
        selects = 0

        @event.listens_for(Engine, "before_cursor_execute")
        def count(*_: object) -> None:
            nonlocal selects
            selects += 1

        only = sys.argv[2] if len(sys.argv) > 2 else ""
        nth = 0
        title = "page, first answer after a run was logged"
        print(f"{title:44} {'p95 cpu':>9} {'SELECTs':>8}  ms, aim {AIM_MS:g}")
        for path in [only] if only else PATHS:
            address = path.format(car=f"/cars/{car.id}")
            client.get(address)  # imports, and what no entry changes
            took = []
            profile = cProfile.Profile()
            for _ in range(TIMES):
                nth += 1
                log_a_run(workshop, nth)
                selects, begin = 0, time.process_time()
                if only:
                    profile.enable()
                client.get(address)
                profile.disable()
                took.append((time.process_time() - begin) * 1e3)
            took.sort()
            mark = "" if took[-1] <= AIM_MS else "  over"
            print(f"{path:44} {took[-1]:9.1f} {selects:8}{mark}")
            if only:
                pstats.Stats(profile).sort_stats("cumulative").print_stats(70)
        workshop.store.close()


if __name__ == "__main__":
    main()
