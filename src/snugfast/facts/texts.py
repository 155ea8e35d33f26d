"""Sizes in texts: a step names {wheel_nut.wrench_mm}, and the build of the car says which wrench that is."""

from __future__ import annotations

import re
from collections.abc import Iterable

from snugfast.facts.model import Access, Build, Check, Place

UNKNOWN = "___"
"""What stands on a sheet for a size the build does not say."""

_PLACEHOLDER = re.compile(r"\{([^{}]*)\}")


def placeholders(text: str) -> tuple[tuple[str, str], ...]:
    """The (role, size) pairs a text names, in order. What has no full stop comes out as (word, "")."""
    pairs = (found.partition(".") for found in _PLACEHOLDER.findall(text))
    return tuple((role, size) for role, _, size in pairs)


def check_texts(check: Check) -> tuple[str, ...]:
    """All texts of a check that may name sizes."""
    return (
        *check.steps,
        *check.tools,
        check.good,
        check.bad,
        check.how_tight,
        check.thread_lock,
        check.wait_for,
        check.harm_text,
    )


def access_texts(access: Access) -> tuple[str, ...]:
    """All texts of access work that may name sizes."""
    return access.steps


def unresolved(text: str, build: Build) -> tuple[str, ...]:
    """The placeholders of a text that no place of the build answers."""
    return tuple(
        f"{role}.{size}"
        for role, size in placeholders(text)
        if not any(size in place.sizes for place in build.of_role(role))
    )


def filled(text: str, build: Build) -> str:
    """The text with the sizes of this build.

    Where the places of a role differ, each value is given with the name of its place. A size the build does
    not say becomes a blank to be filled in with a pencil, so that a sheet never prints braces.
    """
    return _PLACEHOLDER.sub(lambda match: _answer(match.group(1), build), text)


def _answer(name: str, build: Build) -> str:
    role, _, size = name.partition(".")
    places = [place for place in build.of_role(role) if size in place.sizes]
    values = {size_text(place.sizes[size]): place for place in places}
    if not values:
        return UNKNOWN
    if len(values) == 1:
        return next(iter(values))
    return _joined(f"{value} ({_names(value, size, places)})" for value in values)


def _names(value: str, size: str, places: list[Place]) -> str:
    like = (place.name for place in places if size_text(place.sizes[size]) == value)
    return _joined(name[:1].lower() + name[1:] for name in like)


def _joined(words: Iterable[str]) -> str:
    *most, last = words
    return f"{', '.join(most)} and {last}" if most else last


def size_text(value: str | float) -> str:
    """A size as it is written on a sheet: 7, not 7.0."""
    return value if isinstance(value, str) else f"{value:g}"
