"""A throwaway PostgreSQL: made for one test session, reached through a socket file only, gone afterwards."""

from __future__ import annotations

import itertools
import os
import pwd
import shutil
import signal
import subprocess
import tempfile
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import psycopg
import pytest

from tests.setup.missing import find_program

OWNER = "snugfast"
DEBIAN_FOLDER = Path("/usr/lib/postgresql")

READY_WITHIN_S = 30.0

# Nothing here has to outlive a power cut, so nothing waits for the disk.
SETTINGS = {
    "listen_addresses": "",
    "fsync": "off",
    "synchronous_commit": "off",
    "full_page_writes": "off",
}


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

    def answers(self) -> bool:
        """Whether the server takes connections yet."""
        try:
            self._tell("select 1")
        except psycopg.OperationalError:
            return False
        return True

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
    user = _unprivileged_user()
    # Not pytest's own temporary folder: only its owner may enter that, and a socket's path has to be short.
    home = Path(tempfile.mkdtemp(prefix="snugfast-pg-"))
    try:
        if user:
            shutil.chown(home, user)
        make = [str(initdb), "-D", str(home / "data"), "-U", OWNER, "-A", "trust", "-E", "UTF8"]
        make += ["--locale=C", "--no-sync"]
        made = subprocess.run(make, user=user, cwd="/", capture_output=True, text=True, check=False)
        if made.returncode != 0:
            raise RuntimeError(f"The throwaway PostgreSQL could not be made:\n{made.stderr}")
        with _running_server(initdb.with_name("postgres"), home, user) as cluster:
            yield cluster
    finally:
        shutil.rmtree(home)


@contextmanager
def _running_server(postgres: Path, home: Path, user: str | None) -> Iterator[Cluster]:
    settings = [f"--{name}={value}" for name, value in SETTINGS.items()]
    log = home / "log"
    with log.open("w") as words:
        # A child of this process rather than of pg_ctl, so that it can be waited for and leaves no zombie.
        # A session of its own, so that Ctrl-C reaches the tests first and they end the server.
        server = subprocess.Popen(
            [postgres, "-D", home / "data", "-k", home, *settings],
            user=user,
            cwd="/",
            stdin=subprocess.DEVNULL,
            stdout=words,
            stderr=subprocess.STDOUT,
            start_new_session=True,
        )
    cluster = Cluster(home)
    give_up_at = time.monotonic() + READY_WITHIN_S
    try:
        while not cluster.answers():
            if server.poll() is not None or time.monotonic() > give_up_at:
                raise RuntimeError(f"The throwaway PostgreSQL did not start:\n{log.read_text()}")
            time.sleep(0.05)
        yield cluster
    finally:
        server.send_signal(signal.SIGINT)  # PostgreSQL's fast way: clients are cut off, files are closed
        server.wait(timeout=30)


def _unprivileged_user() -> str | None:
    """Who runs the server: PostgreSQL refuses to be run by the administrator."""
    if os.geteuid() != 0:
        return None
    known = {entry.pw_name for entry in pwd.getpwall()}
    return "postgres" if "postgres" in known else "nobody"


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
