"""Who and what the demo workshop has: an invented place, its people by nickname, its cars and its packs.

Everything here is made up. The cars come from the starter builds, changed the way an owner changes a build.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

STARTER = "truck-1-10-4wd-3s"
PLACE = "Tern Lane Sheds"
PEOPLE = ("Juno", "Moss", "Pip")


@dataclass(frozen=True, slots=True)
class CastCar:
    """A car, how its build differs from the starter's, and how it is driven."""

    name: str
    keeper: str
    joins_at: int  # number of the outing before which it joins
    traits: Mapping[str, str] = field(default_factory=dict)
    without_roles: frozenset[str] = frozenset()
    history: str = "new"
    comes_along: float = 0.6  # chance to be at an outing
    packs: tuple[int, int] = (1, 2)  # fewest and most packs on an outing
    minutes: float = 13.0
    hits: float = 1.0  # hard hits per pack, on average
    grounds: tuple[str, ...] = ("dirt",)
    nuts_looked_at: float = 0.5  # chance that its wheel nuts are tried after an outing
    checks_per_evening: int = 3
    habit: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class CastPack:
    """A pack."""

    name: str
    cells: int
    capacity_mAh: int


DRIVE_LINE = ("joint_screws", "cups_twist", "pinion_screw", "shaft_pins", "mesh_feel", "slipper_set")
CORNERS = ("wheel_rock", "tyre_look", "tyre_beads", "arms_look", "links_look", "shocks_look", "kingpins")
REST = (
    "walk_round",
    "servo_wiggle",
    "receiver_plugs",
    "fan_grille",
    "diff_feel",
    "leads_look",
    "braces_look",
    "body_mounts",
    "suspension_heads",
    "strap_pull",
)

CARS = (
    CastCar(
        name="Bramble",
        keeper="Juno",
        joins_at=0,
        comes_along=0.9,
        packs=(2, 3),
        hits=3.0,
        grounds=("gravel", "gravel", "dirt", "rocks"),
        nuts_looked_at=0.85,
        checks_per_evening=5,
        habit=DRIVE_LINE + CORNERS + REST,
    ),
    CastCar(
        name="Sorrel",
        keeper="Pip",
        joins_at=0,
        comes_along=0.45,
        minutes=16.0,
        hits=0.4,
        grounds=("grass", "grass", "dirt"),
        nuts_looked_at=0.3,
        checks_per_evening=2,
        traits={"motor": "brushless sensored"},
        habit=("walk_round", *CORNERS, "diff_feel", "strap_pull"),
    ),
    CastCar(
        name="Nettle",
        keeper="Moss",
        joins_at=2,
        comes_along=0.6,
        packs=(1, 3),
        hits=1.2,
        grounds=("dirt", "gravel", "grass"),
        nuts_looked_at=0.5,
        traits={"fan": "by temperature", "pinion_seat": "round"},
        habit=DRIVE_LINE + REST,
    ),
    CastCar(
        name="Thistle",
        keeper="Moss",
        joins_at=5,
        history="second-hand",
        comes_along=0.65,
        packs=(1, 2),
        minutes=11.0,
        hits=1.0,
        grounds=("tarmac", "tarmac", "carpet"),
        nuts_looked_at=0.6,
        traits={"tyre_mount": "clamped", "slipper": "no", "pinion_lock": "dry"},
        without_roles=frozenset(("slipper", "slipper_nut", "slipper_spring")),
        habit=("wheel_rock", *DRIVE_LINE, "tyre_look", "links_look", *REST),
    ),
)

PACKS = (
    *(CastPack(f"Ember {n}", 3, 5000) for n in (1, 2, 3, 4)),
    CastPack("Cinder 1", 3, 4200),
    CastPack("Cinder 2", 3, 4200),
    CastPack("Ash 1", 3, 3300),
    CastPack("Ash 2", 3, 3300),
)

NOTICED = (
    "clicks under hard braking",
    "pulls a little to the left",
    "the fan sounds rough",
    "a lot of dust in the gear cover",
    "squeaks at the rear over bumps",
    "softer punch than usual at the end",
)
