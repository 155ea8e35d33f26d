"""Random requests to every route there is, with the fields its forms have and what nobody should send."""

from __future__ import annotations

import random
import re
from dataclasses import dataclass
from functools import cache
from uuid import UUID

from fastapi import FastAPI
from fastapi.routing import APIRoute
from pydantic import BaseModel

from tests.fuzz.lines import GOOD, NASTY

FORM_NAMES = (
    "then",
    "entry",
    "seen",
    "id",
    "why",
    "change",
    "words",
    "car",
    "pack",
    "minutes",
    "when",
    "ground",
)


@dataclass(frozen=True)
class Asked:
    """One request."""

    method: str
    path: str
    query: dict[str, str]
    form: dict[str, list[str]]


@cache
def routes_of(app: FastAPI) -> tuple[tuple[str, str, tuple[str, ...]], ...]:
    """Method, path, and field names of every page, in the order of the app."""
    found = []
    for route in _every(app.routes):
        names: set[str] = set()
        for parameter in (*route.dependant.body_params, *route.dependant.query_params):
            model = parameter.field_info.annotation
            fields = model.model_fields if isinstance(model, type) and issubclass(model, BaseModel) else {}
            names |= set(fields) or {parameter.name}
        found += [(method, route.path, tuple(sorted(names))) for method in sorted(route.methods or ())]
    return tuple(found)


def _every(routes: object) -> list[APIRoute]:
    """Routes, those of routers that stand in routers too."""
    found: list[APIRoute] = []
    for route in routes:  # type: ignore[attr-defined]
        if isinstance(route, APIRoute):
            found.append(route)
        elif inner := getattr(getattr(route, "original_router", None), "routes", None):
            found += _every(inner)
    return found


def a_request(app: FastAPI, ids: tuple[UUID, ...], rng: random.Random, slow: tuple[str, ...]) -> Asked:
    """One request; paths that hold one of the words in `slow` are passed over."""
    routes = [one for one in routes_of(app) if not any(word in one[1] for word in slow)]
    method, path, names = rng.choice(routes)

    def filled(match: re.Match[str]) -> str:
        if rng.random() < 0.85:
            return str(rng.choice(ids))
        return rng.choice(
            ("x", "0", "..", "%00", "%2e%2e", str(UUID(int=0)), "motor", "wheel_nuts", "Bramble")
        )

    real = re.sub(r"{[^}]*}", filled, path)
    names = names or FORM_NAMES
    several = {
        name: [_value(rng, ids) for _ in range(rng.choice((1, 1, 1, 2)))]
        for name in names
        if rng.random() < 0.7
    }
    if rng.random() < 0.1:
        several[rng.choice(FORM_NAMES)] = [_value(rng, ids)]
    if method == "POST":
        return Asked(method, real, {}, several)
    return Asked(
        method, real, {name: values[0] for name, values in several.items() if rng.random() < 0.6}, {}
    )


def _value(rng: random.Random, ids: tuple[UUID, ...]) -> str:
    chance = rng.random()
    if chance < 0.15:
        return str(rng.choice(ids))
    word = rng.choice(GOOD) if chance < 0.75 else rng.choice(NASTY)
    return word.encode("utf-8", "ignore").decode("utf-8")
