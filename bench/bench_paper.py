"""How long a sheet takes from the question to its PDF, told and in a fresh process.

.venv/bin/python bench/bench_paper.py [WORKSHOP] [CAR]
"""

from __future__ import annotations

import sys
import time

from snugfast.app.opening import open_workshop
from snugfast.exchange.paper.leaf import PaperSize, pdf_of
from snugfast.exchange.paper.sheet import sheet_leaf
from snugfast.usecases.bench.bench_sheet import bench_sheet
from snugfast.usecases.bench.sheet import Asked

BAR_S = 1.5  # from a sheet that is made to its PDF


def main() -> None:
    where, car = (*sys.argv[1:], "demo", "Bramble")[:2] if len(sys.argv) < 3 else sys.argv[1:3]
    workshop = open_workshop(where)
    sheet = bench_sheet(workshop, Asked((car,)))
    for size in PaperSize:
        for what in ("first", "next"):
            began = time.perf_counter()
            pdf = pdf_of(
                sheet_leaf(workshop, sheet, link="http://192.168.1.5:8765/sheet", mark="5DDCC3"), size
            )
            took_s = time.perf_counter() - began
            print(f"{size.name} {what}: {took_s:.2f} s of {BAR_S} s, {len(pdf) / 1000:.0f} kB")


if __name__ == "__main__":
    main()
