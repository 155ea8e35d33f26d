"""Where this user's things are kept on this system, and which folders may be trusted."""

from __future__ import annotations

import os
import stat
from contextlib import suppress
from pathlib import Path

import platformdirs

OURS = "snugfast"
PRIVATE = 0o700


def data_folder() -> Path:
    """The folder of this user's data, as the system has it: nothing is made."""
    return Path(platformdirs.user_data_path(OURS, appauthor=False))


def cache_folder() -> Path:
    """The folder of what may be dropped any time, as the system has it: nothing is made."""
    return Path(platformdirs.user_cache_path(OURS, appauthor=False))


def private(folder: Path) -> bool:
    """Whether a folder is there (made now, if need be), may be written, and is this user's alone to write.

    What others may write, others may fill: nothing is loaded and run from such a folder.
    """
    with suppress(OSError):
        folder.mkdir(mode=PRIVATE, parents=True, exist_ok=True)
    try:
        seen = folder.lstat()
    except OSError:
        return False
    if not stat.S_ISDIR(seen.st_mode) or not os.access(folder, os.W_OK):
        return False
    if not hasattr(os, "geteuid"):  # Windows: the folders of a user are the user's
        return True
    return seen.st_uid == os.geteuid() and not seen.st_mode & (stat.S_IWGRP | stat.S_IWOTH)
