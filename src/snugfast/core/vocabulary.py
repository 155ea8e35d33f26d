"""Words that several floors must mean alike: kinds shared by journal, tables and sums, and keys of rows.

The four neighbours do not see one another, so a word two of them use stands here and is copied nowhere.
"""

from __future__ import annotations

from enum import Enum


class Wet(Enum):
    """How wet a run was, the worst of it."""

    DRY = "dry"
    DAMP = "damp"
    FRESH_WATER = "fresh water"
    MUD = "mud"
    SALT_WATER = "salt water"


class Ground(Enum):
    """What was driven on, most of the time."""

    TARMAC = "tarmac"
    CARPET = "carpet"
    GRASS = "grass"
    DIRT = "dirt"
    GRAVEL = "gravel"
    SAND = "sand"
    ROCKS = "rocks"
    UNKNOWN = "unknown"


class History(Enum):
    """What is known of a car when it joins."""

    NEW = "new from the box"
    SECOND_HAND = "second-hand"
    UNKNOWN = "unknown"


class PackHarm(Enum):
    """What was found on a pack, or happened to it, that takes it out of use."""

    SWOLLEN = "swollen"
    PUNCTURED = "punctured or cut"
    DENTED = "dented or crushed"
    LEAKING = "leaking"
    SMELL = "an odd, sweet smell"
    HISSING = "hissing or smoking"
    HEATING_BY_ITSELF = "warm without having been used"
    DAMAGED_PLUG = "damaged lead or plug"
    OTHER = "other damage"
    IMMERSED = "under water"
    UNDER_WRAP = "water under the wrap"
    IN_PLUG = "water in the plug"
    EJECTED = "thrown out of the car"
    RUN_OVER = "run over"
    OVER_DISCHARGED = "over-discharged"
    OVER_CHARGED = "over-charged"


class Stands(Enum):
    """How a pack stands until it is used again."""

    UNPLUGGED = "unplugged"
    PLUGGED_SWITCH_OFF = "plugged in with the switch off"
    SWITCHED_ON = "left switched on"


class Chemistry(Enum):
    """The kinds of cells a hobby pack is made of."""

    LITHIUM_POLYMER = "lithium-polymer"
    HIGH_VOLTAGE_LITHIUM = "high-voltage lithium"
    LITHIUM_IRON_PHOSPHATE = "lithium iron phosphate"
    NICKEL_METAL_HYDRIDE = "nickel-metal hydride"

    @property
    def short(self) -> str:
        """The word of the trade."""
        return _SHORT[self]


_SHORT = {
    Chemistry.LITHIUM_POLYMER: "LiPo",
    Chemistry.HIGH_VOLTAGE_LITHIUM: "LiHV",
    Chemistry.LITHIUM_IRON_PHOSPHATE: "LiFePO4",
    Chemistry.NICKEL_METAL_HYDRIDE: "NiMH",
}


# Rows of the tables that code relies on by name. A test holds that each is a row.

CHECK_FAIL_SAFE = "fail_safe"
CHECK_RANGE_WALK = "range_walk"
CHECK_PACK_LOOK = "pack_look"
CHECK_PACK_VOLTAGES = "pack_voltages"
CHECK_PACK_RESISTANCE = "pack_resistance"
CHECK_MESH_FEEL = "mesh_feel"
CHECK_STEERING_SWEEP = "steering_sweep"
CHECK_WHEEL_BEARING_FEEL = "wheel_bearing_feel"

MODE_ANTENNA_DAMAGED = "antenna_damaged"
MODE_FAIL_SAFE = "fail_safe_wrong"
MODE_PACK_AGED = "pack_aged"
MODE_PACK_DAMAGED = "pack_damaged"
MODE_PACK_IMBALANCE = "pack_imbalance"
MODE_PACK_LEAD_TORN = "pack_lead_torn"
MODE_PACK_PLUG_HOT = "pack_plug_hot"
MODE_PACK_SHORTING = "pack_shorting"
MODE_STEERING_END = "steering_end_wrong"
MODE_NICKEL_VENTED = "nickel_vented"


def in_sentence(name: str) -> str:
    """A name within a sentence: without its capital, unless it begins with an abbreviation."""
    return name if name[1:2].isupper() else f"{name[:1].lower()}{name[1:]}"
