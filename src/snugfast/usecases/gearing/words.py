"""The words of a gearing study: the pack, the fit, one tooth up or down, what to know beside the figures."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace

from snugfast.physics.powertrain.runs import Alarm
from snugfast.physics.study.gearing import Rung, one_tooth
from snugfast.usecases.gearing.said import Asked
from snugfast.usecases.twin.build_read import notes_of
from snugfast.usecases.twin.of_car import Twin


def pack_words(twin: Twin) -> str:
    """The pack in the car, in words."""
    pack = twin.car.pack
    return f"{twin.pack.name}: {pack.series_cells} cells, {pack.capacity_Ah:g} Ah"


def fitted_words(asked: Asked) -> str:
    """Whether the twin was fitted, and whether the fit is old."""
    fit = asked.fit
    if fit is None:
        return (
            "Not fitted: log runs with the temperature of the can (and of the air, and the seconds after the "
            "stop), the charge put back, the top speed, or laps of two set-ups on one track, then fit the "
            "car model to them."
        )
    count = f"{fit.readings} reading" + ("" if fit.readings == 1 else "s")
    old = " Entries about this car came since: fit it again." if fit.newer else ""
    return f"Fitted to {count} of yours.{old}"


def study_notes(asked: Asked) -> tuple[str, ...]:
    """What was taken that nobody said."""
    notes = [notes_of(asked.twin.numbers)]
    if not asked.ambient_said:
        notes.append(
            f"Nobody said how warm the air is: {asked.question.place.air.temperature_degC:g} °C is taken."
        )
    gives = asked.question.car.pack.capacity_Ah / asked.twin.car.pack.capacity_Ah
    if gives < 0.95:
        notes.append(
            f"In this air, at its age and driven this fast, the pack is taken to give {gives * 100:.0f} % of "
            "its label."
        )
    if not asked.twin.has_fan:
        notes.append("This car has no fan on its ESC.")
    if asked.twin.slot.low is not None:
        notes.append(
            "How far the motor slides is a guess; measure the slots and add slot_mm to the sizes of the "
            "motor mount."
        )
    return tuple(filter(None, notes))


def full_throttle_words(chosen: Rung | None) -> tuple[str, ...]:
    """A pack that falls to the cut-off at full throttle, said with how soon."""
    at_s = math.inf if chosen is None else chosen.sprint.alarms_s[Alarm.CUTOFF]
    if not math.isfinite(at_s):
        return ()
    said = f"At full throttle this pack falls to the cut-off after about {at_s:.0f} s: the ESC will cut in. "
    return (f"{said}Warm the pack to room temperature before the run, or take a fresher one.",)


def one_tooth_words(asked: Asked, climbed: Sequence[Rung]) -> tuple[str, ...]:
    """One tooth up and one down of the pinion, each in one sentence, where the ladder has them."""
    by_pair = {pair: rung for rung in climbed for pair in rung.pairs}
    today = asked.twin.pair
    said = []
    for step, word in ((1, "One tooth more"), (-1, "One tooth less")):
        pair = replace(today, pinion_teeth=today.pinion_teeth + step) if today.pinion_teeth + step else today
        if pair in by_pair and today in by_pair:
            said.append(f"{word} ({pair.pinion_teeth}): {_lower(one_tooth(by_pair[today], by_pair[pair]))}")
    return tuple(said)


def _lower(text: str) -> str:
    return text[:1].lower() + text[1:]
