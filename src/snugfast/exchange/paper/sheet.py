"""The bench sheet on paper: rounds of lines to tick, where it was found, room to write, the car's strip."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from snugfast.core.zones import local_time
from snugfast.exchange.paper.leaf import Leaf, Notch, Row, Section
from snugfast.usecases.beliefs.upcoming import Until
from snugfast.usecases.bench.fix_first import FixJob
from snugfast.usecases.bench.outlook import outlooks
from snugfast.usecases.bench.sheet import Line, Round, Sheet, SheetCar
from snugfast.usecases.bench.sheet_words import percent_words
from snugfast.usecases.bench.treatments import DueTreatment
from snugfast.usecases.journal.answer_form import answer_form
from snugfast.usecases.shared.cautions import Caution
from snugfast.usecases.shared.ledger import ledger_now
from snugfast.usecases.shared.workshop import Workshop
from snugfast.web.picker import Where

FULL_BAR = 0.25  # a chance this high fills a bar, as on the pages
NO_LINK = "No code: phones reach these pages after “snugfast serve --house”."


def sheet_leaf(workshop: Workshop, sheet: Sheet, *, link: str = "", mark: str = "") -> Leaf:
    """A sheet as a leaf of two pages for twenty minutes. `link` opens it; `mark` tells it from others."""
    names = [car.name for car in sheet.cars]
    who = ", ".join((*names, *(one.car_name for one in sheet.blocked)))
    at = local_time(sheet.made_at, workshop.zone)
    strong = [
        *(
            f"{one.sentence} No sheet for {one.car_name} until it is out. {one.way_out}"
            for one in sheet.blocked
        ),
        *(one.sentence for one in sheet.plugged_in),
        *filter(None, (sheet.shortfall, *sheet.unguarded)),
        *(sentence for ready in sheet.readiness for sentence in ready.sentences),
    ]
    held = [one for several in (sheet.blocked, sheet.plugged_in, sheet.readiness) for one in several]
    whole = (*sheet.cautions, *(caution for one in held for caution in one.cautions))
    strong += [f"For the whole job: {' '.join(cautions_short(whole))}"] if whole else []
    several = len(sheet.cars) > 1
    sections = [*_fix_first(sheet, several), *(_treatment(one, sheet, several) for one in sheet.treatments)]
    sections += _Rounds(workshop, sheet, several).sections()
    return Leaf(
        title=f"{who}, {sheet.asked.minutes:g} minutes" if who else "Bench sheet",
        sub=f"{at:%A} {at.day} {at:%B %Y, %H:%M}{f' · sheet {mark}' if mark else ''} · by ____________",
        notes=(
            *(_car_words(car, sheet.asked.until) for car in sheet.cars),
            "Tick what you checked. OK: leave the line empty. Found something: mark where, and what you did.",
        ),
        strong=tuple(strong),
        strip=_strip(workshop, sheet.cars[0]) if len(sheet.cars) == 1 else (),
        sections=tuple(sections),
        foot=f"sheet {mark}" if mark else "",
        link=link,
        no_link=NO_LINK,
        pages=2 if sheet.asked.minutes <= 25 and not several else 0,
    )


def cautions_short(cautions: Iterable[Caution]) -> tuple[str, ...]:
    """Each caution once, in few words; what is for adults says so."""
    told = []
    for one in dict.fromkeys(cautions):
        words = (one.short or one.text).rstrip(".")
        told.append(f"{words}{' (adults only)' if one.adults_only else ''}.")
    return tuple(told)


class _Rounds:
    def __init__(self, workshop: Workshop, sheet: Sheet, several: bool) -> None:
        self.workshop = workshop
        self.sheet = sheet
        self.several = several
        with workshop.store.reading() as reads:
            cars = ledger_now(reads).cars
        self.builds = {car.id: workshop.build(cars[car.id].build) for car in sheet.cars}

    def sections(self) -> list[Section]:
        return [self._round(one) for one in self.sheet.rounds]

    def _round(self, held: Round) -> Section:
        opened = [step.name for step in held.opening if step.name != held.name]
        hands = " · open: ".join(filter(None, (held.hands, ", ".join(opened))))
        return Section(
            title=f"{held.car_name}: {held.name}" if self.several else held.name,
            sub=hands,
            right=f"{held.minutes:.1f} min",
            cautions=cautions_short(one for one in held.cautions if one not in self.sheet.cautions),
            rows=tuple(self._line(line) for line in held.lines),
        )

    def _line(self, line: Line) -> Row:
        check = line.check
        offered = answer_form(
            self.workshop.facts,
            self.builds[check.car],
            self.workshop.facts.checks[check.check],
            check.chemistry,
        )
        places = [
            option.said.partition(" @ ")[2]
            for group in (*offered.found, *offered.failed)
            for option in group.options
        ]
        where = Where.among(places)
        wait = f" Then {line.wait}" if line.wait else ""
        return Row(
            title=line.title,
            under=" · ".join(filter(None, (line.place, ", ".join(line.packs), line.tool))),
            text=f"Good: {check.good}{wait}",
            number=str(line.number),
            right=f"{line.minutes:.1f}",
            must=line.must,
            adults=_adults(line.adults_only, self.sheet),
            corners=(*where.corners, *where.ends, *where.sides),
            chips=_initials(line.packs) if len(line.packs) > 1 else (),
        )


def _adults(adults_only: bool, sheet: Sheet) -> str:
    if not adults_only:
        return ""
    return "With a grown-up" if sheet.asked.learner else "Adults"


def _initials(names: Sequence[str]) -> tuple[str, ...]:
    """Short marks for packs: “Ember 4” is E4; the whole name where two would be alike."""
    short = ["".join(word if word.isdigit() else word[:1] for word in name.split()) for name in names]
    return tuple(short) if len(set(short)) == len(short) else tuple(names)


def _fix_first(sheet: Sheet, several: bool) -> list[Section]:
    if not sheet.fix_first:
        return []
    held = (c for job in sheet.fix_first for c in job.cautions if c not in sheet.cautions)
    minutes = sum(job.minutes for job in sheet.fix_first if job.tonight)
    rows = tuple(_job(job, several) for job in sheet.fix_first)
    return [Section("Fix first", rows, right=f"{minutes:.0f} min", cautions=cautions_short(held))]


def _job(job: FixJob, several: bool) -> Row:
    parts = ", ".join(part.told for part in job.parts)
    late = " More than these minutes." if not job.tonight else ""
    return Row(
        title=f"{job.car_name}: {job.title}" if several else job.title,
        text=f"{job.job}{f' Needs {parts}.' if parts else ''}{late}",
        number=str(job.number),
        right=f"{job.minutes:.1f}",
        must=job.unsafe,
    )


def _treatment(due: DueTreatment, sheet: Sheet, several: bool) -> Section:
    return Section(
        title=f"{due.car_name}: {due.name}" if several else due.name,
        sub=due.when,
        right=f"{due.minutes:.0f} min",
        cautions=cautions_short(due.cautions),
        rows=tuple(
            Row(title=step, write=False, adults=_adults(due.adults_only and not number, sheet))
            for number, step in enumerate(due.steps)
        ),
    )


def _strip(workshop: Workshop, car: SheetCar) -> tuple[Notch, ...]:
    (seen,) = outlooks(workshop, lambda ledger: [ledger.cars[car.id]]).cars
    return tuple(
        Notch(
            "ESC" if one.notch == "controller" else one.notch,
            percent_words(one.fail_chance),
            min(1.0, one.fail_chance / FULL_BAR),
        )
        for one in seen.stations
        if one.places
    )


def _car_words(car: SheetCar, until: Until) -> str:
    ahead = "the next run" if until is Until.RUN else "the next outing"
    now, after = percent_words(car.stop_chance.value), percent_words(car.stop_chance_after.value)
    first = f" First look at {car.name}: this is what such cars come with." if car.first_look else ""
    return f"{car.name}: {now} that something stops it on {ahead}, {after} after this sheet.{first}"
