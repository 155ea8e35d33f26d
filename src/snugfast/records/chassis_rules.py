"""What cannot be of entries about the running gear and the radio, whatever else the journal holds."""

from __future__ import annotations

from collections.abc import Iterator

from snugfast.core.findings import Finding
from snugfast.records.entries import LearnerLimits, RadioTested, SetUpChanged, SteeringSet, TravelUnit

SHORTEST_us, LONGEST_us = 500.0, 2500.0
MOST_PERCENT = 200.0


def set_up_rules(changed: SetUpChanged) -> Iterator[Finding]:
    """Numbers or words by quantity and where, and something said at all."""
    if not changed.values and not changed.drove and not changed.why:
        yield Finding("values", "nothing was changed and nothing was said", "give a change, or how it drove")
    for name, value in changed.values.items():
        if isinstance(value, bool) or not isinstance(value, int | float | str):
            yield Finding(name, "this is neither a number nor words", "write a number like -2 or words")


def steering_rules(steered: SteeringSet) -> Iterator[Finding]:
    """End points a servo can be sent to, said with the radio they belong to."""
    ends = [(name, value) for name, value in (("left", steered.left), ("right", steered.right))]
    said = [(name, value) for name, value in ends if value is not None]
    if not said and not steered.measured and not steered.words:
        yield Finding("left", "neither end points nor lengths were given", "give what was set or measured")
    if said and not steered.radio.strip():
        yield Finding("radio", "end points belong to one radio", "name the radio")
    for name, value in said:
        if steered.unit is TravelUnit.MICROSECONDS and not SHORTEST_us <= value <= LONGEST_us:
            yield Finding(
                name,
                f"{value:g} µs is no pulse a servo follows",
                f"give {SHORTEST_us:.0f} to {LONGEST_us:.0f} µs, or per cent as the radio shows it",
            )
        if steered.unit is TravelUnit.PERCENT and not 0.0 <= value <= MOST_PERCENT:
            yield Finding(
                name, f"{value:g} % is no end point of a radio", f"give 0 to {MOST_PERCENT:.0f} %, or µs"
            )
    if len(said) == 2 and steered.unit is TravelUnit.MICROSECONDS and steered.left == steered.right:
        yield Finding("right", "both end points are the same pulse", "give the pulse of each side")


FARTHEST_m = 2000.0
MOST_TRANSMITTER_V = 30.0


def radio_rules(tested: RadioTested) -> Iterator[Finding]:
    """Something tested, with a radio that has a name, in numbers a bench or a field can show."""
    if not tested.radio.strip():
        yield Finding("radio", "which radio was tested is missing", "name the radio")
    if (
        tested.when_off is None
        and tested.range_m is None
        and tested.transmitter_V is None
        and not tested.model
    ):
        yield Finding("tested", "nothing was tested", "say what the motor did, or how far you walked")
    if tested.range_m is not None and not 1.0 <= tested.range_m <= FARTHEST_m:
        yield Finding("range", f"{tested.range_m:g} m is no range walk", "give the metres you walked")
    if tested.transmitter_V is not None and not 1.0 <= tested.transmitter_V <= MOST_TRANSMITTER_V:
        yield Finding(
            "cells", f"{tested.transmitter_V:g} V is no transmitter", "give the volts of all its cells"
        )


def learner_rules(limits: LearnerLimits) -> Iterator[Finding]:
    """Limits that a car still drives with, said with their radio."""
    if not limits.radio.strip():
        yield Finding("radio", "limits are set on one radio", "name the radio")
    if limits.throttle_percent is None and limits.rate_percent is None:
        yield Finding("throttle", "neither throttle nor steering was limited", "give a limit in per cent")
    for name, value in (("throttle", limits.throttle_percent), ("rate", limits.rate_percent)):
        if value is not None and not 5.0 <= value <= 100.0:
            yield Finding(name, f"a limit of {value:g} % is none", "give 5 to 100 %")
