"""A place too warm for any pack."""

from __future__ import annotations

from snugfast.usecases.packs.tables import pack_tables

FIND_A_COOL_PLACE = "Find a cool, dry place for it, out of the sun and not in a car."


def too_warm_a_place(shelf_degC: float | None) -> str:
    """Why a pack must not stand there; empty when it may, or when nobody said how warm it is."""
    hottest_degC = pack_tables().limits.warmth.hottest_shelf_degC
    if shelf_degC is None or shelf_degC <= hottest_degC:
        return ""
    return f"No pack is stored at {shelf_degC:g} °C: above {hottest_degC:.0f} °C it can puff or catch fire."
