"""Work after a run, dusty or wet: what is still to be done on a car, by when, and what was done."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from typing import TYPE_CHECKING
from uuid import UUID

from snugfast.core.errors import BadInput, NotKnown
from snugfast.facts.model import Build, Facts, Gate, Treatment
from snugfast.facts.texts import filled
from snugfast.records.entries import TreatmentDone
from snugfast.records.ledger import CarRecord
from snugfast.records.moments import read_moment
from snugfast.usecases.beliefs.lateness import settled_by, spent_at, time_words
from snugfast.usecases.beliefs.stories import beliefs_about, remember
from snugfast.usecases.shared.applicability import of_pack
from snugfast.usecases.shared.cautions import Caution, cautions_of
from snugfast.usecases.shared.draft import Draft
from snugfast.usecases.shared.ledger import ledger_now
from snugfast.usecases.shared.lookup import car_called
from snugfast.usecases.shared.typed_words import nearest_way_out, read_minutes
from snugfast.usecases.shared.workshop import Workshop

if TYPE_CHECKING:
    from snugfast.usecases.beliefs.story import Story


@dataclass(frozen=True, slots=True)
class DueTreatment:
    """A treatment that is still to be done on a car: by when, how, what happens when it is late.

    `due` is None where it has no deadline but the next run.
    """

    key: str  # car/treatment
    car: UUID
    car_name: str
    treatment: str
    name: str
    due: datetime | None
    overdue: bool
    when: str  # “due by 21:40”, “overdue since 21:40”, “before the next run”
    minutes: float
    steps: tuple[str, ...]
    when_late: str
    tools: tuple[str, ...]
    cautions: tuple[Caution, ...]
    adults_only: bool
    source: str

    @property
    def line(self) -> str:
        """One line: which car, what, by when."""
        return f"{self.car_name}: {self.name}, {self.when} ({self.minutes:g} min)."


def due_treatments(
    facts: Facts, story: Story, car: CarRecord, build: Build, now: datetime, zone: str
) -> tuple[DueTreatment, ...]:
    """What is still to be done on a car, the earliest first. Wet that has spent itself is no longer shown."""
    left: list[tuple[Treatment, datetime]] = [
        (facts.treatments[key], undone.due)
        for (whose, key), undone in story.wetness.open.items()
        if whose == car.id and key in facts.treatments
    ]
    covered = {other for treatment, _ in left for other in treatment.includes}
    shown = [
        _due(facts, treatment, car, build, due, now, zone)
        for treatment, due in left
        if now <= spent_at(treatment, due) and treatment.key not in covered
    ]
    return tuple(sorted(shown, key=_the_earliest_first))


def _the_earliest_first(one: DueTreatment) -> tuple[bool, float, str, str]:
    """What has no deadline comes last."""
    return (one.due is None, one.due.timestamp() if one.due else 0.0, one.key, one.treatment)


def dirty_since_run(facts: Facts, car: CarRecord) -> tuple[Treatment, ...]:
    """What cleans a car that ran since anybody looked at it or cleaned it; empty for a clean one."""
    ran = car.habits.last_run_at
    looks = [at for key, at in car.last_looked.items() if not says_nothing_of_dirt(facts, key)]
    if ran is None or any(at > ran for at in looks):
        return ()
    cleaned = {done for key, at in car.treated.items() if at >= ran for done in settled_by(facts, key)}
    return tuple(
        treatment
        for treatment in facts.treatments.values()
        if not treatment.is_dated and treatment.key not in cleaned
    )


def says_nothing_of_dirt(facts: Facts, checked: str) -> bool:
    """Whether a look was at a pack or the radio, with the car as dirty as it came."""
    check = facts.checks.get(checked.partition("/")[0])
    return check is None or bool({*check.gates} - {Gate.AFTER_MANY_HITS}) or of_pack(facts, check)


def _due(
    facts: Facts,
    treatment: Treatment,
    car: CarRecord,
    build: Build,
    due: datetime | None,
    now: datetime,
    zone: str,
) -> DueTreatment:
    by_then = "before the next run"
    if due is not None:
        by_then = f"{'overdue since' if now > due else 'due by'} {time_words(due, now, zone)}"
    return DueTreatment(
        key=f"{car.id}/{treatment.key}",
        car=car.id,
        car_name=car.name,
        treatment=treatment.key,
        name=treatment.name,
        due=due,
        overdue=due is not None and now > due,
        when=by_then,
        minutes=treatment.minutes,
        steps=tuple(filled(step.text, build) for step in treatment.steps),
        when_late=treatment.when_late,
        tools=tuple(filled(tool, build) for tool in treatment.tools),
        cautions=cautions_of(facts, treatment.cautions),
        adults_only=any(facts.cautions[key].adults_only for key in treatment.cautions),
        source=treatment.pedigree.source,
    )


def treatments_of(workshop: Workshop, names: Iterable[str] = ()) -> tuple[DueTreatment, ...]:
    """What is still to be done on some cars, or on all. Raises NotKnown for a car that is not here."""
    now = workshop.now()
    with workshop.store.reading() as reads:
        ledger = ledger_now(reads)
        cars = [car_called(ledger, name) for name in names] or [
            car for car in ledger.cars.values() if car.left_at is None
        ]
        position = reads.position()
        stories = {car.id: beliefs_about(workshop, reads, ledger, car.id) for car in cars}
    remember(workshop, position, stories.values())
    found = [
        due
        for car in cars
        for due in due_treatments(
            workshop.facts, stories[car.id], car, workshop.build(car.build), now, workshop.zone
        )
    ]
    return tuple(sorted(found, key=_the_earliest_first))


def cleaning_of(workshop: Workshop, names: Iterable[str] = ()) -> tuple[DueTreatment, ...]:
    """What cleans cars that ran since anybody looked and that no wet work is due on, which cleans them too.

    Raises NotKnown for a car that is not here.
    """
    now, names = workshop.now(), tuple(names)
    wet = {one.car for one in treatments_of(workshop, names)}
    with workshop.store.reading() as reads:
        ledger = ledger_now(reads)
    cars = [car_called(ledger, name) for name in names] or [
        car for car in ledger.cars.values() if car.left_at is None and car.laid_up_at is None
    ]
    return tuple(
        _due(workshop.facts, treatment, car, workshop.build(car.build), None, now, workshop.zone)
        for car in cars
        if car.id not in wet
        for treatment in dirty_since_run(workshop.facts, car)
    )


@dataclass(frozen=True, slots=True)
class TreatedSaid:
    """A treatment said to be done, as typed. Without a name the car's most urgent one is meant."""

    car: str
    treatment: str = ""
    minutes: str = ""
    when: str = ""
    id: UUID | None = None


def draft_treated(workshop: Workshop, said: TreatedSaid) -> Draft:
    """The entry of a treatment done. Its echo also tells what is still to be done on the car.

    Raises NotKnown for a treatment that is not in the tables, BadInput when nothing is due and none is named.
    """
    with workshop.store.reading() as reads:
        ledger = ledger_now(reads)
    car = car_called(ledger, said.car)
    due = (*treatments_of(workshop, (car.name,)), *cleaning_of(workshop, (car.name,)))
    treatment = treatment_meant(workshop.facts, car.name, said.treatment, due)
    moment = read_moment(said.when, now=workshop.now(), zone=workshop.zone)
    minutes = read_minutes(said.minutes)[0] if said.minutes.strip() else None
    if minutes is not None and minutes <= 0.0:
        raise BadInput(f"minutes: {minutes:g} cannot be.", "Give a number above zero.")
    entry = workshop.entry(
        TreatmentDone(car.id, treatment.key, minutes),
        happened_at=moment.at,
        precision=moment.precision,
        id=said.id,
    )
    settled = settled_by(workshop.facts, treatment.key)
    left = [one.line for one in due if one.treatment not in settled]
    told = Draft.telling(workshop, ledger, (entry,))
    return replace(told, echo=(*told.echo, *(f"Still to be done: {line}" for line in left)))


def treatment_meant(facts: Facts, car_name: str, words: str, due: Sequence[DueTreatment]) -> Treatment:
    """The treatment a person means, by key or name; without words the most urgent that is due.

    Raises NotKnown with those there are, BadInput when nothing is due and none is named.
    """
    if not words.strip():
        if not due:
            raise BadInput(
                f"Nothing is due on {car_name}.", "Name the treatment when you did one all the same."
            )
        return facts.treatments[due[0].treatment]
    wanted = _plain(words)
    for treatment in facts.treatments.values():
        if wanted in (_plain(treatment.key), _plain(treatment.name)):
            return treatment
    near = nearest_way_out(words, facts.treatments)
    raise NotKnown(f"There is no treatment “{words}”.", near or f"There are: {', '.join(facts.treatments)}.")


def _plain(text: str) -> str:
    return " ".join(text.strip().casefold().replace("_", " ").split())
