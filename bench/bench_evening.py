"""How long the evening of the demo's four cars takes: warm, cold and first ever, in processor time.

Warm: asked for again in a running program (aim 300 ms). Cold: the first of a new program, imports and tables
with it, on a workshop whose beliefs are kept (aim 1 s). First ever: all that was worked out dropped, stories
told anew. All in one run; a plain loop is timed too, so that the ratio to it holds on a busy machine.
"""

from __future__ import annotations

import subprocess
import sys
import tempfile
import time
from pathlib import Path

YARDSTICK = 300_000
MINUTES = (20.0, 30.0, 40.0, 60.0)
ONE_SHEET = """
import time
begin = time.process_time()
from snugfast.app.opening import open_workshop
from snugfast.usecases.bench.bench_sheet import bench_sheet
from snugfast.usecases.bench.sheet import Asked
workshop = open_workshop({address!r})
{before}
bench_sheet(workshop, Asked((), minutes=30.0))
print(time.process_time() - begin)
for minutes in {minutes}:
    took = []
    for _ in range(4):
        begin = time.process_time()
        sheet = bench_sheet(workshop, Asked((), minutes=minutes))
        took.append(time.process_time() - begin)
    print(minutes, min(took), len(sheet.checks), sheet.short_of_best)
"""
DROP = "with workshop.store.work() as work:\n    work.projections.drop_all()\n    work.commit()"


def yardstick_s() -> float:
    """Processor time of a fixed plain loop on this machine, now."""
    begin = time.process_time()
    total = 0
    for number in range(YARDSTICK):
        total += number.bit_count()
    return time.process_time() - begin


def sheets(address: Path, *, before: str, minutes: tuple[float, ...]) -> list[list[float]]:
    """A new program: its first sheet's time, then for each of some minutes what a warm one takes."""
    code = ONE_SHEET.format(address=str(address), before=before, minutes=minutes)
    ran = subprocess.run([sys.executable, "-c", code], check=True, capture_output=True, text=True)
    return [[float(word) for word in line.split()] for line in ran.stdout.splitlines()]


def main() -> None:
    """Make the demo and print."""
    with tempfile.TemporaryDirectory() as folder:
        demo = Path(folder) / "demo"
        subprocess.run(
            [sys.executable, "-m", "snugfast.cli.main", "--workshop", str(demo), "demo"],
            check=True,
            capture_output=True,
        )
        yard = yardstick_s()
        ((first,),) = sheets(demo, before=DROP, minutes=())
        (cold,), *warm = sheets(demo, before="", minutes=MINUTES)
        print(f"yardstick {1e3 * yard:.0f} ms")
        print(f"first ever {first:.2f} s, {first / yard:.0f} yards")
        print(f"cold       {cold:.2f} s, {cold / yard:.0f} yards   (aim 1 s)")
        for minutes, took, checks, short in warm:
            print(
                f"warm, {minutes:.0f} min {1e3 * took:4.0f} ms, {took / yard:.0f} yards, "
                f"{checks:.0f} checks, short of the best by {100 * short:.2f} % at most   (aim 300 ms)"
            )


if __name__ == "__main__":
    main()
