"""Where the compiled twin is kept, and compiling it ahead, so that no question waits for it."""

from __future__ import annotations

import atexit
import os
import shutil
import tempfile
from collections.abc import Iterator, MutableMapping
from concurrent.futures import ThreadPoolExecutor
from contextlib import contextmanager
from pathlib import Path
from time import perf_counter
from typing import TYPE_CHECKING

from snugfast.app.folders import cache_folder, data_folder, private

if TYPE_CHECKING:
    from snugfast.usecases.safekeeping.self_check import CompiledTwin

CACHE = "NUMBA_CACHE_DIR"
MOST_THREADS = 8


def use_kernel_cache(environment: MutableMapping[str, str] = os.environ) -> Path:
    """Keep what is compiled in the user's data folder. To be called before the twin is imported.

    What is compiled is loaded and run, so it is kept only where nobody else may write: in the data folder,
    else in the user's cache folder, else in a new folder that goes when the programme ends.
    """
    if not environment.get(CACHE):
        environment[CACHE] = str(_kept_in())
    return Path(environment[CACHE])


def _kept_in() -> Path:
    for folder in (data_folder() / "compiled", cache_folder() / "compiled"):
        if private(folder):
            return folder
    passing = tempfile.mkdtemp(prefix="snugfast-compiled-")
    atexit.register(shutil.rmtree, passing, ignore_errors=True)
    return Path(passing)


def warm_kernel() -> Path:
    """Compile the twin now, by driving one car for a moment; where it was compiled before, load it."""
    kept_in = use_kernel_cache()
    from snugfast.facts.load import load_facts
    from snugfast.physics.powertrain.driving_styles import Does, Phase
    from snugfast.physics.powertrain.powertrain import Place, State
    from snugfast.physics.powertrain.road import Air
    from snugfast.physics.powertrain.runs import Entry, drive
    from snugfast.usecases.twin.of_car import pack_of_build, twin_of
    from snugfast.usecases.twin.tables import ground

    build = load_facts().starters["truck-1-10-4wd-3s"]
    twin = twin_of(build, pack_of_build(build))
    place = Place(ground("tarmac"), Air())
    start = State.at_rest(air_degC=20.0)
    drive([Entry(twin.car, place, start, (Phase(Does.FULL, at_most_s=0.1),))], for_s=0.1, trace_every_s=0.05)
    return kept_in


def look_at_kernel(*, may_compile: bool = False) -> CompiledTwin:
    """Whether the compiled twin is there and loads, and how long a first question to it takes.

    Only where it may is it compiled.
    """
    from snugfast.usecases.safekeeping.self_check import CompiledTwin

    kept_in = use_kernel_cache()
    begin = perf_counter()
    try:
        with _compiler_watched(may_compile) as compiled:
            warm_kernel()
    except _NotCompiled:
        return CompiledTwin(kept_in, None)
    took_s = perf_counter() - begin
    from snugfast.physics.powertrain.kernel import advance

    return CompiledTwin(Path(advance.stats.cache_path or kept_in), took_s, compiled_now=bool(compiled))


class _NotCompiled(Exception):
    """The compiler was about to begin, and may not."""


@contextmanager
def _compiler_watched(may_compile: bool) -> Iterator[list[str]]:
    """One entry each time the compiler begins: none where all is loaded. Where it may not, _NotCompiled."""
    from numba.core.event import Event, Listener, install_listener

    began: list[str] = []

    class Watching(Listener):
        def on_start(self, event: Event) -> None:
            if not may_compile:
                raise _NotCompiled
            began.append(event.kind)

        def on_end(self, event: Event) -> None: ...

    with install_listener("numba:compile", Watching()):
        yield began


@contextmanager
def threads() -> Iterator[ThreadPoolExecutor]:
    """Threads for a study, as many as the machine has: the compiled twin lets them run side by side."""
    use_kernel_cache()
    with ThreadPoolExecutor(max_workers=min(os.cpu_count() or 1, MOST_THREADS)) as executor:
        yield executor
