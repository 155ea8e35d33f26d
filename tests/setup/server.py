"""The real server in a process of its own, on a port nobody else has."""

from __future__ import annotations

import http.client
import os
import socket
import subprocess
import time
from collections.abc import Iterator, Mapping, Sequence
from contextlib import ExitStack, contextmanager
from pathlib import Path
from typing import Protocol

import pytest

LOOPBACK = "127.0.0.1"
READY_WITHIN_S = 120.0  # a busy machine is not a fault


class StartServer(Protocol):
    """Start a server and return its address, such as http://127.0.0.1:40001."""

    def __call__(
        self, command: Sequence[str], *, env: Mapping[str, str] | None = None, health: str = "/"
    ) -> str: ...


def find_free_port() -> int:
    """A port of this machine that nothing listens on now."""
    with socket.socket() as probe:
        probe.bind((LOOPBACK, 0))
        port: int = probe.getsockname()[1]
        return port


@contextmanager
def running_server(
    command: Sequence[str], *, env: Mapping[str, str], health: str, log: Path
) -> Iterator[str]:
    """Run a command whose `{port}` is filled in, wait until it answers, and end it afterwards.

    Its environment is this one's with `env` laid over it. `health` is a path that answers with a 2xx or 3xx
    once the server is ready. Raises RuntimeError with the server's own words when it ends or stays silent.
    """
    port = find_free_port()
    filled = [part.replace("{port}", str(port)) for part in command]
    with log.open("w") as words:
        process = subprocess.Popen(
            filled,
            env={**os.environ, **env},
            stdin=subprocess.DEVNULL,
            stdout=words,
            stderr=subprocess.STDOUT,
        )
    try:
        _wait_until_ready(process, port, health, log)
        yield f"http://{LOOPBACK}:{port}"
    finally:
        process.terminate()
        try:
            process.wait(timeout=5)
        except subprocess.TimeoutExpired:
            process.kill()
            process.wait()


def _wait_until_ready(process: subprocess.Popen[bytes], port: int, health: str, log: Path) -> None:
    give_up_at = time.monotonic() + READY_WITHIN_S
    while not _answers(port, health):
        if process.poll() is not None:
            raise RuntimeError(
                f"The server ended with {process.returncode} before it answered:\n{log.read_text()}"
            )
        if time.monotonic() > give_up_at:
            raise RuntimeError(f"{health} did not answer within {READY_WITHIN_S:g} s:\n{log.read_text()}")
        time.sleep(0.05)


def _answers(port: int, path: str) -> bool:
    # http.client, since it knows nothing of the proxies a machine may name in its environment.
    connection = http.client.HTTPConnection(LOOPBACK, port, timeout=5)
    try:
        connection.request("GET", path)
        return connection.getresponse().status < 400
    except (OSError, http.client.HTTPException):
        return False
    finally:
        connection.close()


@pytest.fixture
def free_port() -> int:
    """A port of this machine that nothing listens on now."""
    return find_free_port()


@pytest.fixture
def live_server(tmp_path: Path) -> Iterator[StartServer]:
    """Start real servers, each with `{port}` in its command; all of them end with the test."""
    with ExitStack() as servers:

        def start(command: Sequence[str], *, env: Mapping[str, str] | None = None, health: str = "/") -> str:
            log = tmp_path / f"server-{find_free_port()}.log"
            return servers.enter_context(running_server(command, env=env or {}, health=health, log=log))

        yield start
