"""How tight a screw may be at its place, and which part of the joint gives first.

Four things can give: the screw, the thread in the softer part, the plastic under the head, the key or its
socket. The smallest rules. Where one of them is not known there is no figure at all, only the old rule of the
trade; a guessed torque strips more threads than a careful hand.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from enum import Enum

from snugfast.core.errors import ImpossibleInput
from snugfast.physics.joints.thread_torque import (
    REUSABLE_SHARE,
    head_friction_diameter,
    internal_thread_shear_area,
    proof_load,
    reusable_preload,
    stress_area,
    stripping_force,
    thread_pitch_diameter,
    tightening_torque,
)
from snugfast.physics.validation import require_positive

# Share of the stripping force that is used; 50 to 70 % is the usual window, from memory.
STRIPPING_SHARE = 0.6
NO_FIGURE = "Stop when the head seats, then a touch."


class Hand(Enum):
    """Which way a thread winds. A left-hand thread undone the usual way is tightened until it breaks."""

    RIGHT = "clockwise"
    LEFT = "anticlockwise"

    @property
    def sentence(self) -> str:
        """Which way to turn, seen from the head."""
        other = Hand.LEFT if self is Hand.RIGHT else Hand.RIGHT
        note = " This is a left-hand thread." if self is Hand.LEFT else ""
        return f"Turn {self.value} to tighten, {other.value} to undo.{note}"


class GivesFirst(Enum):
    """What limits a joint."""

    SCREW = "the screw"
    THREAD = "the thread in the softer part"
    HEAD = "the material under the head"
    KEY = "the key or its socket"


@dataclass(frozen=True, slots=True)
class Friction:
    """Friction in the thread and under the head: least, usual and most. Oil and grease lower it.

    `state` is what is known of the thread, like “with thread-lock”; empty where it may be dry or oiled.
    """

    low: float
    usual: float
    high: float
    state: str = ""

    def __post_init__(self) -> None:
        if not 0.0 < self.low <= self.usual <= self.high:
            raise ImpossibleInput(
                f"Friction from {self.low:g} over {self.usual:g} to {self.high:g} does not rise.",
                "Give the least, the usual and the most, all above zero.",
            )


@dataclass(frozen=True, slots=True)
class Screw:
    """A screw: outside diameter, pitch, and proof stress (None when its strength class is not known)."""

    diameter_m: float
    pitch_m: float
    proof_stress_Pa: float | None


@dataclass(frozen=True, slots=True)
class ThreadedPart:
    """The part the screw is screwed into: length of thread in use, shear strength (None when not known)."""

    engagement_m: float
    shear_strength_Pa: float | None


@dataclass(frozen=True, slots=True)
class Seat:
    """What the flat head rests on: head, hole, and the lasting pressure it bears (None when not known)."""

    head_diameter_m: float
    hole_diameter_m: float
    allowable_pressure_Pa: float | None

    @property
    def area_m2(self) -> float:
        """The ring under the head. Raises ImpossibleInput when the head falls through its hole."""
        require_positive(head_diameter_m=self.head_diameter_m, hole_diameter_m=self.hole_diameter_m)
        if self.head_diameter_m <= self.hole_diameter_m:
            raise ImpossibleInput("The head is no larger than its hole.", "Add a washer, or measure again.")
        return math.pi / 4.0 * (self.head_diameter_m**2 - self.hole_diameter_m**2)


@dataclass(frozen=True, slots=True)
class Drive:
    """What turns the screw: the torque its key or its socket bears (None when not known)."""

    torque_Nm: float | None


@dataclass(frozen=True, slots=True)
class JointLimit:
    """How tight, with a band, and what gives first.

    `torque_Nm` is None when the strength of some part is not known; `never_above_Nm` then still bounds it by
    what is known. `low_Nm` belongs to the least friction, `high_Nm` to the most: the same pull.
    `never_above_Nm` is where the slipperiest thread the state allows would bring the screw to its proof load
    or strip the part, or the key to its end; the advised torque lies at or below it.
    """

    torque_Nm: float | None
    low_Nm: float | None
    high_Nm: float | None
    preload_N: float | None
    gives_first: GivesFirst | None
    never_above_Nm: float | None
    unknown: tuple[GivesFirst, ...]
    sentence: str


def joint_limit(
    *,
    screw: Screw,
    seat: Seat,
    friction: Friction,
    threaded: ThreadedPart | None = None,
    drive: Drive | None = None,
) -> JointLimit:
    """The tightening torque of one place: the smallest of what screw, thread, seat and key allow.

    Leave `threaded` out for a nut of the screw's own class, which is made to outlast the screw, and `drive`
    out where the key cannot be the weakest. The screw is pulled to three quarters of its proof load, the
    softer thread to 60 % of stripping, the seat to its lasting pressure. Torques in N·m, forces in N.
    """
    allowed = _allowed(screw, seat, threaded, drive)
    unknown = tuple(what for what, at in allowed.items() if at is None)

    def smallest(mu: float) -> tuple[float, GivesFirst]:
        lever_m = torque_per_pull(screw=screw, seat=seat, mu=mu)
        return min(
            ((at.torque_Nm(lever_m), what) for what, at in allowed.items() if at is not None),
            key=lambda pair: pair[0],
        )

    if unknown:
        bound_Nm = smallest(friction.low)[0] if len(unknown) < len(allowed) else None
        return JointLimit(None, None, None, None, None, bound_Nm, unknown, NO_FIGURE)
    torque_Nm, gives_first = smallest(friction.usual)
    never_above_Nm = _breaks_at(
        screw, threaded, drive, torque_per_pull(screw=screw, seat=seat, mu=friction.low)
    )
    torque_Nm = min(torque_Nm, never_above_Nm)
    if gives_first is GivesFirst.HEAD:  # it yields slowly and by the usual pull, and breaks nothing at once
        never_above_Nm = torque_Nm
    low_Nm, high_Nm = smallest(friction.low)[0], smallest(friction.high)[0]
    return JointLimit(
        torque_Nm=torque_Nm,
        low_Nm=low_Nm,
        high_Nm=high_Nm,
        preload_N=torque_Nm / torque_per_pull(screw=screw, seat=seat, mu=friction.usual),
        gives_first=gives_first,
        never_above_Nm=never_above_Nm,
        unknown=(),
        sentence=f"Tighten to {torque_Nm:.2g} N·m{f' {friction.state}' if friction.state else ''}; "
        f"{gives_first.value} gives first.",
    )


def _breaks_at(screw: Screw, threaded: ThreadedPart | None, drive: Drive | None, lever_m: float) -> float:
    """The torque at which the screw reaches its proof load, the part strips, or the key gives up."""
    breaks = []
    if (pull := _screw(screw)) is not None:
        breaks.append(pull.pull_N / REUSABLE_SHARE * lever_m)
    if threaded is not None and (strips := _thread(screw, threaded)) is not None:
        breaks.append(strips.pull_N / STRIPPING_SHARE * lever_m)
    if drive is not None and drive.torque_Nm is not None:
        breaks.append(drive.torque_Nm)
    return min(breaks)


@dataclass(frozen=True, slots=True)
class _Allowed:
    """What one part bears: a pull, or a torque whatever the pull."""

    pull_N: float = math.inf
    twist_Nm: float = math.inf

    def torque_Nm(self, lever_m: float) -> float:
        return min(self.pull_N * lever_m, self.twist_Nm)


def _allowed(
    screw: Screw, seat: Seat, threaded: ThreadedPart | None, drive: Drive | None
) -> dict[GivesFirst, _Allowed | None]:
    """What each part that can give bears; None where it is not known."""
    allowed = {GivesFirst.SCREW: _screw(screw), GivesFirst.HEAD: _seat(seat)}
    if threaded is not None:
        allowed[GivesFirst.THREAD] = _thread(screw, threaded)
    if drive is not None:
        allowed[GivesFirst.KEY] = None if drive.torque_Nm is None else _Allowed(twist_Nm=drive.torque_Nm)
    return allowed


def _screw(screw: Screw) -> _Allowed | None:
    if screw.proof_stress_Pa is None:
        return None
    area_m2 = stress_area(diameter_m=screw.diameter_m, pitch_m=screw.pitch_m)
    proof_N = proof_load(proof_stress_Pa=screw.proof_stress_Pa, stress_area_m2=area_m2)
    return _Allowed(pull_N=reusable_preload(proof_load_N=proof_N))


def _seat(seat: Seat) -> _Allowed | None:
    if seat.allowable_pressure_Pa is None:
        return None
    return _Allowed(pull_N=seat.allowable_pressure_Pa * seat.area_m2)


def _thread(screw: Screw, part: ThreadedPart) -> _Allowed | None:
    if part.shear_strength_Pa is None:
        return None
    area_m2 = internal_thread_shear_area(
        diameter_m=screw.diameter_m, pitch_m=screw.pitch_m, engagement_m=part.engagement_m
    )
    strips_N = stripping_force(shear_area_m2=area_m2, shear_strength_Pa=part.shear_strength_Pa)
    return _Allowed(pull_N=STRIPPING_SHARE * strips_N)


def torque_per_pull(*, screw: Screw, seat: Seat, mu: float) -> float:
    """How much torque each newton of pull costs at one coefficient of friction. Metres (N·m per N)."""
    return tightening_torque(
        preload_N=1.0,
        pitch_m=screw.pitch_m,
        pitch_diameter_m=thread_pitch_diameter(diameter_m=screw.diameter_m, pitch_m=screw.pitch_m),
        mu_thread=mu,
        head_friction_diameter_m=head_friction_diameter(
            head_diameter_m=seat.head_diameter_m, hole_diameter_m=seat.hole_diameter_m
        ),
        mu_head=mu,
    )


def preload_band(*, screw: Screw, seat: Seat, torque_Nm: float, friction: Friction) -> tuple[float, float]:
    """The least and the most pull that one torque may leave, over the friction it may meet. Newtons."""
    return (
        torque_Nm / torque_per_pull(screw=screw, seat=seat, mu=friction.high),
        torque_Nm / torque_per_pull(screw=screw, seat=seat, mu=friction.low),
    )
