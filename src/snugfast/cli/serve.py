"""The pages."""

from __future__ import annotations

import os
import socket
from pathlib import Path
from typing import TYPE_CHECKING

import click

from snugfast.cli.doorway import Doorway, to_type
from snugfast.core.errors import BadInput

if TYPE_CHECKING:
    from snugfast.app.house_door import HouseDoor

THIS_MACHINE = "127.0.0.1"
EVERY_ADDRESS = "0.0.0.0"  # of this machine; the guard and the door say who may ask


@click.command()
@click.option(
    "--port", type=click.IntRange(1, 65535), default=8765, show_default=True, help="Where they answer."
)
@click.option("--house", is_flag=True, help="Open them to phones in your house network, behind a passphrase.")
@click.option("--new-passphrase", is_flag=True, help="Choose a new passphrase; signs every phone out.")
@click.option(
    "--address", default="", metavar="NAME", help="The name or number phones reach this machine by."
)
@click.option(
    "--certificate",
    type=click.Path(exists=True, dir_okay=False, path_type=Path),
    help="Your own certificate (PEM), for HTTPS in the house.",
)
@click.option(
    "--key", type=click.Path(exists=True, dir_okay=False, path_type=Path), help="The key of the certificate."
)
@click.pass_obj
def serve(
    doorway: Doorway,
    port: int,
    house: bool,
    new_passphrase: bool,
    address: str,
    certificate: Path | None,
    key: Path | None,
) -> None:
    """Open the pages on this machine (127.0.0.1). Stop with Ctrl-C.

    With --house phones in the same network can open them too: they scan a code from this screen, or type a
    passphrase that you choose once. On this machine nothing is asked.
    """
    import gc

    import uvicorn

    from snugfast.app.opening import ENVIRONMENT

    gc.set_threshold(700, 10, 10)  # pages go on for weeks: sweep as Python does by itself

    if not house:
        if new_passphrase or address or certificate or key:
            raise BadInput("Those options are for phones in the house.", "Add --house.")
        os.environ[ENVIRONMENT] = doorway.where
        if doorway.read_only:
            os.environ["SNUGFAST_READ_ONLY"] = "1"
        _refuse_taken(THIS_MACHINE, port)
        told = (
            f"The pages are at http://{THIS_MACHINE}:{port} (stop with Ctrl-C).",
            f"To open them on a phone too: {to_type('serve --house')}",
        )

        class Server(uvicorn.Server):
            """Says where the pages are once they answer, not before."""

            async def startup(self, sockets: list[socket.socket] | None = None) -> None:
                await super().startup(sockets)
                if self.started:
                    click.echo("\n".join(told))

        Server(
            uvicorn.Config(
                "snugfast.web.app:create", factory=True, host=THIS_MACHINE, port=port, log_level="warning"
            )
        ).run()
        return
    _serve_house(doorway, port, new_passphrase, address.strip().lower(), certificate, key)


def _serve_house(
    doorway: Doorway,
    port: int,
    new_passphrase: bool,
    address: str,
    certificate: Path | None,
    key: Path | None,
) -> None:
    import uvicorn

    from snugfast.app.house_door import HouseDoor, door_file
    from snugfast.app.house_network import house_address, listening, own_names
    from snugfast.app.opening import store_file, utc_now
    from snugfast.exchange.qr import qr_blocks
    from snugfast.web.app import create_in_house
    from snugfast.web.bench import House

    if (certificate is None) != (key is None):
        raise BadInput("A certificate and its key go together.", "Give both --certificate and --key.")
    reached_by = address or house_address()
    if not reached_by:
        raise BadInput(
            "This machine has no address in a network.",
            "Connect it, or say how phones reach it: --address NAME",
        )
    _refuse_taken(EVERY_ADDRESS, port)
    doorway.open().store.close()  # refuses here, in a sentence, where there is no workshop
    door = HouseDoor(door_file(doorway.where, store_file(doorway.where)), now=utc_now)
    if new_passphrase or not door.has_passphrase:
        _choose(door)
    scheme = "https" if certificate else "http"
    opened = House(door, f"{scheme}://{reached_by}:{port}", certificate is not None)
    door.opened_at(opened.address)
    app = create_in_house(
        doorway.where, opened, hosts=(*own_names(), reached_by), read_only=doorway.read_only
    )
    click.echo(f"On this machine: {scheme}://{THIS_MACHINE}:{port}  (stop with Ctrl-C)")
    click.echo(f"In the house:    {opened.address}, with the passphrase")
    click.echo("Or scan this once, within ten minutes (the page “Phones in the house” shows another):\n")
    click.echo(qr_blocks(opened.link))
    click.echo(opened.link)
    if certificate is None:
        click.echo(
            "\nPlain HTTP: nothing on the way is encrypted. Whoever shares this network can read what"
            "\nphones open and type, the passphrase too, and come in with it. Use it in your own house"
            "\nnetwork only, never in a club’s or a hotel’s; or give your own certificate with"
            "\n--certificate and --key."
        )
    config = uvicorn.Config(
        app,
        log_level="warning",
        access_log=False,  # addresses of one-time links are secrets
        proxy_headers=False,  # nobody may say for somebody else where they come from
        server_header=False,
        ssl_certfile=certificate,
        ssl_keyfile=key,
    )
    uvicorn.Server(config).run(sockets=listening(port))


def _choose(door: HouseDoor) -> None:
    """Ask for a passphrase, or make one up."""
    from snugfast.app.house_door import made_up_passphrase

    made_up = made_up_passphrase()
    click.echo("Choose a passphrase for phones in the house. Enter alone takes this one; write it down:")
    click.echo(f"  {made_up}")
    said = click.prompt("Passphrase", default="", hide_input=True, show_default=False)
    if said and click.prompt("Once more", default="", hide_input=True, show_default=False) != said:
        raise BadInput("The two are not the same, so nothing was saved.", "Start again.")
    door.set_passphrase(said or made_up)


def _refuse_taken(host: str, port: int) -> None:
    """Raise while it can still be said in a sentence."""
    import socket

    with socket.socket() as probe:
        probe.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        try:
            probe.bind((host, port))
        except OSError as error:
            raise OSError(error.errno, error.strerror, f"Port {port}") from error
