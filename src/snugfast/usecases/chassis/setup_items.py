"""What a set-up record can hold: each quantity with its unit and what it needs of a build."""

from __future__ import annotations

import math
import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from difflib import get_close_matches
from enum import Enum

from snugfast.core.errors import BadInput, NotKnown
from snugfast.core.units import read_number
from snugfast.facts.model import Build
from snugfast.usecases.shared.applicability import fits

CORNERS = ("front left", "front right", "rear left", "rear right")
AXLES = ("front", "rear")
LBF_PER_INCH_N_mm = 0.175126835
NONE = "none"


class Per(Enum):
    """Where a quantity is told apart."""

    CORNER = "corner"
    AXLE = "axle"
    DIFF = "diff"
    CAR = "car"


@dataclass(frozen=True, slots=True)
class Item:
    """One quantity. `low` and `high` are what can be at all; an item without them is words."""

    key: str
    name: str
    per: Per
    unit: str = ""
    low: float | None = None
    high: float | None = None
    hint: str = ""
    also: tuple[str, ...] = ()
    roles: tuple[str, ...] = ()  # one of these in the build
    traits: Mapping[str, str] | None = None
    how: str = ""  # what putting it back takes
    cautions: tuple[str, ...] = ("power-off",)

    @property
    def words(self) -> bool:
        """Whether it is words, not a number."""
        return self.low is None


OIL_UNITS = ("cst", "mm²/s", "mm2/s", "mm^2/s")
SHOCK_JOB = "Drain, refill, bleed, both shocks of the axle alike."
ITEMS: tuple[Item, ...] = (
    Item(
        "ride height",
        "Ride height",
        Per.CORNER,
        "mm",
        0.0,
        200.0,
        "Under the chassis, ready to run, after bouncing the car",
        ("height",),
        ("shock",),
        how="Turn the spring collars alike left and right, bounce, measure again.",
    ),
    Item(
        "sag",
        "Sag",
        Per.CORNER,
        "mm",
        0.0,
        150.0,
        "From hanging free to standing, at the wheel",
        (),
        ("shock",),
        how="Turn the spring collars; sag and ride height go together.",
    ),
    Item(
        "droop",
        "Droop",
        Per.CORNER,
        "mm",
        0.0,
        150.0,
        "Down-travel left at ride height",
        (),
        ("shock",),
        how="Droop screws or shock length, both sides alike.",
    ),
    Item(
        "camber",
        "Camber",
        Per.CORNER,
        "°",
        -15.0,
        15.0,
        "At ride height; minus: top leans in",
        (),
        ("camber_link", "hub_carrier"),
        {"suspension": "arms"},
        how="Turn the camber link with its spanner; hold the ball cups.",
    ),
    Item(
        "toe",
        "Toe",
        Per.CORNER,
        "°",
        -15.0,
        15.0,
        "Of this wheel alone; plus: toe in",
        (),
        ("steering_link", "hub_carrier"),
        how="Front: turn both steering rods alike. Rear: hinge pin mounts or hubs.",
    ),
    Item(
        "spring",
        "Spring",
        Per.CORNER,
        "N/mm",
        0.01,
        20.0,
        "N/mm; a colour is one maker’s code",
        ("spring rate",),
        ("shock_spring",),
        how="Shock off or collar down, swap both springs of the axle.",
        cautions=("power-off", "eye-protection"),
    ),
    Item(
        "shock oil",
        "Shock oil",
        Per.CORNER,
        "cSt",
        20.0,
        20000.0,
        "cSt on the bottle (mm²/s at 25 °C)",
        ("oil",),
        ("shock",),
        {"shocks": "oil"},
        how=SHOCK_JOB,
        cautions=("power-off", "silicone-oil"),
    ),
    Item(
        "piston",
        "Piston",
        Per.CORNER,
        hint="Holes × diameter: 2 × 1.7 mm",
        roles=("shock",),
        traits={"shocks": "oil"},
        how="Shock apart, piston changed, refilled and bled.",
        cautions=("power-off", "silicone-oil"),
    ),
    Item(
        "shock position",
        "Shock position",
        Per.CORNER,
        hint="Tower hole, arm hole, counted from outside: 2/1",
        also=("shock holes", "position"),
        roles=("shock_tower", "shock"),
        how="Move the shock’s ends; check it clears at full travel.",
    ),
    Item(
        "motion ratio",
        "Motion ratio",
        Per.AXLE,
        "to 1",
        0.2,
        1.3,
        "Shock travel over wheel travel: mount over arm length, 50 mm / 75 mm is 0.67",
        (),
        ("shock",),
        {"suspension": "arms"},
        how="It follows the shock’s lower hole.",
    ),
    Item(
        "corner weight",
        "Corner weight",
        Per.CORNER,
        "g",
        10.0,
        10000.0,
        "Ready to run, each wheel on a scale, all four level",
        (),
        ("shock",),
        how="Move the battery or the collars crosswise.",
    ),
    Item(
        "bar",
        "Anti-roll bar",
        Per.AXLE,
        "mm",
        0.2,
        6.0,
        "Wire in mm, or none",
        ("anti-roll bar", "sway bar"),
        ("anti_roll_bar",),
        how="Swap the bar; it must turn freely with its links off.",
    ),
    Item(
        "tyres",
        "Tyres",
        Per.AXLE,
        hint="Tread, compound, how worn",
        also=("tires",),
        roles=("tyre",),
        how="Fit these wheels.",
    ),
    Item(
        "inserts",
        "Foam inserts",
        Per.AXLE,
        hint="Soft, hard, cut",
        also=("insert",),
        roles=("insert", "tyre"),
        how="Fit these wheels.",
    ),
    Item(
        "diff oil",
        "Diff oil",
        Per.DIFF,
        "cSt",
        50.0,
        3e6,
        "cSt on the bottle",
        (),
        ("diff",),
        {"diff": "geared, oil filled"},
        how="Diff out, drained, refilled by weight, sealed.",
        cautions=("power-off", "silicone-oil"),
    ),
    Item(
        "slipper",
        "Slipper clutch",
        Per.CAR,
        hint="How far it slips at full throttle: 0.5 m",
        roles=("slipper",),
        how="Turn its nut; check on the ground.",
    ),
    Item(
        "rate",
        "Steering rate",
        Per.CAR,
        "%",
        1.0,
        150.0,
        "Dual rate on the radio",
        ("dual rate", "steering rate"),
        ("transmitter",),
        how="On the radio, this car’s model.",
        cautions=("radio-order",),
    ),
    Item(
        "trim",
        "Steering trim",
        Per.CAR,
        hint="Clicks left or right, for driving",
        roles=("transmitter",),
        how="On the radio.",
        cautions=("radio-order",),
    ),
    Item(
        "drag brake",
        "Drag brake",
        Per.CAR,
        "%",
        0.0,
        100.0,
        "Set in the ESC",
        (),
        ("controller",),
        how="With the ESC’s programming.",
    ),
    Item(
        "brake",
        "Full brake",
        Per.CAR,
        "%",
        0.0,
        150.0,
        "Brake end point",
        (),
        ("controller",),
        how="On the radio or in the ESC.",
        cautions=("radio-order",),
    ),
    Item(
        "punch",
        "ESC punch",
        Per.CAR,
        hint="As the ESC calls its steps",
        roles=("controller",),
        how="With the ESC’s programming.",
    ),
    Item(
        "battery",
        "Battery position",
        Per.CAR,
        hint="Forward, middle, back; mm of foam",
        roles=("pack",),
        how="Move the stops; the strap still holds it.",
    ),
    Item(
        "body",
        "Body and wing",
        Per.CAR,
        hint="Body height, wing hole",
        also=("wing",),
        roles=("body",),
        how="Move posts or wing.",
    ),
)
BY_KEY = {item.key: item for item in ITEMS}


def items_of(build: Build) -> tuple[Item, ...]:
    """The quantities this build has."""
    return tuple(
        item
        for item in ITEMS
        if any(build.of_role(role) for role in item.roles) and fits(item.traits or {}, build)
    )


def places_of(item: Item, build: Build) -> tuple[str, ...]:
    """Where an item is told apart on this build: four corners, two axles, its diffs, or once."""
    match item.per:
        case Per.CORNER:
            return CORNERS
        case Per.AXLE:
            held = {end for place in build.of_role(item.roles[0]) for end in _ends(place.spots, place.name)}
            return tuple(axle for axle in AXLES if axle in held) or AXLES
        case Per.DIFF:
            return tuple(
                where
                for where in ("front", "centre", "rear")
                if any(where in place.name.casefold() for place in build.of_role("diff"))
            )
        case Per.CAR:
            return ("",)


def _ends(spots: Sequence[str], name: str) -> Iterator[str]:
    words = " ".join((*spots, name)).casefold()
    found = [axle for axle in AXLES if axle in words]
    yield from found or AXLES


def key_of(item: Item, where: str) -> str:
    """How a value is named in the journal."""
    return f"{item.key}/{where}" if where else item.key


def split_key(key: str) -> tuple[Item | None, str]:
    """The item a name of the journal means, and where."""
    name, _, where = key.partition("/")
    return BY_KEY.get(name), where


def read_change(text: str, build: Build) -> dict[str, float | str]:
    """One change as typed, “camber front -2”: what it says for each place. Raises BadInput or NotKnown."""
    here = items_of(build)
    plain = re.sub(r"\s+", " ", text.replace("=", " ").replace(":", " ").replace("−", "-")).strip()
    item, rest = _item(plain, here)
    places, value_text = _where(item, rest, build)
    if not value_text:
        raise BadInput(f"“{text}” has no value.", f"Write it like “{_example(item, build)}”.")
    value = read_value(item, value_text)
    return {key_of(item, place): value for place in places}


def read_value(item: Item, text: str) -> float | str:
    """A value of an item. Raises BadInput for a weight of oil, a wrong unit, or what cannot be."""
    clean = text.strip().replace("−", "-")
    if item.key == "motion ratio" and "/" in clean:
        mount, arm = (
            read_number(part.removesuffix("mm").strip(), where=item.name) for part in clean.split("/", 1)
        )
        clean = f"{mount / arm:.3f}" if arm else clean
    if item.key == "bar" and clean.casefold() in (NONE, "no", "off"):
        return NONE
    if item.words:
        return clean
    if item.unit == "cSt" and re.search(r"\d\s*-?\s*(wt|w|weight)\b", clean.casefold()):
        raise BadInput(
            f"“{clean}” is a weight, and each maker’s 35 is another oil.",
            "Copy the cSt (mm²/s at 25 °C) from the bottle: 400. If it gives only a weight, put that in "
            "the note.",
        )
    match = re.fullmatch(r"([+-]?[\d.,]+(?:e\d+)?)\s*(k?)\s*(.*)", clean.casefold())
    if match is None:
        raise BadInput(f"{item.name}: “{clean}” is not a number.", f"Write it in {item.unit}.")
    value = read_number(match.group(1), where=item.name) * (1e3 if match.group(2) else 1.0)
    value *= _unit_factor(item, match.group(3), clean)
    assert item.low is not None and item.high is not None
    if not (math.isfinite(value) and item.low <= value <= item.high):
        raise BadInput(
            f"{item.name}: {value:g} {item.unit} is none a car has.",
            f"It lies within {item.low:g} to {item.high:g} {item.unit}. {item.hint}.",
        )
    return value


def _unit_factor(item: Item, unit: str, clean: str) -> float:
    known = {
        "mm": {"": 1.0, "mm": 1.0, "cm": 10.0, "in": 25.4},
        "°": {"": 1.0, "°": 1.0, "deg": 1.0, "degrees": 1.0},
        "N/mm": {
            "": 1.0,
            "n/mm": 1.0,
            "lb/in": LBF_PER_INCH_N_mm,
            "lbf/in": LBF_PER_INCH_N_mm,
            "gf/mm": 0.00980665,
        },
        "cSt": {"": 1.0, **dict.fromkeys(OIL_UNITS, 1.0)},
        "%": {"": 1.0, "%": 1.0},
        "to 1": {"": 1.0, ": 1": 1.0, "to 1": 1.0},
        "g": {"": 1.0, "g": 1.0, "kg": 1e3},
    }[item.unit]
    if unit not in known:
        raise BadInput(f"{item.name}: “{clean}” is not in {item.unit}.", f"Write the number in {item.unit}.")
    return known[unit]


def _item(text: str, here: Sequence[Item]) -> tuple[Item, str]:
    folded = text.casefold()
    names = sorted(
        ((name, item) for item in here for name in (item.key, item.name.casefold(), *item.also)),
        key=lambda one: -len(one[0]),
    )
    for name, item in names:
        if folded == name or folded.startswith(f"{name} "):
            return item, text[len(name) :].strip()
    everywhere = [one for one in ITEMS if folded.startswith(one.key)]
    if everywhere:
        raise NotKnown(
            f"The build of this car has nothing for {everywhere[0].name.casefold()}.",
            "Change its build if it does have it.",
        )
    near = get_close_matches(
        folded.split(" ")[0] if folded else "", [name for name, _ in names], n=3, cutoff=0.4
    )
    listed = ", ".join(near or [item.key for item in here])
    raise NotKnown(f"“{text}” begins with nothing a set-up has.", f"There are {listed}.")


def _where(item: Item, rest: str, build: Build) -> tuple[tuple[str, ...], str]:
    """The places named at the beginning of the rest, and what follows. None named is all of them."""
    here = places_of(item, build)
    words = rest.casefold().split(" ") if rest else []
    count, wanted = 0, list(here)
    for word in words:
        short = {"fl": "front left", "fr": "front right", "rl": "rear left", "rr": "rear right"}.get(
            word, word
        )
        short = {"back": "rear", "center": "centre", "both": "", "all": ""}.get(short, short)
        if short and not all(
            part in ("front", "rear", "left", "right", "centre") for part in short.split(" ")
        ):
            break
        wanted = [place for place in wanted if all(part in place.split(" ") for part in short.split())]
        count += 1
    if not wanted:
        named = " ".join(words[:count])
        listed = ", ".join(filter(None, here)) or "no place"
        raise NotKnown(f"{item.name} has no place “{named}” on this car.", f"There are {listed}.")
    return tuple(wanted), " ".join(rest.split(" ")[count:]).strip()


def _example(item: Item, build: Build) -> str:
    place = places_of(item, build)[0].split(" ")[0]
    value = "as it is" if item.words else f"{(item.low or 0.0) + 1:g}"
    return " ".join(filter(None, (item.key, place, value)))


def told(item: Item, value: object) -> str:
    """A value with its unit, as a person reads it."""
    if isinstance(value, str) or item.words:
        return str(value)
    assert isinstance(value, int | float)
    whole = item.unit in ("cSt", "g")
    number = f"{value:,.0f}".replace(",", "\u00a0") if whole else f"{value:.3g}"
    number = number.replace("-", "−")
    if item.unit == "to 1":
        return number
    return f"{number}°" if item.unit == "°" else f"{number} {item.unit}"
