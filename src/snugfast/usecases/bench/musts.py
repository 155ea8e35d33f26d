"""Which checks come on a sheet whatever they are worth: gates that are due, and safety limits passed."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from snugfast.upkeep.worth import Cover
from snugfast.usecases.beliefs.stakes import AtRisk
from snugfast.usecases.bench.tasks import Task


def musts_of(
    tasks: Mapping[str, Task], risks: Sequence[AtRisk], covers: Sequence[Mapping[str, Cover]]
) -> frozenset[str]:
    """Gates that are due, and for each safety limit passed the check that sees most of it.

    `covers` has, for each risk, the tasks that bear on it. A check that only touches the part, or a limit
    that no look can keep, forces nothing.
    """
    musts = {task.key for task in tasks.values() if task.gate}
    for risk, bearing in zip(risks, covers, strict=True):
        if risk.needs_a_look:
            able = {
                key: cover.detection
                for key, cover in bearing.items()
                if cover.detection and tasks[key].possible
            }
            if able:
                musts.add(max(able, key=lambda key: (able[key], -tasks[key].check.minutes, key)))
    return frozenset(musts)
