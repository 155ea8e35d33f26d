"""What a pack is made of, in the words it may have been booked with."""

from __future__ import annotations

from snugfast.physics.packs.chemistry import Chemistry

ALSO_CALLED = {
    "lipo": Chemistry.LITHIUM_POLYMER,
    "lithium polymer": Chemistry.LITHIUM_POLYMER,
    "high-voltage lithium-polymer": Chemistry.HIGH_VOLTAGE_LITHIUM,
    "high voltage lithium": Chemistry.HIGH_VOLTAGE_LITHIUM,
    "li-po": Chemistry.LITHIUM_POLYMER,
    "lihv": Chemistry.HIGH_VOLTAGE_LITHIUM,
    "lipo hv": Chemistry.HIGH_VOLTAGE_LITHIUM,
    "hv lipo": Chemistry.HIGH_VOLTAGE_LITHIUM,
    "life": Chemistry.LITHIUM_IRON_PHOSPHATE,
    "lifepo": Chemistry.LITHIUM_IRON_PHOSPHATE,
    "lifepo4": Chemistry.LITHIUM_IRON_PHOSPHATE,
    "lfp": Chemistry.LITHIUM_IRON_PHOSPHATE,
    "nimh": Chemistry.NICKEL_METAL_HYDRIDE,
    "ni-mh": Chemistry.NICKEL_METAL_HYDRIDE,
    "nickel metal hydride": Chemistry.NICKEL_METAL_HYDRIDE,
}


def chemistry_of(text: str) -> Chemistry | None:
    """The chemistry a pack was booked with; None for a word that no table knows."""
    word = text.strip().casefold()
    by_value = {chemistry.value: chemistry for chemistry in Chemistry}
    return by_value.get(word) or ALSO_CALLED.get(word)


def shown(text: str) -> str:
    """The chemistry a pack was booked with, in the word of the trade."""
    known = chemistry_of(text)
    return known.short if known else text


def taken_as(text: str) -> Chemistry:
    """The chemistry whose ways to fail are looked for; what no table knows is taken for lithium."""
    return chemistry_of(text) or Chemistry.LITHIUM_POLYMER
