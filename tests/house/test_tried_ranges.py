"""A range that a formula was tried in acts: outside it the answer carries a caution, on every way to it."""

from __future__ import annotations

import importlib
import inspect
import pkgutil
from dataclasses import fields, is_dataclass
from typing import get_type_hints

import pytest

from snugfast.core.marks import Span, formula, watching
from snugfast.usecases.packs.charge import plan_charge
from snugfast.usecases.packs.fit_car import fit_of
from snugfast.usecases.packs.store import store_advice
from snugfast.usecases.shared.citing import figure


@formula(source="common-practice", where="a test", temperature_K=Span(273.15, 313.15), load_N=Span(0.0, 10.0))
def _tried(*, temperature_K: float, load_N: float) -> float:
    return temperature_K * load_N


def _deep(temperature_K: float) -> float:
    return sum(_tried(temperature_K=temperature_K + step, load_N=5.0) for step in (0.0, 1.0, 2.0))


def test_a_span_left_however_deep_is_noted_once_with_the_farthest_value() -> None:
    with watching() as left:
        _deep(323.15)
    assert left.sentences == (
        "Less sure than it looks: temperature 52 °C; this was tried for 0 to 40 °C.",
    ) or (
        left.sentences == ("Less sure than it looks: temperature 52 °C; this was tried for 0 °C to 40 °C.",)
    )


def test_inside_its_span_nothing_is_said_and_nobody_need_watch() -> None:
    with watching() as left:
        assert _deep(293.15) > 0.0
    assert not left.sentences
    assert _deep(500.0) > 0.0


def test_one_door_works_out_cites_and_cautions() -> None:
    found = figure(_tried, "W", temperature_K=293.15, load_N=12.0)
    assert found.value == pytest.approx(293.15 * 12.0)
    assert [origin.source for origin in found.origins] == ["common-practice"]
    assert "load" in found.cautions[0]


def test_a_watcher_inside_another_hides_nothing_from_it() -> None:
    with watching() as outer:
        figure(_tried, "W", temperature_K=293.15, load_N=12.0)
    assert outer.sentences


def test_no_question_of_mechanics_goes_round_it() -> None:
    """Each question whose answer has cautions and sources watches the ranges its sums were tried in."""
    package = importlib.import_module("snugfast.usecases.mechanics")
    met, missed = [], []
    for info in pkgutil.iter_modules(package.__path__, f"{package.__name__}."):
        module = importlib.import_module(info.name)
        for name, question in inspect.getmembers(module, inspect.isfunction):
            if question.__module__ != info.name or name.startswith("_"):
                continue
            gives = get_type_hints(question).get("return")
            names = {each.name for each in fields(gives)} if is_dataclass(gives) else set()
            if {"cautions", "sources"} <= names:
                met.append(name)
                if not getattr(question, "watches_spans", False):
                    missed.append(f"{info.name}.{name}")
    assert met, "no question was found"
    assert not missed, "put @cautioned on: " + ", ".join(missed)


@pytest.mark.parametrize("question", [plan_charge, store_advice, fit_of])
def test_the_questions_of_a_pack_watch_too(question: object) -> None:
    assert getattr(question, "watches_spans", False)
