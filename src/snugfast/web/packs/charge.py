"""A charge session: the questions, then the plan; the look is kept whatever came of it."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from typing import Annotated, Self
from uuid import UUID

from fastapi import APIRouter, Form, Request
from fastapi.responses import Response
from pydantic import BaseModel

from snugfast.core.errors import SnugfastError
from snugfast.physics.packs.chemistry import Chemistry
from snugfast.records.codec import canonical, entry_to_document
from snugfast.records.entries import Finish
from snugfast.usecases.packs.charge import ChargeAsked, ChargePlan, plan_charge
from snugfast.usecases.packs.last_charge import last_charge
from snugfast.usecases.packs.state import ReasonShown
from snugfast.usecases.packs.words import minutes_words, moment_words
from snugfast.usecases.shared.cautions import Caution, cautions_of
from snugfast.usecases.shared.ledger import ledger_now
from snugfast.usecases.shared.lookup import packs_here
from snugfast.usecases.shared.workshop import Workshop
from snugfast.web.bench import TheWorkshop
from snugfast.web.journal.kept import identified
from snugfast.web.packs.log import NOTHING, SEEN
from snugfast.web.packs.one_pack import one_pack
from snugfast.web.showing import show
from snugfast.web.troubles import Trouble, Troubles, way_out

pages = APIRouter()

FIRST = ("pack-look-first", "pack-attended", "pack-surface", "pack-fire")
TARGETS = tuple(finish.value for finish in (Finish.FULL, Finish.LONG_LIFE, Finish.STORAGE))
FOUND = (NOTHING, *SEEN)


class SessionForm(BaseModel):
    """A session as it is typed."""

    charger: str = ""
    found: list[str] = []
    warmth: str = ""
    set_cells: str = ""
    set_chemistry: str = ""
    attended: str = ""
    hard_surface: str = ""
    balance_plug: str = ""
    target: str = TARGETS[0]
    volts: str = ""
    ready_by: str = ""
    other_channels: str = "0"
    beside: list[str] = []
    id: UUID | None = None

    def asked(self, pack: str) -> ChargeAsked:
        answers = self.model_dump(exclude={"found", "beside"})
        return ChargeAsked(pack=pack, found=tuple(self.found), with_packs=tuple(self.beside), **answers)


@dataclass(frozen=True, slots=True)
class SessionPage:
    """The questions of a session, its cautions first."""

    pack: UUID
    pack_name: str
    cells: int
    form: SessionForm
    chargers: tuple[str, ...]
    others: tuple[str, ...]
    chemistries: tuple[str, ...]
    targets: tuple[str, ...]
    found: tuple[str, ...]
    cautions: tuple[Caution, ...]
    troubles: Troubles | None


@dataclass(frozen=True, slots=True)
class PlanPage:
    """What came of the questions: the plan, or everything that stands against it."""

    pack: UUID
    pack_name: str
    charger_name: str
    target: str
    may_begin: bool
    headline: str
    stops: bool
    reasons: tuple[ReasonShown, ...]
    refusals: tuple[Trouble, ...]
    note: str
    amps: str
    held_by: str
    bounds: tuple[tuple[str, str], ...]
    until: str
    minutes: str
    parts: str
    put_in: str
    start_by: str
    ready_by: str
    cautions: tuple[Caution, ...]
    told: tuple[str, ...]
    entries: tuple[str, ...]

    @classmethod
    def of(cls, plan: ChargePlan, zone: str, now: datetime) -> Self:
        return cls(
            pack=plan.pack,
            pack_name=plan.pack_name,
            charger_name=plan.charger_name,
            target=plan.target,
            may_begin=plan.may_begin,
            headline=plan.headline.value,
            stops=plan.headline.stops,
            reasons=plan.reasons,
            refusals=tuple(
                Trouble(one.where, one.problem.rstrip("."), way_out(one.way_out)) for one in plan.refusals
            ),
            note=plan.note,
            amps=f"{plan.current.value:.1f} A" if plan.current else "",
            held_by=plan.held_by,
            bounds=tuple((bound.by, f"{bound.current.value:.1f} A") for bound in plan.bounds),
            until=f"{plan.until_V.value:.2f} V" if plan.until_V else "",
            minutes=minutes_words(plan.minutes) if plan.minutes else "",
            parts=_parts(plan),
            put_in=f"{plan.put_in.value * 1000:.0f} mAh" if plan.put_in else "",
            start_by=moment_words(plan.start_by, zone, now) if plan.start_by else "",
            ready_by=moment_words(plan.ready_by, zone, now) if plan.ready_by else "",
            cautions=plan.cautions,
            told=plan.looked.echo,
            entries=tuple(canonical(entry_to_document(entry)) for entry in plan.looked.entries),
        )


@pages.get("/packs/{pack_id}/charge")
def ask(request: Request, workshop: TheWorkshop, pack_id: UUID) -> Response:
    last = last_charge(workshop, pack_id)
    form = SessionForm(id=workshop.new_id(), charger=last.charger, target=last.target.value)
    return _show(request, workshop, pack_id, form)


@pages.post("/packs/{pack_id}/charge")
def plan(
    request: Request, workshop: TheWorkshop, pack_id: UUID, form: Annotated[SessionForm, Form()]
) -> Response:
    form = identified(workshop, form)
    name = one_pack(workshop, pack_id).record.name
    try:
        made = plan_charge(workshop, form.asked(name))
    except SnugfastError as refused:
        return _show(request, workshop, pack_id, form, Troubles.of(refused), 422)
    page = PlanPage.of(made, workshop.zone, workshop.now())
    return show(request, "packs/plan.html", page, title=f"Charge {name}", here="packs")


def _show(
    request: Request,
    workshop: Workshop,
    pack_id: UUID,
    form: SessionForm,
    troubles: Troubles | None = None,
    status: int = 200,
) -> Response:
    record = one_pack(workshop, pack_id).record
    with workshop.store.reading() as reads:
        ledger = ledger_now(reads)
    page = SessionPage(
        pack=pack_id,
        pack_name=record.name,
        cells=record.cells,
        form=form,
        chargers=tuple(one.name for one in ledger.chargers.values() if one.left_at is None),
        others=tuple(pack.name for pack in packs_here(ledger) if pack.id != pack_id),
        chemistries=tuple(chemistry.value for chemistry in Chemistry),
        targets=TARGETS,
        found=FOUND,
        cautions=cautions_of(workshop.facts, FIRST),
        troubles=troubles,
    )
    title = f"Charge {record.name}"
    return show(request, "packs/charge.html", page, title=title, here="packs", status=status)


def _parts(plan: ChargePlan) -> str:
    if plan.steady is None or plan.tail is None:
        return ""
    steady, tail = plan.steady.value / 60, plan.tail.value / 60
    return f"{steady:.0f} min at that current, then {tail:.0f} min while it dies away, then balancing"
