"""Hold the beliefs of a fault hunt against another program's variable elimination, pgmpy.

    build/outside/bin/python tests/outside/regenerate_hunts.py

Posteriors of the golden network for each pattern of two symptoms, by pgmpy and by the package over all sets
of causes. It ends with status 1 when one differs by more than rounding. It writes nothing: the golden file is
kept as it came.
"""

from __future__ import annotations

import json
import sys
from itertools import combinations, product
from pathlib import Path

import numpy as np
from pgmpy.factors.discrete import TabularCPD
from pgmpy.inference import VariableElimination
from pgmpy.models import DiscreteBayesianNetwork

ROOT = Path(__file__).resolve().parents[2]
sys.path.insert(0, str(ROOT / "src"))

from snugfast.upkeep.hunting import chance_shown, first_beliefs, marginals, states, weighed  # noqa: E402

NET = json.loads((ROOT / "tests/golden/upkeep/fault_finding.json").read_text())["noisy_or"]
CAUSES, SYMPTOMS, STRENGTH = NET["causes"], NET["symptoms"], np.array(NET["q"])


def network() -> VariableElimination:
    """The golden network as pgmpy has it, each symptom a full table."""
    model = DiscreteBayesianNetwork([(cause, symptom) for cause in CAUSES for symptom in SYMPTOMS])
    model.add_cpds(
        *(TabularCPD(cause, 2, [[1 - p], [p]]) for cause, p in zip(CAUSES, NET["prior"], strict=True))
    )
    for n, symptom in enumerate(SYMPTOMS):
        quiet = [
            (1 - NET["leak"][n])
            * np.prod([1 - q for there, q in zip(each, STRENGTH[:, n], strict=True) if there])
            for each in product((0, 1), repeat=len(CAUSES))
        ]
        shown = [1 - q for q in quiet]
        cards = [2] * len(CAUSES)
        model.add_cpds(TabularCPD(symptom, 2, [quiet, shown], evidence=CAUSES, evidence_card=cards))
    return VariableElimination(model)


def ours(evidence: dict[str, int]) -> np.ndarray:
    """The same posteriors by the package."""
    there = states(len(CAUSES), most=len(CAUSES))
    beliefs = first_beliefs(there, prior=np.array(NET["prior"]))
    for symptom, seen in evidence.items():
        n = SYMPTOMS.index(symptom)
        shown = chance_shown(there=there, strength=STRENGTH[:, n], leak=NET["leak"][n])
        beliefs = weighed(beliefs, shown if seen else 1.0 - shown)
    return marginals(beliefs, there)[0]


def main() -> int:
    """The largest difference over all patterns of two symptoms."""
    asked, largest = network(), 0.0
    for pair in combinations(SYMPTOMS, 2):
        for seen in product((0, 1), repeat=2):
            evidence = dict(zip(pair, seen, strict=True))
            theirs = [
                float(asked.query([cause], evidence=evidence, show_progress=False).values[1])
                for cause in CAUSES
            ]
            largest = max(largest, float(np.abs(ours(evidence) - theirs).max()))
    print(f"hunts: largest difference from pgmpy over 40 patterns of symptoms {largest:.1e}")
    return int(largest > 1e-9)


if __name__ == "__main__":
    raise SystemExit(main())
