"""What an outing means now: for the cars that were out and the packs they ran."""

from __future__ import annotations

from collections.abc import Sequence

from snugfast.records.entries import Ran
from snugfast.usecases.bench.needs import Need, needs_now
from snugfast.usecases.bench.outlook import outlooks
from snugfast.usecases.packs.today import packs_today
from snugfast.usecases.shared.workshop import Workshop


def needs_after(workshop: Workshop, runs: Sequence[Ran]) -> tuple[Need, ...]:
    """What these runs ask for now, the most pressing first."""
    packs = {pack for run in runs for pack in run.packs}
    out = {run.car for run in runs}
    seen = outlooks(workshop, lambda ledger: [ledger.cars[car] for car in out if car in ledger.cars])
    return needs_now(workshop, seen.cars, packs_today(workshop), only_packs=packs)
