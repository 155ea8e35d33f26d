"""Under which names and addresses this machine answers in the house."""

from __future__ import annotations

import socket
from contextlib import suppress
from ipaddress import IPv6Address, ip_address, ip_network

# Addresses of documentation (RFC 5737, RFC 3849); nothing is sent to them.
NOWHERE = ((socket.AF_INET, "192.0.2.1"), (socket.AF_INET6, "2001:db8::1"))
ON_A_LINK = 64  # bits of an IPv6 address that all on one link share (RFC 4291, 2.5.4)
WAITING = 128  # connections that may wait to be taken


def house_address() -> str:
    """The address of this machine in its network, as its route to elsewhere says; “” without a network.

    One of IPv6 stands in brackets, as in an address of a page.
    """
    for family, nowhere in NOWHERE:
        try:
            with socket.socket(family, socket.SOCK_DGRAM) as probe:
                probe.connect((nowhere, 9))
                found = str(probe.getsockname()[0])
        except OSError:
            continue
        if not ip_address(found).is_loopback:
            return f"[{found}]" if family is socket.AF_INET6 else found
    return ""


def listening(port: int) -> list[socket.socket]:
    """Sockets on every address of this machine, IPv4 and, where there is any, IPv6, each for its own kind.

    Raises OSError when the port is taken.
    """
    opened = [_bound(socket.AF_INET, "0.0.0.0", port)]
    with suppress(OSError):  # no IPv6 here
        opened.append(_bound(socket.AF_INET6, "::", opened[0].getsockname()[1]))
    return opened


def _bound(family: socket.AddressFamily, address: str, port: int) -> socket.socket:
    made = socket.socket(family, socket.SOCK_STREAM)
    try:
        made.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        if family is socket.AF_INET6:  # else an IPv4 phone would come under an IPv6 name
            made.setsockopt(socket.IPPROTO_IPV6, socket.IPV6_V6ONLY, 1)
        made.bind((address, port))
        made.listen(WAITING)
    except OSError:
        made.close()
        raise
    return made


def own_names() -> frozenset[str]:
    """What this machine is called, with and without “.local”."""
    name = socket.gethostname().lower().removesuffix(".local")
    return frozenset((name, f"{name}.local")) if name else frozenset()


def from_here(address: str) -> bool:
    """Whether an address is this machine's own loopback."""
    try:
        return ip_address(address).is_loopback
    except ValueError:
        return False


def from_the_house(address: str, came_in_at: str = "") -> bool:
    """Whether an address can be in a house network: private, link-local or this machine, never public.

    In IPv6 phones at home have public addresses; one on the link of the address it `came_in_at` is taken,
    since no connection from elsewhere comes about under it. An IPv4 address in an IPv6 one counts as itself.
    """
    try:
        asking = ip_address(address)
        if isinstance(asking, IPv6Address) and asking.ipv4_mapped is not None:
            asking = asking.ipv4_mapped
        if not asking.is_global:
            return True
        ours = ip_address(came_in_at)
    except ValueError:
        return False
    return (
        isinstance(asking, IPv6Address)
        and isinstance(ours, IPv6Address)
        and asking in ip_network((ours.packed, ON_A_LINK), strict=False)
    )
