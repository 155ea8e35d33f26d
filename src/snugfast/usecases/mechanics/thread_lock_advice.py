"""Thread-lock at a joint: whether, how long it cures, and where it must not go."""

from __future__ import annotations

from dataclasses import dataclass

from snugfast.core.figures import Figure, Origin
from snugfast.usecases.mechanics.joint_parts import JointParts, attacked_by_thread_lock
from snugfast.usecases.mechanics.tables import from_table, text, the_row

CAUTIONS = ("thread-lock", "thread-lock-plastic")
FULL_CURE_h = 24.0


@dataclass(frozen=True, slots=True)
class Statement:
    """One sentence of the tables with where it comes from."""

    text: str
    origin: Origin


@dataclass(frozen=True, slots=True)
class ThreadLockAdvice:
    """Whether thread-lock goes on, and what to mind. `cure` is None where none goes on."""

    use: bool
    sentence: str
    cure: Figure | None
    mind: tuple[Statement, ...]


def advise_thread_lock(parts: JointParts) -> ThreadLockAdvice:
    """Medium strength on metal into metal; never on plastic, an insert nut, or near plastics it cracks."""
    if parts.is_turnbuckle:
        return _none("None: the ball ends are plastic and the rod must turn.", "plastics")
    if parts.has_nylon_insert:
        return _none("None: the nylon of the nut is the lock.", "nuts", "insert nuts")
    if parts.is_wheel_nut:
        return _none(
            "None: it runs on to the plastic of the wheel. Look at the nuts before each run.", "plastics"
        )
    if "nut" in parts.place.into:
        return _none("None: the nut behind it is the lock.", "nuts")
    if parts.into_plastic:
        return _none("None: the screw goes into plastic.", "plastics", "plastic threads")
    if "metal" not in parts.place.into:
        return _none("None, unless you see that metal goes into metal: the build does not say.", "where")
    if attacked_by_thread_lock(parts.under_head):
        return _none(f"None: it would crack the {parts.under_head} beside it.", "plastics")
    cure = from_table("thread_lock", the_row("thread_lock", topic="cure"))
    return ThreadLockAdvice(
        use=True,
        sentence="Medium strength, one drop, both threads degreased.",
        cure=Figure(FULL_CURE_h, "h", origins=(cure,)),
        mind=_statements("where", "cure", "friction", "heat", "plastics"),
    )


def _none(sentence: str, *topics: str) -> ThreadLockAdvice:
    return ThreadLockAdvice(use=False, sentence=sentence, cure=None, mind=_statements(*topics))


def _statements(*topics: str) -> tuple[Statement, ...]:
    rows = (the_row("thread_lock", topic=topic) for topic in topics)
    return tuple(Statement(text(row, "statement"), from_table("thread_lock", row)) for row in rows)
