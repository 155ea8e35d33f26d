"""How fast the shafts of a car turn for one turn of its wheels, as far as its build says."""

from __future__ import annotations

import re

from snugfast.facts.model import Build

_TEETH = re.compile(r"(\d+) teeth")


def tyre_radius(build: Build) -> float | None:
    """Half the outside of the first tyre of the build. Metres."""
    for place in build.of_role("tyre"):
        outer_mm = place.sizes.get("outer_mm")
        if isinstance(outer_mm, float):
            return outer_mm * 0.5e-3
    return None


def mesh_ratio(build: Build) -> float | None:
    """Teeth of the spur gear over teeth of the pinion."""
    pinion, spur = (_teeth(build, role) for role in ("pinion", "spur"))
    return spur / pinion if pinion and spur else None


def diff_ratio(build: Build) -> float | None:
    """Crown gear over bevel pinion, from the words of the build; one where it has no such gears."""
    places = build.of_role("diff_gear")
    if not places:
        return 1.0
    teeth = [float(count) for count in _TEETH.findall(places[0].part)]
    return max(teeth) / min(teeth) if len(teeth) == 2 and min(teeth) > 0 else None


def turns_for_one_of_the_wheel(build: Build, role: str) -> float | None:
    """Turns of a bearing of that role for one turn of the wheels; None for one that only swings."""
    mesh, diff = mesh_ratio(build), diff_ratio(build)
    if role in ("wheel_bearing", "diff_bearing"):
        return 1.0
    if role in ("input_bearing", "centre_bearing"):
        return diff
    if role == "motor_bearing" and mesh is not None and diff is not None:
        return mesh * diff
    return None


def _teeth(build: Build, role: str) -> float | None:
    counts = (place.sizes.get("teeth_count") for place in build.of_role(role))
    return next((count for count in counts if isinstance(count, float)), None)
