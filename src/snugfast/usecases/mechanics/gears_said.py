"""Gears as a build or a person says them: teeth and pitch in words, read into what the rooms work with."""

from __future__ import annotations

import re
from dataclasses import dataclass

from snugfast.core.errors import BadInput, NotKnown
from snugfast.core.units import read_number
from snugfast.core.ways_out import Action, WayOut
from snugfast.facts.model import Build, Place
from snugfast.physics.gears.gears import Gear
from snugfast.physics.gears.tooth_pitch import check_module, module_of_diametral_pitch

_DIAMETRAL = re.compile(r"([\d.,]+)\s*(?:dp|teeth per inch)", re.IGNORECASE)
_MODULE = re.compile(r"(?:module|mod|m)?\s*([\d.,]+)\s*(?:mm)?", re.IGNORECASE)

METAL_WORDS = ("steel", "aluminium", "brass", "titanium", "metal")
PLASTIC_WORDS = ("nylon", "acetal", "plastic", "polycarbonate", "abs")


@dataclass(frozen=True, slots=True)
class GearSaid:
    """One gear of a pair: who it is, its pitch in the words of the build, and its shape."""

    name: str
    pitch: str
    material: str
    gear: Gear
    face_m: float | None = None  # width of its teeth, where the build says it


def read_pitch(words: str) -> float:
    """“module 0.8”, “0.8 mm” or “48 DP” as a module in metres.

    Raises BadInput for other words, and ImpossibleInput (with the pitch that was meant) for a module no car
    carries: a bare 48 is a diametral pitch.
    """
    clean = words.strip()
    if match := _DIAMETRAL.fullmatch(clean):
        module_m = module_of_diametral_pitch(teeth_per_inch=read_number(match[1], where="pitch"))
    elif match := _MODULE.fullmatch(clean):
        module_m = read_number(match[1], where="pitch") * 1e-3
    else:
        raise BadInput(f"“{words}” is not a gear pitch.", "Write it like module 0.8 or 48 DP.")
    check_module(module_m)
    return module_m


def gear_of(build: Build, role: str, *, teeth: str = "", pitch: str = "") -> GearSaid:
    """The gear in the first place of a role, with teeth or pitch replaced where they were said.

    Raises NotKnown when neither the build nor the person says them, ImpossibleInput for a gear that
    cannot be.
    """
    place = next(iter(build.of_role(role)), None)
    count = teeth or _size(place, "teeth_count")
    pitch = pitch or _size(place, "pitch")
    if not count or not pitch:
        missing = "how many teeth it has" if not count else "its pitch"
        teeth_of = {"pinion": Action.GIVE_PINION_TEETH, "spur": Action.GIVE_SPUR_TEETH}
        raise NotKnown(
            f"The build does not say of the {role} {missing}.",
            WayOut("Give it, or add it to the build", Action.GIVE_PITCH if count else teeth_of[role]),
        )
    number = read_number(count, where=f"{role} teeth")
    if number != int(number):
        raise BadInput(f"A gear cannot have {count} teeth.", "Write a whole number.")
    name = place.name if place is not None else role.capitalize()
    material = place.material if place is not None else ""
    face_mm = place.sizes.get("face_mm") if place is not None else None
    face_m = face_mm * 1e-3 if isinstance(face_mm, float) else None
    return GearSaid(name, pitch, material, Gear(int(number), read_pitch(pitch)), face_m)


def is_metal(material: str) -> bool:
    """Whether a part's words say metal."""
    return any(word in material.casefold() for word in METAL_WORDS)


def is_plastic(material: str) -> bool:
    """Whether a part's words say plastic and no metal."""
    return not is_metal(material) and any(word in material.casefold() for word in PLASTIC_WORDS)


def plastic_row_word(material: str) -> str:
    """The name under which the tables of plastics know a material; empty when they do not."""
    words = material.casefold()
    filled = "glass" in words
    if "nylon" in words:
        return "nylon glass-filled" if filled else "nylon 6/6"
    if "acetal" in words:
        return "acetal glass-filled" if filled else "acetal"
    return next((word for word in ("polycarbonate", "ABS") if word.casefold() in words), "")


def _size(place: Place | None, name: str) -> str:
    value = place.sizes.get(name, "") if place is not None else ""
    return value if isinstance(value, str) else f"{value:g}"
