"""What it costs to type a command: processor time of a fresh process, and as a ratio to `--help`.

`--help` imports nothing heavy, so the ratio holds on a busy machine. Files are compiled beforehand, as an
installed Snugfast has them. Aim: 5 times `--help` for a list, 10 for a sheet.
"""

from __future__ import annotations

import compileall
import os
import resource
import subprocess
import sys
import tempfile
from collections.abc import Sequence
from pathlib import Path

import snugfast

TIMES = 7
COMMANDS = (
    ("--help",),
    ("car", "list"),
    ("journal",),
    ("packs",),
    ("ran", "Bramble:Ember 2", "9", "gravel"),
    ("sheet", "Bramble"),
    ("sheet",),
)


def typed_s(demo: Path, words: Sequence[str]) -> float:
    """The least processor time of some tries, in seconds."""
    environment = {**os.environ, "PYTHONDONTWRITEBYTECODE": ""}
    took = []
    for _ in range(TIMES):
        before = resource.getrusage(resource.RUSAGE_CHILDREN)
        command = [sys.executable, "-m", "snugfast.cli.main", "--workshop", str(demo), *words]
        subprocess.run(command, capture_output=True, env=environment, check=False)
        after = resource.getrusage(resource.RUSAGE_CHILDREN)
        took.append(after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime)
    return min(took)


def main() -> None:
    compileall.compile_dir(snugfast.__path__[0], quiet=2)
    with tempfile.TemporaryDirectory() as folder:
        demo = Path(folder) / "demo"
        subprocess.run(
            [sys.executable, "-m", "snugfast.cli.main", "--workshop", str(demo), "demo"],
            capture_output=True,
            check=True,
        )
        typed_s(demo, ("sheet",))
        helped = 0.0
        for words in COMMANDS:
            took = typed_s(demo, words)
            helped = helped or took
            print(f"{' '.join(words):32} {took:6.3f} s   {took / helped:5.1f} × --help")


if __name__ == "__main__":
    main()
