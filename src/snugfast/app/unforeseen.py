"""What nobody foresaw: written down under a number, and said in one line.

The log lies in the user's data folder and never leaves this machine by itself.
"""

from __future__ import annotations

import os
import secrets
import sys
import traceback
from datetime import UTC, datetime
from pathlib import Path

from snugfast import __version__
from snugfast.app.folders import PRIVATE, data_folder
from snugfast.core.errors import SnugfastError, Unforeseen
from snugfast.core.foreseen import in_words

LOG = "faults.log"
LARGEST_LOG = 1_000_000  # bytes; then the older half goes
OWNER_ONLY = 0o600


def refusal_of(error: BaseException, doing: str) -> SnugfastError:
    """The refusal in words; for what nobody foresaw its number, with the rest written in the log.

    `doing` names the command or page, without what was typed into it.
    """
    return in_words(error) or _unforeseen(error, doing)


def log_file() -> Path:
    """Where faults are written down."""
    return data_folder() / LOG


def _unforeseen(error: BaseException, doing: str) -> Unforeseen:
    number = secrets.token_hex(4)
    try:
        written: Path | None = _write_down(error, number, doing)
    except OSError:
        written = None
    last = traceback.extract_tb(error.__traceback__)[-1:]
    place = f" at {Path(last[0].filename).name}, line {last[0].lineno}" if last else ""
    where = (
        f"It is written in {written}: send what stands under that number to whoever maintains Snugfast."
        if written
        else f"It could not be written down: {type(error).__name__}{place}. Send that line on."
    )
    return Unforeseen(
        number,
        f"Something broke on our side (fault {number}). What was saved before is as it was.",
        where,
    )


def _write_down(error: BaseException, number: str, doing: str) -> Path:
    log = log_file()
    log.parent.mkdir(mode=PRIVATE, parents=True, exist_ok=True)
    if log.exists() and log.stat().st_size > LARGEST_LOG:
        kept = log.read_bytes()[-LARGEST_LOG // 2 :]
        log.write_bytes(kept)
    head = (
        f"== fault {number}, {datetime.now(UTC):%Y-%m-%d %H:%M:%S} UTC, Snugfast {__version__}, "
        f"Python {sys.version.split()[0]} on {sys.platform}, {doing}\n"
    )
    lines = head + "".join(traceback.format_exception(error))
    handle = os.open(log, os.O_WRONLY | os.O_CREAT | os.O_APPEND, OWNER_ONLY)
    with os.fdopen(handle, "a", encoding="utf-8", errors="backslashreplace") as out:
        out.write(lines)
    return log
