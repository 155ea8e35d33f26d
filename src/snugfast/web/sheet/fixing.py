"""“Fix first”: known defects as jobs on top of a sheet, and what was done about one."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Self
from uuid import UUID

from pydantic import BaseModel

from snugfast.facts.model import Facts
from snugfast.records.entries import Checked, Done
from snugfast.records.ledger import Ledger
from snugfast.usecases.bench.fix_first import FixJob
from snugfast.usecases.journal.bench_answers import FAILED, FoundSaid
from snugfast.usecases.shared.workshop import Workshop
from snugfast.web.numbers import minutes, money


class FixForm(BaseModel):
    """What was done about a known defect."""

    id: UUID | None = None
    key: str = ""
    did: str = ""


@dataclass(frozen=True, slots=True)
class FixCard:
    """One job: what is wrong, what to do, with what, for how much."""

    job: FixJob
    form_id: UUID
    parts: str
    price: str
    minutes: str
    answerable: bool
    done: bool

    @classmethod
    def of(cls, job: FixJob, workshop: Workshop, ledger: Ledger) -> Self:
        return cls(
            job=job,
            form_id=workshop.new_id(),
            parts=", ".join(one.told for one in job.parts),
            price=money(job.price) if job.price.value else "",
            minutes=minutes(job.minutes),
            answerable=bool(job.check) and not job.times,
            done=not job.times and is_fixed(job, ledger),
        )


def is_fixed(job: FixJob, ledger: Ledger) -> bool:
    """Whether the defect of a job no longer stands."""
    car = ledger.cars.get(job.car)
    return car is None or not any(
        (one.mode, one.place or "", one.spot) == (job.mode, job.place, job.spot) for one in car.defects.open
    )


def fixed(job: FixJob, did: str, facts: Facts, workshop: Workshop, ledger: Ledger, id: UUID) -> FoundSaid:
    """The answer that says what was done about the defect of a job."""
    check = facts.checks[job.check]
    words = [answer.word for answer in check.answers if answer.mode == job.mode]
    word = words[0] if words else FAILED
    build = workshop.build(ledger.cars[job.car].build)
    place = build.place(job.place) if job.place else None
    where = job.spot or (place.name if place and len(build.of_role(place.role)) > 1 else "")
    done = Done.RENEWED if did == Done.RENEWED.value else Done.PUT_RIGHT
    said = f"{word} @ {where}: {done.value}" if where else f"{word}: {done.value}"
    return FoundSaid(
        car=job.car_name, check=job.check, words=(said,), mode=job.mode if word == FAILED else "", id=id
    )


def answers_a_job(fact: Checked, jobs: Mapping[tuple[UUID, str], tuple[FixJob, ...]]) -> bool:
    """Whether all that an answer says is that known defects were fixed: its check is still to be done."""
    known = jobs.get((fact.car, fact.check), ())
    return bool(fact.answers) and all(
        answer.done is not Done.LEFT
        and any((job.mode, job.spot) == (answer.mode, answer.spot) for job in known)
        for answer in fact.answers
    )
