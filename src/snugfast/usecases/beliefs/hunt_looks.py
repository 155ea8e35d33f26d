"""What the clean tests of a fault hunt were, as looks at ways to fail."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from snugfast.facts.hunts import Cause, FaultTest
from snugfast.facts.model import Facts
from snugfast.records.entries import Hunted, HuntEnd, HuntSaid

LOOKED_FOR = 0.95  # chance that a cause that is there is seen by somebody who looks at just that


def clean_looks(facts: Facts, hunt: Hunted) -> Iterator[Mapping[str, float]]:
    """Each clean test of a hunt that has ended, as mode to the chance that it would have shown a defect.

    “Nothing wrong” is as likely as all causes staying hidden at once, so it counts for each by itself. A test
    is made to show what has failed; what has not failed yet it shows to a part only. The modes of the cause
    that was found are left out: their look is the finding. While a hunt is open its answers weigh in the hunt
    alone, or they would count twice.
    """
    if hunt.end is HuntEnd.OPEN:
        return
    found = facts.hunt_causes.get(hunt.cause)
    early = facts.assumptions["hunt_early_share"].value
    causes_of: dict[str, list[Cause]] = {}
    for cause in facts.hunt_causes.values():
        for mode in cause.modes:
            if found is None or mode not in found.modes:
                causes_of.setdefault(mode, []).append(cause)
    for step in hunt.steps:
        test = facts.hunt_tests.get(step.test)
        if step.said is HuntSaid.NOTHING_WRONG and test is not None:
            shows = _shown_by(facts, test)
        elif step.said is HuntSaid.NOT_IT:
            shows = {step.cause: LOOKED_FOR}
        else:
            continue
        looks = {
            mode: early * sum(shows.get(cause.key, 0.0) for cause in causes) / len(causes)
            for mode, causes in causes_of.items()
        }
        yield {mode: chance for mode, chance in looks.items() if chance > 0.0}


def _shown_by(facts: Facts, test: FaultTest) -> Mapping[str, float]:
    """The chance that a test shows each cause, by any of its answers."""
    shows: dict[str, float] = {}
    for answer in test.answers:
        for cause, word in answer.links.items():
            shows[cause] = shows.get(cause, 0.0) + facts.hunt_strengths[word].chance
    return shows
