"""Who and what the demo workshop has: an invented place, its people by nickname, its cars and its packs.

Everything here is made up. The cars come from the starter builds, changed the way an owner changes a build.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

PLACE = "Tern Lane Sheds"
PEOPLE = ("Juno", "Moss", "Pip")
NICKEL = "nickel-metal hydride"


@dataclass(frozen=True, slots=True)
class CastCar:
    """A car, how its build differs from the starter's, and how it is driven."""

    name: str
    keeper: str
    starter: str
    joins_at: int  # number of the outing before which it joins
    traits: Mapping[str, str] = field(default_factory=dict)
    without_roles: frozenset[str] = frozenset()
    history: str = "new"
    comes_along: float = 0.6  # chance to be at an outing
    packs: tuple[int, int] = (1, 2)  # fewest and most packs on an outing
    minutes: float = 13.0
    hits: float = 1.0  # hard hits per pack, on average
    grounds: tuple[str, ...] = ("dirt",)
    amps: Mapping[str, float] = field(default_factory=dict)  # what it draws on average, by ground
    can_rise_K: float = 45.0  # how much warmer than the air its motor can is after a run
    nuts_looked_at: float = 0.5  # chance that its wheel nuts are checked after an outing
    checks_per_evening: int = 3
    habit: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class CastPack:
    """A pack, and the car it goes into."""

    name: str
    cells: int
    capacity_mAh: int
    car: str
    chemistry: str = "lithium-polymer"


SET_SCREWS = ("joint_screws", "cups_twist", "pinion_screw", "shaft_pins", "mesh_feel", "slipper_set")
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
ON_ROCKS = (
    "servo_wiggle",
    "ring_screws",
    "axle_links_look",
    "portal_turn",
    "cups_twist",
    "input_cups_twist",
    "servo_screws_metal",
    "walk_round",
    "pinion_screw",
    "clamped_tyres",
    "leads_look",
)
ON_TARMAC = (
    "belts_press",
    "pinion_screw_open",
    "mesh_feel_open",
    "wheel_rock",
    "links_look",
    "shocks_look",
    "metal_screws",
    "layshaft_feel",
    "diff_feel",
    "joint_screws",
    "tyre_beads",
    "fan_grille",
    "body_mounts",
    "strap_pull",
)
FIRST_CAR = (
    "walk_round",
    "e_clips",
    "slider_shafts",
    "tyre_look",
    "shocks_look",
    "body_mounts",
    "gear_cover_seat",
)

CARS = (
    CastCar(
        name="Bramble",
        keeper="Juno",
        starter="truck-1-10-4wd-3s",
        joins_at=0,
        comes_along=0.9,
        packs=(2, 3),
        hits=3.0,
        grounds=("gravel", "gravel", "dirt", "rocks"),
        amps={"dirt": 14.0, "gravel": 13.0, "rocks": 12.0, "sand": 15.0},
        nuts_looked_at=0.85,
        checks_per_evening=5,
        habit=SET_SCREWS + CORNERS + REST,
    ),
    CastCar(
        name="Sorrel",
        keeper="Pip",
        starter="short-course-1-10-2wd-brushed",
        joins_at=0,
        comes_along=0.45,
        minutes=16.0,
        hits=0.6,
        grounds=("grass", "grass", "dirt"),
        amps={"grass": 8.0, "dirt": 7.0, "sand": 8.0},
        can_rise_K=38.0,
        nuts_looked_at=0.3,
        checks_per_evening=2,
        habit=FIRST_CAR,
    ),
    CastCar(
        name="Nettle",
        keeper="Moss",
        starter="crawler-1-10-4wd-3s-brushed",
        joins_at=2,
        comes_along=0.6,
        packs=(1, 2),
        minutes=27.0,
        hits=0.7,
        grounds=("rocks", "rocks", "dirt"),
        amps={"rocks": 0.9, "dirt": 1.5, "sand": 1.5},
        can_rise_K=20.0,
        nuts_looked_at=0.2,
        habit=ON_ROCKS,
    ),
    CastCar(
        name="Thistle",
        keeper="Moss",
        starter="touring-1-10-4wd-2s",
        joins_at=5,
        history="second-hand",
        comes_along=0.65,
        packs=(1, 2),
        minutes=11.0,
        hits=0.8,
        grounds=("tarmac", "tarmac", "carpet"),
        amps={"tarmac": 14.0, "carpet": 15.0, "sand": 15.0},
        nuts_looked_at=0.6,
        traits={"pinion_lock": "dry"},
        habit=ON_TARMAC,
    ),
)

PACKS = (
    *(CastPack(f"Ember {n}", 3, 5000, "Bramble") for n in (1, 2, 3, 4)),
    CastPack("Cinder 1", 2, 6000, "Thistle"),
    CastPack("Cinder 2", 2, 6000, "Thistle"),
    CastPack("Ash 1", 3, 2200, "Nettle"),
    CastPack("Ash 2", 3, 2200, "Nettle"),
    CastPack("Rust 1", 6, 3000, "Sorrel", NICKEL),
    CastPack("Rust 2", 6, 3000, "Sorrel", NICKEL),
)

NOTICED = (
    "clicks under hard braking",
    "pulls a little to the left",
    "the fan sounds rough",
    "a lot of dust in the gear cover",
    "squeaks at the rear over bumps",
    "softer punch than usual at the end",
)
