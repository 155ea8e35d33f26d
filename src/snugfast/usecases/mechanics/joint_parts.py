"""What meets in a screwed joint: the screw, what it goes into, what lies under its head."""

from __future__ import annotations

from dataclasses import dataclass, field

from snugfast.core.errors import NotKnown
from snugfast.facts.model import Build, Place
from snugfast.physics.joints.fasteners import Hand
from snugfast.usecases.mechanics.gears_said import is_plastic
from snugfast.usecases.mechanics.tables import Cells, row_of

# The part that lies under the head or the nut, by the role of the screw.
UNDER_HEAD = {
    "motor_screw": "motor_mount",
    "gear_cover_screw": "gear_cover",
    "wheel_nut": "wheel",
    "diff_screw": "diff",
    "kingpin": "hub_carrier",
    "receiver_box": "receiver_box",
    "servo_horn": "servo_horn",
    "shock_end": "shock_tower",
}
# Where the shaft stands in a build that a set screw grips, by the role of the screw: the first that is there.
SHAFTS = {
    "pinion_screw": (("motor", "shaft_mm"), ("pinion", "bore_mm")),
    "cup_screw": (("centre_cup", "bore_mm"), ("centre_axle", "shaft_mm")),
    "input_screw": (("input_cup", "bore_mm"),),
}
HEADS = {"cap": "cap", "button": "button", "countersunk": "countersunk", "set screw": "set"}
TURNBUCKLE = "left and right thread"
FINE = "fine"


@dataclass(frozen=True, slots=True)
class SetScrewSaid:
    """What a person says about a set screw, every field a text; empty means not said."""

    flat: str = ""  # yes or no
    two: str = ""  # the angle between two screws, degrees
    shaft: str = ""  # diameter
    peak_torque: str = ""
    mass: str = ""
    final_ratio: str = ""  # motor turns for one of the wheels


@dataclass(frozen=True, slots=True)
class JointSaid:
    """What a person says about a joint, every field a text; empty means not said."""

    car: str
    place: str
    strength: str = ""  # class stamped on the head
    state: str = ""  # dry, oiled
    engagement: str = ""  # length of thread in use
    head_width: str = ""  # what bears: head, flange or washer
    seat: str = ""  # material under the head
    drag: str = ""  # of a nylon-insert nut, nothing clamped
    times_off: str = ""  # of that nut
    set_screw: SetScrewSaid = field(default_factory=SetScrewSaid)


@dataclass(frozen=True, slots=True)
class JointParts:
    """One joint in words and rows of the tables; a row is None where the tables do not know the thing."""

    place: Place
    thread: str
    head: str
    key_mm: float | None
    wrench_mm: float | None
    into_plastic: bool
    under_head: str  # material; empty when the build does not say
    thread_row: Cells | None
    head_row: Cells | None

    @property
    def is_set_screw(self) -> bool:
        """A screw without a head."""
        return self.head == "set screw"

    @property
    def grips_a_shaft(self) -> bool:
        """A set screw whose hold on a shaft carries the drive."""
        return self.place.role in SHAFTS

    @property
    def is_nut(self) -> bool:
        """A nut on a thread of its own class."""
        return self.head.endswith("nut")

    @property
    def is_wheel_nut(self) -> bool:
        """A nut that holds a wheel."""
        return self.place.role == "wheel_nut"

    @property
    def has_nylon_insert(self) -> bool:
        """A nut that locks by its insert."""
        return "nylon-insert" in self.head

    @property
    def is_turnbuckle(self) -> bool:
        """A rod with a left-hand thread at one end."""
        return TURNBUCKLE in self.place.part

    @property
    def hand(self) -> Hand:
        """Which way it winds: as the build says, else by the words of its part."""
        if "hand" in self.place.sizes:
            return Hand.LEFT if self.place.sizes["hand"] == "left" else Hand.RIGHT
        words = f"{self.place.part} {self.place.note}".casefold()
        return Hand.LEFT if "left-hand" in words else Hand.RIGHT

    @property
    def tool(self) -> str:
        """What turns it."""
        tools = []
        if self.key_mm is not None:
            tools.append(f"hex driver {self.key_mm:g} mm")
        if self.wrench_mm is not None:
            tools.append(f"{'nut driver' if self.is_nut else 'wrench'} {self.wrench_mm:g} mm")
        if "cross recess" in self.head:
            tools.append("cross-recess driver that fills the recess (type H or Z by ISO 4757)")
        if "six-lobe" in self.head:
            tools.append("six-lobe key")
        return " and ".join(tools)


def joint_parts(build: Build, place: Place, *, seat: str = "") -> JointParts:
    """The joint at a place. `seat` is the material under the head, where a person says it.

    Raises NotKnown for a place that has no thread, with those that have.
    """
    thread = str(place.sizes.get("thread", ""))
    if not thread or place.role in ("axle", "centre_axle", "ball_end"):
        joints = ", ".join(other.key for other in build.places if "head" in other.sizes)
        raise NotKnown(f"{place.name} is no screwed joint.", f"Joints here: {joints}.")
    head = str(place.sizes.get("head", ""))
    return JointParts(
        place=place,
        thread=thread,
        head=head,
        key_mm=_number(place, "key_mm"),
        wrench_mm=_number(place, "wrench_mm"),
        into_plastic="plastic" in place.into or is_plastic(place.into),
        under_head=seat.strip() or _under_head(build, place),
        thread_row=row_of("metric_threads", size=thread),
        head_row=_head_row(thread, head),
    )


def material_row(material: str) -> Cells | None:
    """The row of part materials that the words of a build mean, or None."""
    words = material.casefold()
    if "aluminium" in words and "nylon" not in words:
        return row_of("part_materials", material="aluminium 6061-T6")
    if "nylon" in words:
        return row_of("part_materials", material="nylon 6/6")
    if "acetal" in words:
        return row_of("part_materials", material="acetal copolymer")
    if "polycarbonate" in words or "clear body plastic" in words:
        return row_of("part_materials", material="polycarbonate")
    return None


def attacked_by_thread_lock(material: str) -> bool:
    """Whether a material near the joint is one that thread-lock cracks."""
    return any(word in material.casefold() for word in ("polycarbonate", "clear body plastic", "abs"))


def _under_head(build: Build, place: Place) -> str:
    role = UNDER_HEAD.get(place.role, "")
    if place.role == "shock_end" and "plastic" in place.into:
        role = ""  # the lower end goes into the arm and not through the tower
    there = next((part.material for part in build.of_role(role) if part.material), "") if role else ""
    if not there and "plastic" in place.into:
        return "nylon"  # a screw that goes into plastic holds plastic; nylon is the usual one
    return there


def _head_row(thread: str, head: str) -> Cells | None:
    word = next((form for said, form in HEADS.items() if said in head), "")
    return row_of("screw_heads", size=thread, head=word) if word else None


def _number(place: Place, name: str) -> float | None:
    value = place.sizes.get(name)
    return value if isinstance(value, float) else None
