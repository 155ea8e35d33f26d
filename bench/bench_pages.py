"""How long each page takes on the demo's season: the 95th percentile of warm answers, aim 100 ms.

Two figures stand side by side: by the clock on the wall, and by the processor's own, which a busy neighbour
does not lengthen. The first answer, in which what a page stands on is worked out, is given beside them.
"""

from __future__ import annotations

import tempfile
import time
from collections.abc import Callable
from datetime import UTC, datetime
from pathlib import Path

from fastapi.testclient import TestClient

from snugfast.app.demo import make_demo
from snugfast.app.house_door import HouseDoor
from snugfast.app.opening import open_workshop
from snugfast.core.spelling import CHOICES
from snugfast.usecases.hunt.answering import begin
from snugfast.usecases.shared.ledger import ledger_now
from snugfast.web.app import create_for
from snugfast.web.bench import House

AT = "http://192.168.1.5:8765"

TIMES, AIM_MS = 21, 100.0
OPEN_HUNT = "{car}/hunt?open"  # the same page, with a hunt put down
FILES_MS = {"/labels.pdf": 1500.0, "/field/sheet.html": 1000.0}  # what is made and not read as a page
OTHERWISE = ("/", "/sheet?car=Bramble&minutes=20&make=1", "/journal")  # once more, in another owner's units
PATHS = (
    *("/", "/outing", "/sheet?car=Bramble&minutes=20&make=1", "/packs", "/more", "/journal", "/cars/new"),
    *("{car}", "{car}/gearing", "{car}/arrive", "{car}/change", "{car}/joints", "{car}/mesh", "{car}/drag"),
    *("/bearings", "/kit", "/runs/new?car=Bramble", "/settings", "/sources"),
    *("/labels", "/labels.pdf?kind=packs", "/dates", "/phones", "/field/notes"),
    *("/field/sheet.html?car=Bramble&minutes=20&make=1", "/door", "{car}/hunt", OPEN_HUNT),
)


def timed(ask: Callable[[], object]) -> tuple[float, float]:
    """Milliseconds on the wall and of the processor."""
    wall, cpu = time.perf_counter(), time.process_time()
    ask()
    return (time.perf_counter() - wall) * 1e3, (time.process_time() - cpu) * 1e3


def asked(client: TestClient, address: str, name: str) -> None:
    """One line of the table."""
    first, _ = timed(lambda: client.get(address).raise_for_status())
    answers = [timed(lambda: client.get(address)) for _ in range(TIMES)]
    walls, cpus = (sorted(one[n] for one in answers) for n in (0, 1))
    aim_ms = FILES_MS.get(address.partition("?")[0], AIM_MS)
    mark = ("" if cpus[-2] <= aim_ms else "  over") + (f"  (aim {aim_ms:g})" if aim_ms != AIM_MS else "")
    print(f"{name:52} {first:8.0f} {walls[-2]:9.1f} {cpus[-2]:9.1f}{mark}", flush=True)


def main() -> None:
    with tempfile.TemporaryDirectory() as folder:
        at = datetime.now(UTC)
        make_demo(Path(folder) / "demo", now=at)
        workshop = open_workshop(str(Path(folder) / "demo"))
        house = House(HouseDoor(Path(folder) / "door.json", now=workshop.now), AT, False)
        house.door.opened_at(AT)
        in_house = create_for(workshop, house)
        client = TestClient(in_house, base_url="http://127.0.0.1:8765", client=("127.0.0.1", 1))
        phone = TestClient(in_house, base_url=AT, client=("192.168.1.20", 1))
        with workshop.store.reading() as reads:
            car = ledger_now(reads).car_named("Bramble")
        assert car is not None
        print(f"{'page':52} {'first':>8} {'p95 wall':>9} {'p95 cpu':>9}  ms, aim {AIM_MS:g}")
        for path in PATHS:
            if path == OPEN_HUNT:
                begin(workshop, "Bramble", ["motor turns, wheels don’t"])
            asked(client if path != "/door" else phone, path.format(car=f"/cars/{car.id}"), path)
        client.post("/settings", data={name: choices[-1] for name, choices in CHOICES.items()})
        for path in OTHERWISE:
            asked(client, path, f"{path}, spelled otherwise")
        workshop.store.close()


if __name__ == "__main__":
    main()
