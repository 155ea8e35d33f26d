"""What the program imports is what it says it needs. Authority: laws of this project."""

from __future__ import annotations

import ast
import re
import sys
import tomllib
from collections.abc import Iterator

from tests.house.tree import ROOT, tracked_files

OTHERWISE_CALLED = {
    "argon2": "argon2-cffi",
    "PIL": "pillow",
    "zxingcpp": "zxing-cpp",
}  # imported under another name than the package's


def imported() -> Iterator[str]:
    """The first part of every name that a module of the program imports."""
    for path in tracked_files():
        if path.suffix != ".py" or ROOT / "src" not in path.parents:
            continue
        for node in ast.walk(ast.parse(path.read_text("utf-8"))):
            if isinstance(node, ast.Import):
                yield from (name.name.partition(".")[0] for name in node.names)
            elif isinstance(node, ast.ImportFrom) and node.module and not node.level:
                yield node.module.partition(".")[0]


def test_every_package_the_program_imports_is_named() -> None:
    """A package that comes along with another may stop coming."""
    project = tomllib.loads((ROOT / "pyproject.toml").read_text("utf-8"))["project"]
    named = {re.split(r"[^\w-]", line)[0] for line in project["dependencies"]}
    named |= {name for name, package in OTHERWISE_CALLED.items() if package in named}
    ours = {*sys.stdlib_module_names, "snugfast"}
    assert set(imported()) - ours <= named
