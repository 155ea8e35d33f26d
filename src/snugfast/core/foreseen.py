"""What the system may answer at any time (no room, no right, not there), as a refusal in words.

One place for every door. What is not told here is a fault of ours, and is said to be one.
"""

from __future__ import annotations

import errno
import os
from collections.abc import Mapping

from snugfast.core.errors import SnugfastError, SystemTrouble

_WORDS: Mapping[int, tuple[str, str]] = {
    errno.ENOENT: ("is not there", "Check the path."),
    errno.ENOTDIR: ("is no folder, or lies in what is none", "Check the path."),
    errno.EISDIR: ("is a folder", "Name a file in it."),
    errno.EEXIST: ("is there already", "Name another."),
    errno.EACCES: ("may not be used by you", "Give yourself the right, or name another place."),
    errno.EPERM: ("may not be used by you", "Give yourself the right, or name another place."),
    errno.EROFS: ("lies on a disk that may only be read", "Name another place."),
    errno.ENOSPC: ("cannot be written: the disk is full", "Make room on the disk and try again."),
    errno.EDQUOT: ("cannot be written: your share of the disk is used up", "Make room and try again."),
    errno.EFBIG: ("cannot be written: the disk takes no file that large", "Name another place."),
    errno.ENAMETOOLONG: ("is too long a name", "Give it a shorter one."),
    errno.ELOOP: ("is a link that leads round in a circle", "Name the file itself."),
    errno.EIO: (
        "cannot be read or written: the disk answered with a fault",
        "Check the disk, then try again.",
    ),
    errno.EMFILE: ("cannot be opened: too many files are open", "Close other programs and try again."),
    errno.EADDRINUSE: ("is in use by another program", "Name another port, or end that program."),
    errno.EADDRNOTAVAIL: ("is not an address of this machine", "Name one of this machine."),
}


def in_words(error: BaseException) -> SnugfastError | None:
    """The refusal that says what the system answered; None for what nobody foresaw."""
    if isinstance(error, SnugfastError):
        return error
    if isinstance(error, MemoryError):
        return SystemTrouble("This needs more memory than the machine gives.", "Ask for less at once.")
    if isinstance(error, UnicodeEncodeError) and "surrogate" in error.reason:
        return SystemTrouble(
            "Something typed holds bytes that are no letters, so nothing was done.", "Type it anew."
        )
    if isinstance(error, ValueError) and str(error) == "embedded null byte":
        return SystemTrouble("No file can have a name with a null in it.", "Check the path.")
    if isinstance(error, OSError):
        return _system(error)
    return None


def _system(error: OSError) -> SystemTrouble:
    what = os.fsdecode(error.filename) if isinstance(error.filename, str | bytes) else error.filename
    named = f"{what}" if what is not None else "What was asked for"
    words, way_out = _WORDS.get(
        error.errno or 0, (f"cannot be used: {error.strerror or error}", "Check it and try again.")
    )
    return SystemTrouble(f"{named} {words}.", way_out)
