"""Search by coverage for what a reader cannot read: `make fuzz`, or `python -m tests.fuzz.guided READER`.

Needs atheris, which `make fuzz` fetches into `build/fuzz`. What is found new is added to `build/fuzz/corpus`;
the few that count are kept in `tests/fuzz/corpus` and replayed by the ordinary tests.
"""

from __future__ import annotations

import sys
from pathlib import Path

import atheris

import snugfast.physics.powertrain.kernel  # noqa: F401  compiled: it cannot be followed, and reads nothing

CORPUS = Path(__file__).with_name("corpus")
LONGEST = {"archive": 65_536}  # bytes; a whole archive with its schema


def main() -> None:
    """Run the search for one reader with the options of the searcher, like -max_total_time=60."""
    name, options = sys.argv[1], sys.argv[2:]
    with atheris.instrument_imports(include=["snugfast"], enable_loader_override=False):
        from tests.fuzz import readers
    work = Path("build/fuzz/corpus") / name
    work.mkdir(parents=True, exist_ok=True)
    for number, seed in enumerate(readers.seeds(name)):
        (work / f"seed-{number}").write_bytes(seed)
    kept = CORPUS / name
    folders = [str(work), *([str(kept)] if kept.is_dir() else [])]
    found = Path("build/fuzz/found")
    found.mkdir(parents=True, exist_ok=True)
    atheris.Setup(
        [
            sys.argv[0],
            *folders,
            f"-artifact_prefix={found}/{name}-",
            f"-max_len={LONGEST.get(name, 4096)}",
            "-rss_limit_mb=1500",
            *options,
        ],
        lambda data: readers.read(name, bytes(data)),
    )
    atheris.Fuzz()


if __name__ == "__main__":
    main()
