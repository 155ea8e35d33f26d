"""Sizes in texts: a step names {wheel_nut.wrench_mm}, and the build of the car says which wrench that is.

Several sizes that belong together stand in one pair of braces: {wheel_bearing.bore_mm×outer_mm×width_mm}.
"""

from __future__ import annotations

import re
from collections.abc import Iterable

from snugfast.core.vocabulary import in_sentence
from snugfast.facts.model import Access, Build, Check, ExtraWork, Treatment

UNKNOWN = "___"
"""What stands on a sheet for a size the build does not say."""

_TIMES = "×"
_PLACEHOLDER = re.compile(r"\{([^{}]*)\}(?P<unit> (?:mm²/s|N/mm|mm|V|A)\b)?")


def placeholders(text: str) -> tuple[tuple[str, str], ...]:
    """The (role, size) pairs a text names, in order. What has no full stop comes out as (word, "")."""
    return tuple(
        (role, size)
        for match in _PLACEHOLDER.finditer(text)
        for role, sizes in [_parted(match[1])]
        for size in sizes
    )


def _parted(name: str) -> tuple[str, list[str]]:
    role, _, sizes = name.partition(".")
    return role, sizes.split(_TIMES)


def braces_pair(text: str) -> bool:
    """Whether each opening brace is closed again."""
    return not set("{}") & set(_PLACEHOLDER.sub("", text))


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
        *(text for words in check.for_chemistry.values() for text in (*words.steps, words.good, words.bad)),
    )


def access_texts(access: Access) -> tuple[str, ...]:
    """All texts of access work that may name sizes."""
    return access.steps


def treatment_texts(treatment: Treatment) -> tuple[str, ...]:
    """All texts of a treatment that may name sizes."""
    return (*(step.text for step in treatment.steps), *treatment.tools)


def extra_texts(extra: ExtraWork) -> tuple[str, ...]:
    """All texts of extra work that may name sizes."""
    return extra.steps


def unresolved(text: str, build: Build) -> tuple[str, ...]:
    """The placeholders of a text that no place of the build answers."""
    return tuple(
        f"{role}.{size}"
        for role, size in placeholders(text)
        if not any(size in place.sizes for place in build.of_role(role))
    )


def filled(text: str, build: Build) -> str:
    """The text with the sizes of this build.

    Where the places of a role differ, each value is given with its unit and the name of its place. A size
    the build does not say becomes a blank to be filled in with a pencil, so that a sheet never prints braces.
    """
    return _PLACEHOLDER.sub(lambda match: _answer(match[1], match["unit"] or "", build), text)


def _answer(name: str, unit: str, build: Build) -> str:
    role, sizes = _parted(name)
    where: dict[str, list[str]] = {}
    for place in build.of_role(role):
        if all(size in place.sizes for size in sizes):
            value = f" {_TIMES} ".join(size_text(place.sizes[size]) for size in sizes)
            where.setdefault(value, []).append(in_sentence(place.name))
    if len(where) < 2:
        return next(iter(where), UNKNOWN) + unit
    return _joined(f"{value}{unit} ({_joined(names)})" for value, names in where.items())


def _joined(words: Iterable[str]) -> str:
    *most, last = words
    return f"{', '.join(most)} and {last}" if most else last


def size_text(value: str | float) -> str:
    """A size as it is written on a sheet: 7, not 7.0."""
    return value if isinstance(value, str) else f"{value:g}"
