"""The pages."""

from __future__ import annotations

import os

import click

from snugfast.cli.doorway import Doorway


@click.command()
@click.option(
    "--port", type=click.IntRange(1, 65535), default=8765, show_default=True, help="On this machine only."
)
@click.pass_obj
def serve(doorway: Doorway, port: int) -> None:
    """Open the pages on this machine (127.0.0.1). Stop with Ctrl-C."""
    import uvicorn

    from snugfast.app.opening import ENVIRONMENT

    os.environ[ENVIRONMENT] = doorway.where
    if doorway.read_only:
        os.environ["SNUGFAST_READ_ONLY"] = "1"
    _refuse_taken(port)
    click.echo(f"The pages are at http://127.0.0.1:{port} (stop with Ctrl-C).")
    uvicorn.run("snugfast.web.app:create", factory=True, host="127.0.0.1", port=port, log_level="warning")


def _refuse_taken(port: int) -> None:
    """Raise while it can still be said in a sentence."""
    import socket

    with socket.socket() as probe:
        probe.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        try:
            probe.bind(("127.0.0.1", port))
        except OSError as error:
            raise OSError(error.errno, error.strerror, f"Port {port}") from error
