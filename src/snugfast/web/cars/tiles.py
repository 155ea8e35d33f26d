"""The tools of the bench for one car, each with its one figure."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from urllib.parse import quote

from snugfast.facts.model import Build
from snugfast.records.ledger import CarRecord
from snugfast.usecases.mechanics.drive_ratios import diff_ratio, mesh_ratio
from snugfast.web.numbers import count, plain


@dataclass(frozen=True, slots=True)
class Tile:
    """One tool: its name, the sign it is drawn with, one figure, and what that is."""

    link: str
    name: str
    glyph: str
    figure: str
    says: str


def tiles_of(car: CarRecord, build: Build) -> tuple[Tile, ...]:
    """The tools this car has something for."""
    return tuple(_tiles(car, build))


def _tiles(car: CarRecord, build: Build) -> Iterable[Tile]:
    path, name = f"/cars/{car.id}", quote(car.name)
    pinion, spur = (_size(build, role, "teeth_count") for role in ("pinion", "spur"))
    if pinion and spur:
        mesh, diff = mesh_ratio(build), diff_ratio(build)
        internal = _size(build, "spur", "internal_ratio") or (plain(diff) if diff else "")
        final = f"final drive {plain(mesh * float(internal))}" if mesh and internal else "pinion/spur"
        yield Tile(f"{path}/gearing", "Gearing", "mesh", f"{pinion}T/{spur}T", final)
        pitch = next((str(place.sizes.get("pitch", "")) for place in build.of_role("spur")), "")
        yield Tile(
            f"{path}/mesh", "Mesh", "mesh", pitch or f"{pinion}T/{spur}T", "backlash, and how to set it"
        )
    joints = sum("thread" in place.sizes and "head" in place.sizes for place in build.places)
    yield Tile(f"{path}/joints", "Joints", "chassis", count(joints, "joint"), "how tight, with what")
    bearings = [place for place in build.places if place.role.endswith("_bearing")]
    sizes = {(place.sizes.get("bore_mm"), place.sizes.get("outer_mm")) for place in bearings}
    yield Tile(
        f"/bearings?car={name}", "Bearings", "wheels", count(len(sizes), "size"), "how many, and to order"
    )
    yield Tile(f"{path}/drag", "Free roll", "shafts", "spin it", "timed by hand: what drags")
    if build.of_role("power_lead") and pinion:
        plug = next((str(place.sizes.get("plug", "")) for place in build.of_role("controller_plug")), "")
        yield Tile(
            f"{path}/wires", "Wires", "pack", plug or "power wires", "what they lose, how hot they get"
        )
    if build.of_role("motor"):
        kv = _size(build, "motor", "kv_rpm_V")
        yield Tile(f"{path}/motor", "Motor at the bench", "motor", f"kV {kv}" if kv else "kV", "is it weak?")
    yield Tile(f"{path}/fluids", "Fluids", "diffs", "oil, grease", "what goes where; rebuilds")
    if build.of_role("servo") and build.of_role("receiver"):
        yield Tile(f"{path}/rail", "Receiver supply", "radio", "BEC", "can the servo reset the receiver?")
    if build.of_role("receiver"):
        yield Tile(f"{path}/radio", "Radio", "radio", "failsafe", "tested when, range, a child’s limits")
    yield Tile(f"{path}/setup", "Set-up", "suspension", "as it stands", "corners, oils, and the way back")
    if build.of_role("servo"):
        yield Tile(f"{path}/steering", "Steering", "steering", "end points", "set them; where it locks")
    keys = {place.sizes.get("key_mm") for place in build.places if "key_mm" in place.sizes}
    yield Tile(f"/kit?car={name}", "Tools", "chassis", count(len(keys), "hex driver"), "and screws to keep")
    yield Tile(f"{path}/change", "Change parts", "motor", "fitted?", "pinion, motor, tyres, servo …")
    yield Tile(f"{path}/arrive", "First checks", "radio", car.history.value, "new, second-hand, back")


def _size(build: Build, role: str, size: str) -> str:
    for place in build.of_role(role):
        value = place.sizes.get(size)
        if isinstance(value, float):
            return plain(value)
    return ""
