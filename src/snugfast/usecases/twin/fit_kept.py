"""What was learned of a car's twin, kept beside the journal: a projection that can be fitted anew."""

from __future__ import annotations

import json
import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING
from uuid import UUID

from snugfast.physics.study.fitting import Fit
from snugfast.physics.study.knobs import Knob
from snugfast.usecases.shared.workshop import Workshop

if TYPE_CHECKING:
    from snugfast.records.store.reads import Reads

TWIN_FIT = "twin_fit"
FORM = "2"  # goes up when what a kept fit means changes


@dataclass(frozen=True, slots=True)
class KeptFit:
    """A fit as kept: each knob's logarithm, how sure it is with the others, from how many readings.

    `newer` says how many entries about the car came since, so that a door can say the fit is old.
    """

    knobs: tuple[Knob, ...]
    log_factors: tuple[float, ...]
    log_covariance: tuple[tuple[float, ...], ...]
    readings: int
    newer: int

    @property
    def factors(self) -> Mapping[Knob, float]:
        """Each knob's factor, to turn a question by."""
        return {knob: math.exp(at) for knob, at in zip(self.knobs, self.log_factors, strict=True)}


def kept_fit(reads: Reads, car: UUID) -> KeptFit | None:
    """The fit kept for a car, or None when there is none of this form."""
    kept = reads.projection(TWIN_FIT, car)
    if kept is None or kept.fingerprint != FORM:
        return None
    said = json.loads(kept.payload)
    return KeptFit(
        knobs=tuple(Knob[name] for name in said["knobs"]),
        log_factors=tuple(said["log_factors"]),
        log_covariance=tuple(tuple(row) for row in said["log_covariance"]),
        readings=said["readings"],
        newer=len(reads.entries_after(kept.position, car)),
    )


def keep_fit(workshop: Workshop, car: UUID, fit: Fit) -> bool:
    """Keep a fit in place of the last one; whether it was kept (not when open for reading only)."""
    if workshop.read_only:
        return False
    payload = {
        "knobs": [one.knob.name for one in fit.knobs],
        "log_factors": fit.log_factors,
        "log_covariance": fit.log_covariance,
        "readings": len(fit.readings),
    }
    with workshop.store.work() as work:
        work.projections.put(
            TWIN_FIT,
            car,
            position=work.reads.position(),
            fingerprint=FORM,
            payload=json.dumps(payload).encode(),
        )
        work.commit()
    return True
