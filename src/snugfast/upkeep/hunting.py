"""What is wrong, from what is seen: exact beliefs over “none in the list”, each cause alone, each two.

Symptoms follow a noisy-OR with a leak. A test gives one answer; of several causes that would show, each is
seen as likely as it is strong.
"""

from __future__ import annotations

from itertools import combinations

import numpy as np
from numpy.typing import NDArray

from snugfast.core.marks import formula

Floats = NDArray[np.float64]

MOST_TOGETHER = 2
SURELY = 1.0 - 1e-9  # nothing is shown more surely than this


def states(causes: int, *, most: int = MOST_TOGETHER) -> Floats:
    """Every set of at most `most` causes as a row of zeros and ones, (states, causes), first none."""
    rows = [
        chosen
        for together in range(min(most, causes) + 1)
        for chosen in combinations(range(causes), together)
    ]
    made = np.zeros((len(rows), causes))
    for n, chosen in enumerate(rows):
        made[n, list(chosen)] = 1.0
    return made


def first_beliefs(there: Floats, *, prior: Floats) -> Floats:
    """Chance of each state before anything was seen, (states,); causes are there independently of each other.

    What is left out, three causes and more at once, is shared out among what is kept. Raises ValueError for
    a prior that is no chance.
    """
    if ((prior < 0.0) | (prior >= 1.0)).any():
        raise ValueError("a prior lies from 0 to below 1")
    odds = prior / (1.0 - prior)
    weights: Floats = np.prod(np.where(there > 0.0, odds, 1.0), axis=1)
    return np.asarray(weights / weights.sum())


@formula(
    source="noisy-or",
    where="noisy-OR with a leak",
)
def chance_shown(*, there: Floats, strength: Floats, leak: float) -> Floats:
    """Chance that a symptom shows in each state: 1 − (1 − leak) ∏ (1 − strength) over the causes there."""
    quiet = np.log1p(-np.minimum(strength, SURELY))
    shown: Floats = 1.0 - (1.0 - leak) * np.exp(there @ quiet)
    return shown


def answer_chances(there: Floats, shows: Floats, *, false_alarm: float = 0.0) -> Floats:
    """Chance of each answer of a test in each state, (answers + 1, states); the first is “nothing wrong”.

    `shows` (answers, causes) is the chance that a cause alone gives an answer. Where no cause shows itself,
    one of the answers is given by mistake with `false_alarm`. Raises ValueError where a cause shows more than
    always.
    """
    total = shows.sum(axis=0)
    if (total > 1.0 + 1e-9).any():
        raise ValueError("a cause gives its answers more than always")
    strong = there @ shows.T
    some = 1.0 - np.exp(there @ np.log1p(-np.minimum(total, SURELY)))
    part = strong / np.maximum(strong.sum(axis=1, keepdims=True), 1e-300)
    wrong = (1.0 - some) * false_alarm / len(shows)
    answers = (some[:, None] * part + wrong[:, None]).T
    good = (1.0 - some) * (1.0 - false_alarm)
    return np.vstack([good, answers])


def weighed(beliefs: Floats, likelihood: Floats) -> Floats:
    """Beliefs after something was seen that is so likely in each state. Raises ValueError if it cannot be."""
    weights = beliefs * likelihood
    total = float(weights.sum())
    if total <= 0.0:
        raise ValueError("what was seen is impossible in every state")
    return weights / total


def marginals(beliefs: Floats, there: Floats) -> tuple[Floats, float]:
    """(chance that each cause is there, chance that none in the list is)."""
    return beliefs @ there, float(beliefs[0])


def entropy_nats(beliefs: Floats) -> float:
    """How much is not known yet."""
    some = beliefs[beliefs > 0.0]
    return float(-(some * np.log(some)).sum())
