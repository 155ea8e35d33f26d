"""What finished hunts teach of how causes show themselves: slowly, and never beyond what was seen."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable

from snugfast.facts.model import Facts
from snugfast.records.entries import Hunted, HuntEnd


def learned_strengths(facts: Facts, hunts: Iterable[Hunted]) -> dict[tuple[str, str], float]:
    """(symptom, cause) to the chance that it shows, for the causes that were found in hunts that ended.

    The table counts as so many hunts; a symptom that nobody named counts as absent to a part only, since
    people name what strikes them first.
    """
    weight = facts.assumptions["hunt_table_weight"].value
    unsaid = facts.assumptions["hunt_unsaid_weight"].value
    found = [hunt for hunt in hunts if hunt.end is HuntEnd.FOUND and hunt.cause in facts.hunt_causes]
    times: Counter[str] = Counter(hunt.cause for hunt in found)
    said: Counter[tuple[str, str]] = Counter(
        (symptom, hunt.cause) for hunt in found for symptom in hunt.symptoms
    )
    learned = {}
    for key, symptom in facts.hunt_symptoms.items():
        for cause, strength in symptom.links.items():
            if times[cause]:
                table = facts.hunt_strengths[strength].chance
                seen = said[key, cause]
                tried = seen + unsaid * (times[cause] - seen)
                learned[key, cause] = (weight * table + seen) / (weight + tried)
    return learned
