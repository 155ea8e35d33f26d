"""A throwaway PostgreSQL: made for one test session, reached through a socket file only, gone afterwards."""

from __future__ import annotations

import itertools
import os
import pwd
import shutil
import subprocess
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import psycopg
import pytest

from tests.setup.missing import find_program

OWNER = "snugfast"
DEBIAN_FOLDER = Path("/usr/lib/postgresql")

# Nothing here has to outlive a power cut, so nothing waits for the disk.
FAST_AND_LOOSE = "-c fsync=off -c synchronous_commit=off -c full_page_writes=off"


class Cluster:
    """A running server that hands out empty databases."""

    def __init__(self, socket_folder: Path) -> None:
        self._socket_folder = socket_folder
        self._numbers = itertools.count(1)

    @contextmanager
    def empty_database(self) -> Iterator[str]:
        """The URL of a new empty database, dropped at the end whoever is still connected."""
        name = f"test_{next(self._numbers)}"
        # The file copy is the quicker way while fsync is off; the default writes every page to the log.
        self._tell(f"create database {name} strategy file_copy")
        try:
            yield f"postgresql+psycopg://{OWNER}@/{name}?host={self._socket_folder}"
        finally:
            self._tell(f"drop database {name} with (force)")

    def _tell(self, statement: str) -> None:
        with psycopg.connect(
            host=str(self._socket_folder), user=OWNER, dbname="postgres", autocommit=True
        ) as connection:
            connection.execute(statement.encode())


@contextmanager
def running_cluster() -> Iterator[Cluster]:
    """Make a cluster in a temporary folder, start it, and leave nothing of it behind."""
    newest_first = sorted(DEBIAN_FOLDER.glob("*/bin"), key=lambda folder: -float(folder.parent.name))
    initdb = find_program("initdb", also_in=newest_first)
    pg_ctl = initdb.with_name("pg_ctl")
    user = _unprivileged_user()
    # Not pytest's own temporary folder: only its owner may enter that, and a socket's path has to be short.
    home = Path(tempfile.mkdtemp(prefix="snugfast-pg-"))
    data, log = home / "data", home / "log"
    try:
        if user:
            shutil.chown(home, user)
        _run(
            initdb, "-D", data, "-U", OWNER, "-A", "trust", "-E", "UTF8", "--locale=C", "--no-sync", user=user
        )
        options = f"-k {home} -c listen_addresses='' {FAST_AND_LOOSE}"
        _run(pg_ctl, "-w", "-D", data, "-l", log, "-o", options, "start", user=user, log=log)
        try:
            yield Cluster(home)
        finally:
            _run(pg_ctl, "-w", "-D", data, "-m", "immediate", "stop", user=user, log=log)
    finally:
        shutil.rmtree(home)


def _unprivileged_user() -> str | None:
    """Who runs the server: PostgreSQL refuses to be run by the administrator."""
    if os.geteuid() != 0:
        return None
    known = {entry.pw_name for entry in pwd.getpwall()}
    return "postgres" if "postgres" in known else "nobody"


def _run(*command: str | Path, user: str | None, log: Path | None = None) -> None:
    done = subprocess.run(
        [str(part) for part in command],
        user=user,
        cwd="/",
        stdin=subprocess.DEVNULL,
        # Files rather than pipes: the server inherits them and would hold a pipe open for ever.
        stdout=subprocess.DEVNULL,
        stderr=subprocess.PIPE if log is None else subprocess.DEVNULL,
        text=True,
        timeout=60,
        check=False,
    )
    if done.returncode != 0:
        said = log.read_text() if log and log.exists() else done.stderr
        raise RuntimeError(f"The throwaway PostgreSQL failed at {command[0]}:\n{said}")


@pytest.fixture(scope="session")
def postgres_cluster() -> Iterator[Cluster]:
    """One PostgreSQL server for the whole session."""
    with running_cluster() as cluster:
        yield cluster


@pytest.fixture
def postgres_url(postgres_cluster: Cluster) -> Iterator[str]:
    """The URL of an empty PostgreSQL database of this test's own."""
    with postgres_cluster.empty_database() as url:
        yield url


@pytest.fixture
def sqlite_url(tmp_path: Path) -> str:
    """The URL of a SQLite file of this test's own, not there yet."""
    return f"sqlite:///{tmp_path / 'workshop.db'}"


@pytest.fixture(params=["sqlite", pytest.param("postgres", marks=pytest.mark.postgres)])
def engine_url(request: pytest.FixtureRequest) -> str:
    """The URL of an empty database, on SQLite and then on PostgreSQL: the test runs once on each."""
    url: str = request.getfixturevalue(f"{request.param}_url")
    return url
