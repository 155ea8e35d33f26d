"""What cannot be of entries about the running gear and the radio, whatever else the journal holds."""

from __future__ import annotations

from collections.abc import Iterator

from snugfast.core.findings import Finding
from snugfast.records.entries import SetUpChanged, SteeringSet, TravelUnit

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
