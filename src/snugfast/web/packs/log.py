"""Logging what a pack goes through: one form for each step, its cautions above it."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from enum import Enum
from typing import Annotated
from uuid import UUID

from fastapi import APIRouter, Form, Request
from fastapi.responses import Response
from pydantic import BaseModel

from snugfast.core.errors import SnugfastError
from snugfast.records.entries import Finish, PackHarm, Stands
from snugfast.records.ledger import Ledger
from snugfast.records.pack_marks import can_be_cleared
from snugfast.usecases.packs.log import (
    ChargedSaid,
    MeasuredSaid,
    draft_charged,
    draft_cleared,
    draft_hurt,
    draft_looked,
    draft_measured,
    draft_stands,
)
from snugfast.usecases.packs.register import draft_pack_left
from snugfast.usecases.packs.state import PackSeen
from snugfast.usecases.shared.cautions import Caution, cautions_of
from snugfast.usecases.shared.draft import Draft
from snugfast.usecases.shared.ledger import ledger_now
from snugfast.usecases.shared.lookup import cars_here
from snugfast.usecases.shared.workshop import Workshop
from snugfast.web.bench import TheWorkshop
from snugfast.web.journal.kept import echo, identified, saved, with_id
from snugfast.web.packs.one_pack import one_pack
from snugfast.web.showing import show
from snugfast.web.troubles import Troubles

pages = APIRouter()

NOTHING = "nothing"


class StepName(Enum):
    """What is being logged; the value stands in the address."""

    LOOKED = "looked"
    MEASURED = "measured"
    CHARGED = "charged"
    AWAY = "away"
    HURT = "hurt"
    CLEARED = "cleared"
    GONE = "gone"


ASKED_FIRST = (StepName.CLEARED,)  # it lets a damaged pack be charged again: told in full before it is saved


class StepForm(BaseModel):
    """Everything a step may ask for; each asks for a few."""

    id: UUID | None = None
    when: str = ""
    found: list[str] = []
    words: str = ""
    hottest: str = ""
    car: str = ""
    by: str = ""
    volts: str = ""
    rested: str = ""
    resistances: str = ""
    instrument: str = ""
    warmth: str = ""
    finish: str = Finish.FULL.value
    put_in: str = ""
    amps: str = ""
    minutes: str = ""
    charger: str = ""
    stands: str = Stands.UNPLUGGED.value
    shelf: str = ""
    change: str = ""


@dataclass(frozen=True, slots=True)
class AskedFor:
    """One thing a step asks for: a text, one of some words, or any of some words."""

    kind: str  # “text”, “choice”, “radios” or “ticks”
    name: str
    label: str
    hint: str = ""
    options: tuple[str, ...] = ()
    value: str = ""
    chosen: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class StepPage:
    """The form of one step, its cautions above it."""

    pack: UUID
    pack_name: str
    title: str
    says: str
    action: str
    button: str
    form_id: UUID | None
    asks: tuple[AskedFor, ...]
    cautions: tuple[Caution, ...]
    troubles: Troubles | None


@dataclass(frozen=True, slots=True)
class Step:
    """How one step is asked and drafted."""

    title: str
    says: str
    cautions: tuple[str, ...]
    asks: Callable[[StepForm, PackSeen, Ledger], tuple[AskedFor, ...]]
    draft: Callable[[Workshop, str, StepForm], Draft]


@pages.get("/packs/{pack_id}/log/{step}")
def ask(request: Request, workshop: TheWorkshop, pack_id: UUID, step: StepName) -> Response:
    return _show(request, workshop, pack_id, step, StepForm(id=workshop.new_id()))


@pages.post("/packs/{pack_id}/log/{step}")
def log(
    request: Request,
    workshop: TheWorkshop,
    pack_id: UUID,
    step: StepName,
    form: Annotated[StepForm, Form()],
) -> Response:
    form = identified(workshop, form)
    if form.change:
        return _show(request, workshop, pack_id, step, form)
    name = one_pack(workshop, pack_id).record.name
    try:
        draft = STEPS[step].draft(workshop, name, form)
        path = f"/packs/{pack_id}"
        then = "/packs" if step is StepName.GONE else path
        if step not in ASKED_FIRST:
            return saved(workshop, draft, then=then)
        return echo(request, workshop, draft, form=form, change=f"{path}/log/{step.value}", then=then)
    except SnugfastError as refused:
        return _show(request, workshop, pack_id, step, form, Troubles.of(refused), 422)


def _show(
    request: Request,
    workshop: Workshop,
    pack_id: UUID,
    name: StepName,
    form: StepForm,
    troubles: Troubles | None = None,
    status: int = 200,
) -> Response:
    seen, step = one_pack(workshop, pack_id), STEPS[name]
    with workshop.store.reading() as reads:
        ledger = ledger_now(reads)
    page = StepPage(
        pack=pack_id,
        pack_name=seen.record.name,
        title=step.title,
        says=step.says,
        action=f"/packs/{pack_id}/log/{name.value}",
        button="Next" if name in ASKED_FIRST else "Save",
        form_id=form.id,
        asks=step.asks(form, seen, ledger),
        cautions=cautions_of(workshop.facts, step.cautions),
        troubles=troubles,
    )
    title = f"{step.title}: {seen.record.name}"
    return show(request, "packs/step.html", page, title=title, here="packs", status=status)


# What each step asks for.


def _text(form: StepForm, name: str, label: str, hint: str = "") -> AskedFor:
    return AskedFor("text", name, label, hint, value=str(getattr(form, name)))


def _when(form: StepForm) -> AskedFor:
    return _text(form, "when", "When", "14:30, yesterday, 2026-05-03 14:30. Empty means now.")


def _cars(form: StepForm, ledger: Ledger) -> AskedFor:
    names = tuple(car.name for car in cars_here(ledger))
    return AskedFor("choice", "car", "In which car", options=names, value=form.car)


def _found(form: StepForm, label: str, words: tuple[str, ...]) -> AskedFor:
    return AskedFor("ticks", "found", label, options=words, chosen=tuple(form.found))


SEEN = tuple(
    harm.value
    for harm in PackHarm
    if harm not in (PackHarm.EJECTED, PackHarm.RUN_OVER, PackHarm.OVER_CHARGED, PackHarm.OVER_DISCHARGED)
)


def _asks_looked(form: StepForm, seen: PackSeen, ledger: Ledger) -> tuple[AskedFor, ...]:
    return (
        _found(form, "What you saw, felt and smelled", (NOTHING, *SEEN)),
        _text(form, "words", "Anything to say about it"),
        _when(form),
    )


def _asks_measured(form: StepForm, seen: PackSeen, ledger: Ledger) -> tuple[AskedFor, ...]:
    cells = seen.record.cells
    like_volts, like_ohms = " ".join(["3.80"] * cells), " ".join(["3.1"] * cells)
    return (
        _text(form, "volts", "Volts of all cells, in the order of the plug", like_volts),
        _text(form, "rested", "How long it rested", "90 min. Empty means since its last use."),
        _text(form, "resistances", "Resistances of all cells, mΩ", like_ohms),
        _text(form, "instrument", "Read with", "One instrument is compared only with itself."),
        _text(form, "warmth", "How warm the pack is, °C", "Needed for resistances."),
        _when(form),
    )


def _asks_charged(form: StepForm, seen: PackSeen, ledger: Ledger) -> tuple[AskedFor, ...]:
    chargers = tuple(one.name for one in ledger.chargers.values() if one.left_at is None)
    return (
        AskedFor(
            "radios",
            "finish",
            "Charged to",
            options=tuple(finish.value for finish in Finish),
            value=form.finish,
        ),
        _text(form, "put_in", "Charge put in", "4200 mAh; below zero when it was taken out"),
        _text(form, "minutes", "Minutes"),
        _text(form, "amps", "Amperes"),
        AskedFor("choice", "charger", "On which charger", options=chargers, value=form.charger),
        _text(form, "volts", "Cells at the end, as the charger showed them, V"),
        _text(form, "resistances", "Resistances, as the charger showed them, mΩ"),
        _text(form, "warmth", "How warm the pack was, °C", "Needed for resistances."),
        _when(form),
    )


def _asks_away(form: StepForm, seen: PackSeen, ledger: Ledger) -> tuple[AskedFor, ...]:
    ways = tuple(stands.value for stands in Stands)
    return (
        AskedFor("radios", "stands", "How it stands", options=ways, value=form.stands),
        _cars(form, ledger),
        _text(form, "shelf", "How warm it stands, °C", "Empty means a room."),
        _when(form),
    )


def _asks_hurt(form: StepForm, seen: PackSeen, ledger: Ledger) -> tuple[AskedFor, ...]:
    return (
        _found(form, "What happened to it", tuple(harm.value for harm in PackHarm)),
        _text(form, "hottest", "How hot it was, °C"),
        _cars(form, ledger),
        _text(form, "words", "Anything to say about it"),
        _when(form),
    )


def _asks_cleared(form: StepForm, seen: PackSeen, ledger: Ledger) -> tuple[AskedFor, ...]:
    harms = tuple(sorted(harm.value for harm in can_be_cleared(seen.record.marks)))
    asked = (_found(form, "What is over", harms),) if harms else ()
    by = _text(form, "by", "By what it may be used again", "What was looked at; whose word or instructions.")
    return (*asked, by, _when(form))


def _asks_gone(form: StepForm, seen: PackSeen, ledger: Ledger) -> tuple[AskedFor, ...]:
    return (_text(form, "words", "Why", "Retired, sold, handed in."), _when(form))


# What each step keeps.


def _draft_looked(workshop: Workshop, pack: str, form: StepForm) -> Draft:
    return draft_looked(workshop, pack, form.found, words=form.words, when=form.when, id=form.id)


def _draft_measured(workshop: Workshop, pack: str, form: StepForm) -> Draft:
    said = MeasuredSaid(
        pack,
        form.volts,
        form.rested,
        form.resistances,
        form.instrument,
        form.warmth,
        form.when,
        form.id,
    )
    return draft_measured(workshop, said)


def _draft_charged(workshop: Workshop, pack: str, form: StepForm) -> Draft:
    said = ChargedSaid(
        pack,
        finish=form.finish,
        put_in=form.put_in,
        amps=form.amps,
        minutes=form.minutes,
        charger=form.charger,
        volts=form.volts,
        resistances=form.resistances,
        warmth=form.warmth,
        when=form.when,
        id=form.id,
    )
    return draft_charged(workshop, said)


def _draft_away(workshop: Workshop, pack: str, form: StepForm) -> Draft:
    car = form.car if form.stands != Stands.UNPLUGGED.value else ""
    return draft_stands(workshop, pack, form.stands, car=car, shelf=form.shelf, when=form.when, id=form.id)


def _draft_hurt(workshop: Workshop, pack: str, form: StepForm) -> Draft:
    return draft_hurt(
        workshop,
        pack,
        form.found,
        hottest=form.hottest,
        car=form.car,
        words=form.words,
        when=form.when,
        id=form.id,
    )


def _draft_cleared(workshop: Workshop, pack: str, form: StepForm) -> Draft:
    return draft_cleared(workshop, pack, by=form.by, what=form.found, when=form.when, id=form.id)


def _draft_gone(workshop: Workshop, pack: str, form: StepForm) -> Draft:
    return with_id(draft_pack_left(workshop, pack, form.words, form.when), form.id or workshop.new_id())


STEPS = {
    StepName.LOOKED: Step(
        "Look, feel, smell",
        "Pack out of the car, unplugged and cool. Look at every face, press lightly with a thumb, smell it.",
        ("pack-look-first",),
        _asks_looked,
        _draft_looked,
    ),
    StepName.MEASURED: Step(
        "Cells read",
        "Volts an hour or more after use; resistances always with the same instrument, about as warm.",
        ("pack-measure",),
        _asks_measured,
        _draft_measured,
    ),
    StepName.CHARGED: Step(
        "Charge that ended",
        "What the charger said when it was done. A charge still to come is planned on another page.",
        ("pack-attended", "pack-storage"),
        _asks_charged,
        _draft_charged,
    ),
    StepName.AWAY: Step(
        "Put away",
        "The switch off is not unplugged: the ESC still draws on the pack.",
        ("pack-storage",),
        _asks_away,
        _draft_away,
    ),
    StepName.HURT: Step(
        "Something happened to it",
        "A crash, water, heat, cells driven too low or charged too high. It is out of use from now on.",
        ("pack-crash", "pack-wet", "pack-hot", "pack-quarantine", "pack-fire"),
        _asks_hurt,
        _draft_hurt,
    ),
    StepName.CLEARED: Step(
        "Way back walked",
        "At the soonest the next day, looked over cold and outdoors. Some harm has no way back.",
        ("pack-look-first", "pack-crash"),
        _asks_cleared,
        _draft_cleared,
    ),
    StepName.GONE: Step(
        "It leaves",
        "Retired, sold, handed to a battery recycling point.",
        ("pack-disposal", "pack-transport", "pack-cargo"),
        _asks_gone,
        _draft_gone,
    ),
}
