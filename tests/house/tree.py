"""What the house tests walk over: tracked files, modules, marked formulas, sources."""

from __future__ import annotations

import functools
import importlib
import pkgutil
import subprocess
import tomllib
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import snugfast
from snugfast.core.marks import Mark

ROOT = Path(__file__).parents[2]
SOURCES = ROOT / "src/snugfast/facts/sources"

# Floors where relations live. The doors and the store hold none.
FLOORS_WITH_FORMULAS = ("numerics", "physics", "upkeep", "facts", "usecases")


ODD_BYTES = ROOT / "tests" / "fuzz"  # what a search found need not be text


@functools.cache
def tracked_files() -> tuple[Path, ...]:
    """Every file under version control that is there now, from the top of the project."""
    # The folder may belong to somebody else than the runner, as on a build machine.
    listed = subprocess.run(
        ["git", "-c", f"safe.directory={ROOT}", "ls-files", "-z"],
        cwd=ROOT,
        capture_output=True,
        text=True,
        check=True,
    )
    return tuple(path for name in listed.stdout.split("\0") if name and (path := ROOT / name).is_file())


def tracked_text(path: Path) -> str | None:
    """The text of a file, or None for a picture and the like."""
    content = path.read_bytes()
    if path.is_relative_to(ODD_BYTES):
        return content.decode("utf-8", "replace")
    return None if b"\0" in content else content.decode()


def shown(path: Path) -> str:
    """A path as a person would write it."""
    return path.relative_to(ROOT).as_posix()


@dataclass(frozen=True, slots=True)
class Marked:
    """A formula and where it stands."""

    module: str
    name: str
    mark: Mark

    @property
    def path(self) -> str:
        return f"{self.module}.{self.name}"


@functools.cache
def marked_formulas() -> tuple[Marked, ...]:
    """Every function that carries a mark, each once, from the module that defines it."""
    found = []
    for floor in FLOORS_WITH_FORMULAS:
        package = importlib.import_module(f"snugfast.{floor}")
        inside = pkgutil.walk_packages(package.__path__, package.__name__ + ".")
        for name in [package.__name__, *(info.name for info in inside)]:
            for thing in vars(importlib.import_module(name)).values():
                mark = getattr(thing, "mark", None)
                if isinstance(mark, Mark) and thing.__module__ == name:
                    found.append(Marked(name, thing.__name__, mark))
    return tuple(found)


@functools.cache
def sources() -> dict[str, dict[str, dict[str, Any]]]:
    """Each sources file by name, with its entries by key."""
    return {path.name: tomllib.loads(path.read_text()) for path in sorted(SOURCES.glob("*.toml"))}


def package_folder(floor: str) -> Path:
    """Where the modules of a floor lie."""
    return Path(snugfast.__path__[0]) / floor
