"""What was learned of a car's twin, kept beside the journal: a projection that can be fitted anew."""

from __future__ import annotations

import json
from dataclasses import asdict, dataclass
from typing import TYPE_CHECKING
from uuid import UUID

from snugfast.physics.study.fitting import Fit
from snugfast.physics.study.knobs import Knob
from snugfast.physics.study.learned import EffortSpread, Learned
from snugfast.usecases.shared.workshop import Workshop

if TYPE_CHECKING:
    from snugfast.records.store.reads import Reads

TWIN_FIT = "twin_fit"
FORM = "2"  # goes up when what a kept fit means changes


@dataclass(frozen=True, slots=True)
class KeptFit:
    """A fit as kept: what was learned of the car and its driver, from how many readings.

    `newer` says how many entries about the car came since, so that a door can say the fit is old.
    """

    learned: Learned
    readings: int
    newer: int


def kept_fit(reads: Reads, car: UUID) -> KeptFit | None:
    """The fit kept for a car, or None when there is none of this form."""
    kept = reads.projection(TWIN_FIT, car)
    if kept is None or kept.fingerprint != FORM:
        return None
    said = json.loads(kept.payload)
    return KeptFit(
        learned=Learned(
            knobs=tuple(Knob[name] for name in said["knobs"]),
            styles=tuple(said["styles"]),
            log_factors=tuple(said["log_factors"]),
            log_covariance=tuple(tuple(row) for row in said["log_covariance"]),
            effort_spread=EffortSpread(**said["effort_spread"]),
        ),
        readings=said["readings"],
        newer=len(reads.entries_after(kept.position, car)),
    )


def keep_fit(workshop: Workshop, car: UUID, fit: Fit) -> bool:
    """Keep a fit in place of the last one; whether it was saved (not when open for reading only)."""
    if workshop.read_only:
        return False
    learned = fit.learned
    payload = {
        "knobs": [knob.name for knob in learned.knobs],
        "styles": learned.styles,
        "log_factors": learned.log_factors,
        "log_covariance": learned.log_covariance,
        "effort_spread": asdict(learned.effort_spread),
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
