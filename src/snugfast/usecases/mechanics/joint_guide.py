"""One screwed joint of a car: thread, key, how tight and what gives first, thread-lock, nuts, set screws."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from snugfast.core.errors import BadInput, NotKnown
from snugfast.core.figures import Figure
from snugfast.core.units import Kind, read_quantity
from snugfast.core.ways_out import Action, WayOut
from snugfast.facts.model import Build, Check, Place
from snugfast.facts.texts import filled
from snugfast.physics.joints.fasteners import NO_FIGURE
from snugfast.physics.joints.lock_nuts import NutVerdict, judge_lock_nut
from snugfast.usecases.mechanics.joint_parts import FINE, JointParts, JointSaid, joint_parts
from snugfast.usecases.mechanics.joint_torque import Reckoning, insert_drag
from snugfast.usecases.mechanics.set_screw_guide import SetScrewJoint, set_screw_joint
from snugfast.usecases.mechanics.tables import from_table, the_row
from snugfast.usecases.mechanics.thread_lock_advice import CAUTIONS as LOCK_CAUTIONS
from snugfast.usecases.mechanics.thread_lock_advice import ThreadLockAdvice, advise_thread_lock
from snugfast.usecases.shared.applicability import car_checks
from snugfast.usecases.shared.cautions import Caution, cautioned, cautions_of
from snugfast.usecases.shared.citing import Cited, cited
from snugfast.usecases.shared.lookup import car_and_build
from snugfast.usecases.shared.typed_words import find_place, nearest_way_out
from snugfast.usecases.shared.workshop import Workshop

WHEEL_NUT = (
    "Firm: the wheel sits hard on its hex and still spins freely with the nut tight.",
    "Overtightened it squeezes the hex, presses the bearings together until they drag, and strips the nut.",
    "A flanged, serrated nut with a nylon insert holds a wheel best.",
)
SHOCK_END = (
    "Whatever the figure: the shock must swing freely on its mount afterwards. One that binds was done up "
    "too tight, or lacks its spacer."
)


@dataclass(frozen=True, slots=True)
class LockNut:
    """A nylon-insert nut: its drag, and whether it may be used again."""

    drag: Figure | None  # from the fifth time off to new
    sentence: str
    verdict: NutVerdict | None


@dataclass(frozen=True, slots=True)
class JointGuide:
    """Everything about one joint. `torque` is None where no figure is known; `tight` then says what is."""

    car: str
    place: str
    name: str
    part: str
    count: int
    thread: str
    turning: str
    head: str
    tool: str
    material: str
    into: str
    under_head: str
    engagement: Figure | None
    torque: Figure | None
    never_above: Figure | None
    pull: Figure | None
    gives_first: str
    unknown: tuple[str, ...]
    tight: str
    in_words: tuple[str, ...]
    thread_lock: ThreadLockAdvice
    lock_nut: LockNut | None
    hold: SetScrewJoint | None
    checks: tuple[tuple[str, str], ...]
    cautions: tuple[Caution, ...]
    sources: tuple[Cited, ...] = ()


@cautioned
def joint_guide(workshop: Workshop, said: JointSaid) -> JointGuide:
    """How one joint of a car is done up, and whether it can hold.

    Raises NotKnown for a place that is no joint, BadInput for words that are no sizes.
    """
    car, build = car_and_build(workshop, said.car)
    place = _place(said.place, build)
    parts = joint_parts(build, place, seat=said.seat)
    reckoning = Reckoning(parts, said)
    limit = reckoning.limit()
    lock = advise_thread_lock(parts)
    checks = [check for check in car_checks(workshop.facts, build) if place.role in check.roles]
    guide = JointGuide(
        car=car.name,
        place=place.key,
        name=place.name,
        part=place.part,
        count=max(1, len(place.spots)),
        thread=parts.thread,
        turning=_turning(parts),
        head=parts.head,
        tool=parts.tool,
        material=place.material,
        into=place.into,
        under_head=parts.under_head,
        engagement=reckoning.engagement if limit is not None else None,
        torque=reckoning.torque(limit),
        never_above=reckoning.never_above(limit),
        pull=reckoning.pull(limit),
        gives_first=limit.gives_first.value if limit and limit.gives_first else "",
        unknown=tuple(what.value for what in limit.unknown) if limit else (),
        tight=_tight(reckoning.tight(limit), checks, build, place),
        in_words=_in_words(parts),
        thread_lock=lock,
        lock_nut=_lock_nut(parts, said),
        hold=set_screw_joint(build, parts, said.set_screw) if parts.is_set_screw else None,
        checks=tuple((check.key, check.name) for check in checks),
        cautions=cautions_of(workshop.facts, _cautions(parts, lock)),
    )
    return replace(guide, sources=cited(workshop.facts, guide))


def joints_of(build: Build) -> tuple[Place, ...]:
    """The places of a build that are screwed joints, in its order."""
    return tuple(place for place in build.places if "thread" in place.sizes and "head" in place.sizes)


def _place(words: str, build: Build) -> Place:
    """The place a person means; a role will do where it has one place only."""
    by_role = build.of_role(words.strip().replace(" ", "_"))
    if len(by_role) == 1:
        return by_role[0]
    try:
        return find_place(words, build)
    except BadInput as unknown:
        keys = [place.key for place in joints_of(build)]
        near = nearest_way_out(words.strip().replace(" ", "_"), keys)
        raise NotKnown(
            unknown.sentence, near or unknown.way_out or f"Joints here: {', '.join(keys)}."
        ) from None


def _tight(said: str, checks: Sequence[Check], build: Build, place: Place) -> str:
    """One answer: where no figure is known, what the check of this place says a hand should feel."""
    feel = (check.how_tight for check in checks if check.how_tight and check.roles[0] == place.role)
    felt = next(feel, "")
    return filled(felt, build) if felt and said == NO_FIGURE else said


def _turning(parts: JointParts) -> str:
    if parts.is_turnbuckle:
        return "One end has a left-hand thread: turning the middle one way lengthens, the other way shortens."
    fine = " Fine thread: an ordinary nut of this size does not fit." if FINE in parts.thread else ""
    return f"{parts.hand.sentence}{fine}"


def _in_words(parts: JointParts) -> tuple[str, ...]:
    role = parts.place.role
    if role == "wheel_nut":
        return WHEEL_NUT
    if role == "shock_end":
        return (SHOCK_END,)
    if parts.into_plastic:
        return (
            "Turn it backwards until it drops into its old thread, then all the way in.",
            "A screw that keeps turning has stripped the plastic: a longer screw, or a new part.",
        )
    return ()


def _lock_nut(parts: JointParts, said: JointSaid) -> LockNut | None:
    """What is known of a nylon-insert nut, and the verdict on this one where its drag was felt."""
    if not parts.has_nylon_insert:
        if said.drag.strip():
            raise BadInput(
                f"{parts.place.name}: this is no nylon-insert nut.",
                WayOut("Leave its drag out", Action.LEAVE_DRAG_OUT),
            )
        return None
    drag = insert_drag(parts)
    if drag is None:
        return LockNut(None, "Turns on by the fingers: fit a new nut. No drag figure is known here.", None)
    row = the_row("insert_nut_drag", size=parts.thread)
    figure = Figure(
        drag.first_off_least_Nm,
        "N·m",
        low=drag.fifth_off_least_Nm,
        high=drag.first_on_most_Nm,
        origins=(from_table("insert_nut_drag", row),),
    )
    sentence = (
        f"Used again it locks less each time. Fit a new one when it drags with less than "
        f"{drag.first_off_least_Nm:.2g} N·m after the first time off, "
        f"{drag.fifth_off_least_Nm:.2g} after the fifth, or turns by the fingers."
    )
    verdict = None
    if said.drag.strip():
        felt_Nm = read_quantity(said.drag, Kind.TORQUE, default_unit="Nm", where="drag")
        verdict = judge_lock_nut(drag_Nm=felt_Nm, times_off=_times(said.times_off), table=drag)
    return LockNut(figure, sentence, verdict)


def _times(words: str) -> int:
    if not words.strip():
        return 1
    if not words.strip().isdigit():
        raise BadInput(f"“{words}” is no count of times off.", "Write a whole number like 3.")
    return int(words)


def _cautions(parts: JointParts, lock: ThreadLockAdvice) -> tuple[str, ...]:
    keys = ["power-off", "local-rules"]
    if parts.into_plastic:
        keys.append("plastic-threads")
    if lock.use:
        keys += [*LOCK_CAUTIONS, "solvents"]
    return tuple(keys)
