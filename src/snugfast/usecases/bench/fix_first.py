"""What stands at the top of a sheet: known defects that were left, and the root of what keeps coming back."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from uuid import UUID

from snugfast.core.figures import Figure, Origin
from snugfast.core.vocabulary import in_sentence
from snugfast.facts.model import Build, Check, Facts, Mode, Place
from snugfast.facts.texts import filled
from snugfast.records.known_defects import KnownDefect
from snugfast.records.ledger import CarRecord, Ledger
from snugfast.usecases.shared.applicability import car_checks
from snugfast.usecases.shared.cautions import Caution, cautions_of
from snugfast.usecases.shared.workshop import Workshop
from snugfast.usecases.stock.used import in_box

PRICES = Origin("invented-prices", "prices of the build; your own where you have written them")


GONE = ("lost", "missing")  # words of a finding that says that the part itself is not there


@dataclass(frozen=True, slots=True)
class PartForJob:
    """A part that a job uses up. `in_box` is how many the box of spares has, None where none are kept."""

    name: str
    count: float
    cost: Figure
    place: str = ""  # of the build, that it goes in
    in_box: int | None = None
    box_place: str = ""

    @property
    def is_missing(self) -> bool:
        """Whether the box keeps this part and has too few for the job."""
        return self.in_box is not None and self.in_box < max(1, round(self.count))

    @property
    def box_words(self) -> str:
        """What the box has of it: “in the box: 4, drawer 2”; empty where it keeps none."""
        if self.in_box is None:
            return ""
        if self.in_box == 0:
            return "none in the box"
        return f"in the box: {self.in_box}{f', {self.box_place}' if self.box_place else ''}"

    @property
    def box_note(self) -> str:
        """The same in brackets, to stand after the name."""
        return f" ({self.box_words})" if self.box_words else ""

    @property
    def told(self) -> str:
        """“4 × nylon locknut M4 (in the box: 10, drawer 2)”."""
        number = "" if self.count == 1 else f"{self.count:g} × "
        return f"{number}{self.name}{self.box_note}"


@dataclass(frozen=True, slots=True)
class FixJob:
    """A known defect as a job: what is wrong and where, what to do, with what, for how much.

    `mode`, `place` and `spot` name the defect; `check` is the one that its answer is given to. A root job
    (the work that ends what keeps coming back) has `times`, how often it came.
    """

    key: str  # car/fix/mode/place/spot, or car/again/mode/place
    number: int
    car: UUID
    car_name: str
    title: str
    job: str
    mode: str
    place: str
    spot: str
    check: str
    parts: tuple[PartForJob, ...]
    price: Figure
    tools: tuple[str, ...]
    minutes: float
    cautions: tuple[Caution, ...]
    since: datetime
    unsafe: bool
    times: int = 0
    tonight: bool = True  # False when the minutes do not reach it


def fix_jobs(
    workshop: Workshop, ledger: Ledger, car: CarRecord, build: Build, now: datetime
) -> tuple[FixJob, ...]:
    """The jobs of a car: what is unsafe first, then what takes least; roots last."""
    facts = workshop.facts
    known = [_fix(facts, car, build, defect, place) for defect, place in _standing(facts, car, build)]
    known.sort(key=lambda job: (not job.unsafe, job.minutes, job.key))
    jobs = (*known, *_roots(facts, car, build, now))
    return tuple(_with_box(workshop, ledger, build, job) for job in jobs) if ledger.stock.items else jobs


def _with_box(workshop: Workshop, ledger: Ledger, build: Build, job: FixJob) -> FixJob:
    """The job with what the box has of each of its parts."""
    parts = []
    for part in job.parts:
        place = build.place(part.place)
        item = in_box(workshop, ledger, build, place) if place else None
        parts.append(replace(part, in_box=item.count, box_place=item.place) if item else part)
    return replace(job, parts=tuple(parts))


def tonight(jobs: Iterable[FixJob], minutes: float) -> tuple[FixJob, ...]:
    """The jobs with those marked that these minutes reach; what is unsafe is always among them."""
    left, marked = minutes, []
    for job in jobs:
        reached = job.unsafe or job.minutes <= left
        left -= job.minutes if reached else 0.0
        marked.append(replace(job, tonight=reached))
    return tuple(marked)


def known_rows(facts: Facts, car: CarRecord, build: Build) -> frozenset[tuple[str, str]]:
    """(mode, place) of what is known to be there: nothing to look for any more."""
    return frozenset((one.mode, place.key) for one, place in _standing(facts, car, build) if place)


def _standing(facts: Facts, car: CarRecord, build: Build) -> list[tuple[KnownDefect, Place | None]]:
    """Defects whose mode and place this car still has; the place is found where the build has only one."""
    found: list[tuple[KnownDefect, Place | None]] = []
    for defect in car.defects.open:
        mode = facts.modes.get(defect.mode)
        if mode is None:
            continue
        here = build.of_role(mode.role)
        place = build.place(defect.place) if defect.place else here[0] if len(here) == 1 else None
        if place is not None or (here and defect.place is None):
            found.append((defect, place))
    return found


def _fix(facts: Facts, car: CarRecord, build: Build, defect: KnownDefect, place: Place | None) -> FixJob:
    mode = facts.modes[defect.mode]
    at = ", ".join(filter(None, (in_sentence(place.name) if place else "", defect.spot)))
    check = _check_of(facts, build, mode, defect.check)
    gone = any(word in defect.word for word in GONE) and mode.cure_parts.get(mode.role, 0.0) < 1.0
    parts = _parts(build, {**mode.cure_parts, mode.role: 1.0} if gone else mode.cure_parts, place)
    return FixJob(
        key=f"{car.id}/fix/{mode.key}/{defect.place or ''}/{defect.spot}",
        number=0,
        car=car.id,
        car_name=car.name,
        title=f"{mode.name}: {at}" if at else mode.name,
        job=mode.cure,
        mode=mode.key,
        place=defect.place or "",
        spot=defect.spot,
        check=check.key if check else "",
        parts=parts,
        price=_sum(parts, build.currency),
        tools=tuple(filled(tool, build) for tool in check.tools) if check else (),
        minutes=mode.cure_min,
        cautions=cautions_of(facts, check.cautions) if check else (),
        since=defect.since,
        unsafe=mode.safety is not None,
    )


def _roots(facts: Facts, car: CarRecord, build: Build, now: datetime) -> Iterable[FixJob]:
    for (mode_key, place_key), times in sorted(car.defects.times.items()):
        root, mode = facts.roots.get(mode_key), facts.modes.get(mode_key)
        place = build.place(place_key) if place_key else None
        if root is None or mode is None or place is None:
            continue
        recent = [at for at in times if now - at < timedelta(days=root.within_days)]
        if len(recent) < root.after:
            continue
        check = _check_of(facts, build, mode, "")
        parts = _parts(build, root.parts, place)
        yield FixJob(
            key=f"{car.id}/again/{mode_key}/{place_key}",
            number=0,
            car=car.id,
            car_name=car.name,
            title=f"{mode.name}: {len(recent)} times since {recent[0]:%-d %b}",
            job=filled(root.job, build),
            mode=mode_key,
            place=place_key,
            spot="",
            check=check.key if check else "",
            parts=parts,
            price=_sum(parts, build.currency),
            tools=tuple(filled(tool, build) for tool in root.tools),
            minutes=root.minutes,
            cautions=cautions_of(facts, root.cautions or (check.cautions if check else ())),
            since=recent[0],
            unsafe=False,
            times=len(recent),
        )


def _check_of(facts: Facts, build: Build, mode: Mode, found_by: str) -> Check | None:
    """The check that found it, else the one that sees most of it."""
    sees = [
        (cover.detects, check.key, check)
        for check in car_checks(facts, build)
        for cover in check.covers
        if cover.mode == mode.key
    ]
    for _, key, check in sees:
        if key == found_by:
            return check
    return max(sees, key=lambda one: one[:2])[2] if sees else None


def _parts(build: Build, used: Mapping[str, float], place: Place | None) -> tuple[PartForJob, ...]:
    """What a job uses up, at the prices of this build; a role it has not costs nothing."""
    found = []
    for role, count in used.items():
        here = build.of_role(role)
        if not here or count < 0.5:  # a small share of a part is what it sometimes takes
            continue
        part = place if place is not None and place.role == role else here[0]
        cost = Figure(count * part.price_minor / 100.0, build.currency, origins=(PRICES,))
        found.append(PartForJob(part.part, count, cost, part.key))
    return tuple(found)


def _sum(parts: Iterable[PartForJob], currency: str) -> Figure:
    return Figure(sum(part.cost.value for part in parts), currency, origins=(PRICES,))
