"""What gets a label: cars, packs, and drawers of screws and nuts; and what a code on a label means."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime
from hashlib import sha256

from snugfast.core.errors import BadInput, NotKnown
from snugfast.core.zones import local_day
from snugfast.exchange.labels.sheet import Label
from snugfast.facts.model import Build
from snugfast.usecases.mechanics.tool_kit import tool_kit
from snugfast.usecases.shared.chemistry import shown
from snugfast.usecases.shared.ledger import ledger_now
from snugfast.usecases.shared.lookup import cars_here, packs_here
from snugfast.usecases.shared.workshop import Workshop

KINDS = ("packs", "cars", "drawers")
LETTERS = "0123456789ABCDEFGHJKMNPQRSTVWXYZ"  # no I, L, O, U: nobody mistakes one for another
LONG = 5  # letters of a code: 33 million of them
READ_AS = str.maketrans({"I": "1", "L": "1", "O": "0", "U": "V", "-": None, " ": None})


def code_of(kind: str, identity: str) -> str:
    """“P-4F7K2”: the letter of its kind, then five that follow from what it is."""
    number = int.from_bytes(sha256(f"{kind} {identity}".encode()).digest()[:8], "big")
    letters = [LETTERS[number >> (5 * place) & 31] for place in range(LONG)]
    return f"{kind[0].upper()}-{''.join(letters)}"


def labels_of(workshop: Workshop, kind: str, base: str) -> tuple[Label, ...]:
    """The labels of a kind. `base` is where phones find the pages. Raises BadInput without one."""
    if kind not in KINDS:
        raise BadInput(f"There are no labels of “{kind}”.", f"There are: {', '.join(KINDS)}.")
    if not base:
        raise BadInput(
            "Phones have not opened these pages yet, so a code would lead nowhere.",
            "Start them once with: snugfast serve --house",
        )
    return tuple(
        Label(code, name, facts, f"{base}/l/{code}")
        for code, name, facts, _ in _things(workshop)
        if code[0] == kind[0].upper()
    )


def page_of(workshop: Workshop, typed: str) -> str:
    """The page of what a code says, as scanned or typed. Raises NotKnown for one that nothing has."""
    bare = typed.strip().upper().translate(READ_AS)
    for code, _, _, path in _things(workshop):
        if code.translate(READ_AS) == bare:
            return path
    raise NotKnown(f"Nothing here has the label “{typed.strip()}”.", "Look for it by its name.")


def _things(workshop: Workshop) -> Iterator[tuple[str, str, tuple[str, ...], str]]:
    """Code, name, facts and page of all that can have a label."""
    with workshop.store.reading() as reads:
        ledger = ledger_now(reads)

    def since(at: datetime) -> str:
        return f"since {local_day(at, workshop.zone)}"

    for pack in packs_here(ledger):
        about = (
            f"{pack.cells}S {shown(pack.chemistry)}",
            f"{pack.capacity_Ah * 1000:.0f} mAh",
            since(pack.added_at),
        )
        yield code_of("packs", str(pack.id)), pack.name, about, f"/packs/{pack.id}"
    for car in cars_here(ledger):
        build = workshop.build(car.build)
        facts = tuple(filter(None, (build.name, _gearing(build), since(car.added_at))))
        yield code_of("cars", str(car.id)), car.name, facts, f"/cars/{car.id}"
    for piece in tool_kit(workshop).hardware:
        keep = f"keep {piece.keep.value:.0f}"
        on = ", ".join(f"{car} {count}" for car, count in piece.by_car)
        yield code_of("drawers", piece.name), piece.name, (piece.tool, keep, on), "/kit"


def _gearing(build: Build) -> str:
    """“15T/54T”: what one looks for before one buys a pinion; empty where it is not known."""
    pair = [build.of_role(role) for role in ("pinion", "spur")]
    teeth = [places[0].sizes.get("teeth_count") for places in pair if places]
    return (
        "/".join(f"{count:g}T" for count in teeth if isinstance(count, int | float))
        if len(teeth) == 2
        else ""
    )
