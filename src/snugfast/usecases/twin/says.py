"""What the twin says of a build on each kind of ground: how warm its parts get, and what loads they carry.

Only ratios of these numbers count (docs/decisions/0011). They are rounded, so that machines whose compiled
twin differs in the last digits tell one story, and a story keeps them, so that it need not drive them again.
"""

from __future__ import annotations

import json
from collections.abc import Iterable, Mapping, Sequence
from functools import cache
from hashlib import sha256
from itertools import pairwise
from pathlib import Path
from typing import TYPE_CHECKING, Any

from snugfast import facts
from snugfast.core.errors import SnugfastError
from snugfast.facts.model import Build
from snugfast.records.entries import Ground

if TYPE_CHECKING:
    from snugfast.physics.study.gearing import Question
    from snugfast.physics.study.warming import Warming
    from snugfast.usecases.twin.of_car import Twin

TwinSays = Mapping[str, Mapping[str, tuple[float, ...]]]
"""By ground, by what is asked: values at `MINUTES` for what warms up, and one value for what does not."""

MINUTES = (0, 1, 2, 3, 4, 6, 8, 10, 12, 15, 20, 25, 30, 45)
CAN, CONTROLLER, PLUG, TEETH, AXLES = "motor can", "controller", "plug", "teeth", "axles"
AIR_degC = 20.0  # that the twin is driven in; rises over the air hardly depend on it
FORM = 2  # goes up when the twin's laws change so that it says something else of a build
TABLES = ("powertrain", "packs")  # that it rests on

MOST_SAID_ON = 8
_said_on: dict[tuple[str, str, tuple[int, ...]], list[TwinSays]] = {}  # by builds, ground and minutes
_said: dict[str, TwinSays | None] = {}  # by the mark of a build


def mark_of_build(document: Mapping[str, Any]) -> str:
    """The same for equal builds."""
    return sha256(json.dumps(document, sort_keys=True).encode()).hexdigest()[:16]


@cache
def mark_of_twin() -> str:
    """Changes when a table that the twin rests on changes, and with it what it says."""
    files = sorted(file for name in TABLES for file in (Path(facts.__path__[0]) / name).iterdir())
    return sha256(str(FORM).encode() + b"".join(file.read_bytes() for file in files)).hexdigest()[:16]


def twin_says(mark: str, build: Build) -> TwinSays | None:
    """What the twin says of a build with the pack it is made for; None where there can be no twin of it.

    `mark` is the build's own, from `mark_of_build`. Driving the twin takes a third of a second, and a second
    more when it has to be loaded first; a build that was driven before, or recalled, takes none.
    """
    if mark not in _said:
        _said[mark] = _driven(build)
    return _said[mark]


def written_down(builds: Iterable[str], before: bytes = b"{}") -> bytes:
    """What was said of these builds, by their marks, with what was written down before, to be recalled."""
    said = {mark: _said[mark] for mark in builds if mark in _said}
    return json.dumps({**json.loads(before), **said}, sort_keys=True).encode()


def recall(written: bytes) -> None:
    """Take in what `written_down` wrote."""
    for mark, said in json.loads(written).items():
        _said.setdefault(mark, says_from(said))


def says_from(kept: Any) -> TwinSays | None:
    """What JSON kept, as the twin said it."""
    if kept is None:
        return None
    return {ground: {what: tuple(values) for what, values in said.items()} for ground, said in kept.items()}


def at(says: TwinSays, ground: str, what: str, minutes: float) -> float:
    """One number of the twin after so many minutes; what lies between two minutes is drawn straight."""
    values = says[ground][what]
    if len(values) == 1:
        return values[0]
    for (early, low), (late, high) in pairwise(zip(MINUTES, values, strict=False)):
        if minutes <= late:
            return low + (high - low) * (minutes - early) / (late - early)
    return values[-1]


def says_on(builds: Sequence[Build], ground: str, up_to_min: float) -> list[TwinSays]:
    """What the twin says of several builds on one ground, driven side by side for runs of up to so long.

    Raises BadInput or NotKnown for a build that lacks a size.
    """
    from snugfast.physics.study.warming import warming

    minutes = MINUTES[: next((n for n, m in enumerate(MINUTES) if m >= up_to_min), len(MINUTES)) + 1]
    asked = (repr(builds), ground, minutes)
    if asked in _said_on:
        return _said_on[asked]
    twins = [_twin(build) for build in builds]
    warm = warming([_question(twin, ground) for twin in twins], minutes)
    told: list[TwinSays] = [{ground: _told(twin, one)} for twin, one in zip(twins, warm, strict=True)]
    _said_on[asked] = told
    while len(_said_on) > MOST_SAID_ON:
        _said_on.pop(next(iter(_said_on)), None)
    return told


def _driven(build: Build) -> TwinSays | None:
    """Drive the build on every ground, in the style of that ground."""
    from snugfast.physics.study.warming import warming

    try:
        twin = _twin(build)
    except SnugfastError:
        return None
    grounds = [ground.value for ground in Ground]
    warm = warming([_question(twin, ground) for ground in grounds], MINUTES)
    return {ground: _told(twin, one) for ground, one in zip(grounds, warm, strict=True)}


def _twin(build: Build) -> Twin:
    from snugfast.usecases.twin.of_car import pack_of_build, twin_of

    return twin_of(build, pack_of_build(build))


def _question(twin: Twin, ground: str) -> Question:
    """The style that goes with the ground; where nobody said, the usual style of such a car on its ground."""
    from snugfast.usecases.twin import tables

    style = tables.style_on(Ground(ground), twin.kind.style) or tables.style(twin.kind.style)
    here = style.grounds[0] if ground == Ground.UNKNOWN.value else ground
    return twin.driven(style, ground=here, air_degC=AIR_degC)


def _told(twin: Twin, warm: Warming) -> Mapping[str, tuple[float, ...]]:
    torque_Nm = warm.rms_motor_A * twin.car.motor.constant_Vs
    pinion_radius_m = twin.module_m * twin.pair.pinion_teeth / 2.0
    return {
        CAN: tuple(round(rise, 1) for rise in warm.can_K),
        CONTROLLER: tuple(round(rise, 1) for rise in warm.controller_K),
        PLUG: (_digits(warm.rms_pack_A**2),),
        TEETH: (_digits(torque_Nm / pinion_radius_m),),
        AXLES: (_digits(torque_Nm * twin.car.final_drive),),
    }


def _digits(value: float) -> float:
    """Four figures."""
    return float(f"{value:.4g}")
