"""Under which names and addresses this machine answers in the house."""

from __future__ import annotations

import socket
from ipaddress import ip_address

NOWHERE = ("192.0.2.1", 9)  # an address of documentation (RFC 5737); nothing is sent to it


def house_address() -> str:
    """The address of this machine in its network, as its route to elsewhere says; “” without a network."""
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as probe:
        try:
            probe.connect(NOWHERE)
            found = str(probe.getsockname()[0])
        except OSError:
            return ""
    return "" if ip_address(found).is_loopback else found


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


def from_the_house(address: str) -> bool:
    """Whether an address can be in a house network: private, link-local or this machine, never public."""
    try:
        return not ip_address(address).is_global
    except ValueError:
        return False
