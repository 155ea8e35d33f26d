"""From an address to a workshop: store, tables, clock, and who is at the bench."""

from __future__ import annotations

import os
from collections.abc import Callable, Mapping
from datetime import UTC, datetime
from pathlib import Path
from typing import Any
from uuid import UUID

from snugfast.app.folders import data_folder
from snugfast.app.kernel_cache import use_kernel_cache
from snugfast.core.errors import BadInput, NotKnown
from snugfast.core.ids import mint
from snugfast.facts.load import load_facts
from snugfast.facts.model import Facts
from snugfast.records.entries import SettingsChosen
from snugfast.records.store.engines import file_url
from snugfast.records.store.store import Store
from snugfast.usecases.shared.ledger import ledger_now
from snugfast.usecases.shared.workshop import Workshop

ENVIRONMENT = "SNUGFAST_WORKSHOP"
FILE_NAME = "workshop.sqlite"
OWN_TABLES = "tables"


def default_address(environment: Mapping[str, str]) -> str:
    """Where the workshop is when nobody says: the environment's word, else the user's data folder."""
    if environment.get(ENVIRONMENT):
        return environment[ENVIRONMENT]
    return str(data_folder() / FILE_NAME)


def url_of(address: str) -> str:
    """A store's URL from a URL, a file, or a folder that holds one."""
    if "://" in address:
        return address
    return file_url(_file(Path(address).expanduser()))


def store_file(address: str) -> Path | None:
    """The file an address names; None for a database server."""
    path = _path(address)
    return None if path is None else _file(path)


def utc_now() -> datetime:
    """The time by this machine's clock."""
    return datetime.now(UTC)


def machine_currency() -> str:
    """The money of the country this machine is set to, as far as it says; EUR when it does not."""
    import locale

    before = locale.setlocale(locale.LC_MONETARY)
    try:
        locale.setlocale(locale.LC_MONETARY, "")
        code = str(locale.localeconv()["int_curr_symbol"]).strip()
    except locale.Error:
        return "EUR"
    finally:
        locale.setlocale(locale.LC_MONETARY, before)
    return code if len(code) == 3 and code.isalpha() else "EUR"


def machine_zone() -> str:
    """The zone this machine is set to, as far as it says; UTC when it does not."""
    if os.environ.get("TZ"):
        return os.environ["TZ"].lstrip(":")
    local = Path("/etc/localtime")
    if local.is_symlink():
        parts = local.resolve().parts
        if "zoneinfo" in parts:
            return "/".join(parts[parts.index("zoneinfo") + 1 :])
    return "UTC"


def open_workshop(
    address: str,
    *,
    by: str = "",
    read_only: bool = False,
    now: Callable[[], datetime] = utc_now,
) -> Workshop:
    """The workshop at an address. Raises NotKnown, with what to type, when there is none."""
    use_kernel_cache()  # a story may ask the twin
    path = _path(address)
    if path is not None and not _file(path).is_file():
        raise NotKnown(f"There is no workshop at {path}.", "Type: snugfast begin (or: snugfast demo)")
    store = Store.open(url_of(address), clock=now)
    with store.reading() as reads:
        people = reads.people()
        zone = str(ledger_now(reads).settings.get("zone", "UTC"))
    known = [person for person in people if person.name is not None]
    wanted = [person for person in known if not by or (person.name or "").casefold() == by.casefold()]
    if not wanted:
        names = ", ".join(person.name or "" for person in known) or "nobody yet"
        raise NotKnown(f"Nobody called “{by}” works here.", f"Known: {names}. Type: snugfast begin --by NAME")
    return Workshop(store, load_facts(_own_tables(path)), now, wanted[0].id, zone, read_only)


def facts_at(address: str) -> Facts:
    """The tables of the workshop at an address, with its owner's own rows; the shipped ones without one."""
    path = _path(address)
    return load_facts(_own_tables(path) if path is not None and _file(path).is_file() else None)


def begin_workshop(
    address: str,
    *,
    by: str,
    settings: Mapping[str, Any],
    zone: str,
    now: Callable[[], datetime] = utc_now,
) -> Workshop:
    """A new workshop, its first person, and the owner's judgement values as the first entry.

    An address without an ending, like “shed” or “shed/”, is a folder to be made.
    """
    if not by.strip():
        raise BadInput("A workshop needs somebody to work in it.", "Give your first name or a nickname.")
    path = _path(address)
    if path is not None:
        make_folder(path)
    store = Store.create(url_of(address), clock=now)
    person: UUID = mint(now())
    workshop = Workshop(store, load_facts(_own_tables(path)), now, person, zone)
    with store.work() as work:
        work.people.add(person, by.strip())
        work.journal.add(workshop.entry(SettingsChosen({**settings, "zone": zone})))
        work.commit()
    return workshop


def _path(address: str) -> Path | None:
    """The path an address names; None for a URL."""
    return None if "://" in address else Path(address).expanduser()


def make_folder(path: Path) -> None:
    """The folder of a workshop to be: the path itself, or what holds it where the path names a file."""
    (path.parent if path.suffix or path.is_file() else path).mkdir(parents=True, exist_ok=True)


def _file(path: Path) -> Path:
    """The file of the store, said by itself or by its folder."""
    return path / FILE_NAME if path.is_dir() else path


def _own_tables(path: Path | None) -> Path | None:
    """The owner's own modes and checks, in a folder beside the store."""
    if path is None:
        return None
    folder = (path if path.is_dir() else path.parent) / OWN_TABLES
    return folder if folder.is_dir() else None
