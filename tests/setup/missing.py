"""The error for a part of the test machine that is not there."""

from __future__ import annotations

import shutil
from collections.abc import Iterable
from pathlib import Path


class MissingPart(Exception):
    """A program the tests need is not on this machine."""


def find_program(*names: str, also_in: Iterable[Path] = ()) -> Path:
    """The first of the named programs, from the PATH or from further folders.

    Raises MissingPart with what to type when there is none.
    """
    for name in names:
        found = shutil.which(name)
        if found:
            return Path(found)
        for folder in also_in:
            if (folder / name).exists():
                return folder / name
    raise MissingPart(
        f"{' or '.join(names)} is not on this machine. Type: make test. It installs what is missing."
    )
