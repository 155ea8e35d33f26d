"""Where what another bench wrote comes from: an archive, or its store itself."""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime
from pathlib import Path

from snugfast.app.opening import FILE_NAME, facts_at, make_folder, open_workshop, url_of, utc_now
from snugfast.core.errors import BadInput
from snugfast.exchange.archive import read_archive
from snugfast.records.store.store import Store
from snugfast.usecases.safekeeping.hand_over import Everything, hand_over
from snugfast.usecases.shared.workshop import Workshop

SQLITE_BEGINS = b"SQLite format 3\x00"


def everything_in(file: Path, *, leave_out: bool = False) -> Everything:
    """Everything in an archive, or in a store file that was carried here. Raises BadInput for neither.

    With `leave_out`, lines of an archive that do not read are passed over and noted.
    """
    path = file / FILE_NAME if file.is_dir() else file
    if not path.is_file():
        raise BadInput(f"{path} is not there.", "Check the path.")
    with path.open("rb") as begun:
        is_store = begun.read(len(SQLITE_BEGINS)) == SQLITE_BEGINS
    if not is_store:
        return read_archive(path, leave_out=leave_out)
    return hand_over(open_workshop(str(path), read_only=True))


def open_or_make(
    address: str,
    everything: Everything,
    *,
    by: str = "",
    read_only: bool = False,
    now: Callable[[], datetime] = utc_now,
) -> Workshop:
    """The workshop at an address; a new and empty one when there is none yet, for the archive to fill."""
    path = None if "://" in address else Path(address).expanduser()
    if path is None or (path / FILE_NAME if path.is_dir() else path).is_file():
        return open_workshop(address, by=by, read_only=read_only, now=now)
    people = [person for person in everything.people if person.name is not None]
    if not people:
        raise BadInput(
            "Nobody is named in it, so nobody could work here.", "Type: snugfast begin, then take it in."
        )
    make_folder(path)
    store = Store.create(url_of(address), clock=now)
    return Workshop(store, facts_at(address), now, people[0].id)
