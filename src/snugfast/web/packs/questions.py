"""Questions about packs: until the next outing, into which car, which together, where views differ."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime
from typing import Annotated, Self
from uuid import UUID

from fastapi import APIRouter, Query, Request
from fastapi.responses import Response
from pydantic import BaseModel

from snugfast.core.errors import SnugfastError
from snugfast.core.findings import Finding
from snugfast.physics.packs.fit import Joined
from snugfast.usecases.packs.fit_car import FitAsked, FitShown, fit_of
from snugfast.usecases.packs.store import AdviceShown, StoreAdvice, StoreAsked, WayShown, store_advice
from snugfast.usecases.packs.together import joining
from snugfast.usecases.packs.views import Matter, matters
from snugfast.usecases.packs.words import moment_words, share_band_words, span_words
from snugfast.usecases.shared.cautions import Caution
from snugfast.usecases.shared.ledger import ledger_now
from snugfast.usecases.shared.lookup import cars_here, packs_here
from snugfast.usecases.shared.workshop import Workshop
from snugfast.web.bench import TheWorkshop
from snugfast.web.packs.one_pack import one_pack
from snugfast.web.showing import show
from snugfast.web.troubles import Trouble, Troubles, way_out

pages = APIRouter()


class StoreForm(BaseModel):
    """Until when, as it is typed."""

    until: str = ""
    amps: str = ""
    shelf: str = ""


@dataclass(frozen=True, slots=True)
class WayRow:
    """One way of leaving the pack, in figures."""

    deed: str
    charge: str
    move: str
    energy: str
    cost: str
    lasts: str
    opinions: tuple[str, ...]

    @classmethod
    def of(cls, way: WayShown) -> Self:
        return cls(
            deed=way.deed.value,
            charge=f"{way.charge.value * 100:.0f} %",
            move=_move(way),
            energy=f"{way.energy.value:.1f} Wh",
            cost=share_band_words(way.cost.low or 0.0, way.cost.high or 0.0),
            lasts=span_words(way.lasts.value),
            opinions=tuple(
                f"{share_band_words(one.low, one.high)} by the {one.name}" for one in way.opinions
            ),
        )


@dataclass(frozen=True, slots=True)
class Side:
    """What one side says to do, and why."""

    who: str
    deed: str
    why: str
    move: str

    @classmethod
    def of(cls, who: str, advice: AdviceShown) -> Self:
        return cls(who, advice.deed.value, advice.why, _move(advice.way))


@dataclass(frozen=True, slots=True)
class StorePage:
    """Until the next outing: both views, every way compared, where views differ."""

    pack: UUID
    pack_name: str
    form: StoreForm
    until: str
    sides: tuple[Side, ...]
    differ: bool
    amps: str
    ways: tuple[WayRow, ...]
    beware: tuple[str, ...]
    matters: tuple[Matter, ...]
    cautions: tuple[Caution, ...]
    troubles: Troubles | None

    @classmethod
    def of(cls, advice: StoreAdvice, form: StoreForm, zone: str, now: datetime) -> Self:
        stand = span_words(advice.stand.value + 60.0)
        return cls(
            pack=advice.pack,
            pack_name=advice.pack_name,
            form=form,
            until=f"{moment_words(advice.until, zone, now)}, {stand} from now",
            sides=(
                Side.of("Published figures", advice.published),
                Side.of("Common practice", advice.practice),
            ),
            differ=advice.differ,
            amps=f"{advice.move_A:g} A",
            ways=tuple(WayRow.of(way) for way in advice.ways),
            beware=tuple(dict.fromkeys(text for way in advice.ways for text in way.cautions)),
            matters=advice.disagreements,
            cautions=advice.cautions,
            troubles=None,
        )

    @classmethod
    def asking(cls, pack: UUID, name: str, form: StoreForm, troubles: Troubles | None) -> Self:
        return cls(pack, name, form, "", (), False, "", (), (), (), (), troubles)


class FitForm(BaseModel):
    """A question of fit, as it is typed."""

    car: str = ""
    pack: list[str] = []
    amps: str = ""
    shares: str = ""
    peak: str = ""
    minutes: str = ""
    air: str = ""
    joined: str = Joined.ALONE.value
    tray_mm: str = ""
    cells: str = ""
    cut_off: str = ""
    make: str = ""

    def asked(self) -> FitAsked:
        return FitAsked(packs=tuple(self.pack), **self.model_dump(exclude={"pack", "make"}))


@dataclass(frozen=True, slots=True)
class FitPage:
    """Whether a pack fits a car: the question, and what came of it."""

    form: FitForm
    cars: tuple[str, ...]
    packs: tuple[str, ...]
    ways: tuple[str, ...]
    answered: bool
    fits: bool
    head: str
    refusals: tuple[Trouble, ...]
    figures: tuple[tuple[str, str], ...]
    beware: tuple[str, ...]
    rests_on: tuple[str, ...]
    cautions: tuple[Caution, ...]
    troubles: Troubles | None


@dataclass(frozen=True, slots=True)
class TogetherPage:
    """Whether packs may be joined."""

    packs: tuple[str, ...]
    chosen: tuple[str, ...]
    how: str
    answered: bool
    may_join: bool
    refusals: tuple[Trouble, ...]
    cautions: tuple[Caution, ...]
    troubles: Troubles | None


@dataclass(frozen=True, slots=True)
class ViewsPage:
    """Where views differ about packs."""

    matters: tuple[Matter, ...]


@pages.get("/packs/views")
def views(request: Request, workshop: TheWorkshop) -> Response:
    page = ViewsPage(matters(workshop.facts))
    return show(request, "packs/views.html", page, title="Where views differ", here="packs")


@pages.get("/packs/together")
def together(
    request: Request,
    workshop: TheWorkshop,
    pack: Annotated[list[str] | None, Query()] = None,
    how: str = "parallel",
) -> Response:
    names = _pack_names(workshop)
    chosen = tuple(pack or ())
    page = TogetherPage(names, chosen, how, False, False, (), (), None)
    status = 200
    if chosen:
        try:
            told = joining(workshop, chosen, how=how)
            found = _as_troubles(told.refusals)
            page = TogetherPage(names, chosen, how, True, told.may_join, found, told.cautions, None)
        except SnugfastError as refused:
            status = 422
            page = TogetherPage(names, chosen, how, False, False, (), (), Troubles.of(refused))
    return show(request, "packs/together.html", page, title="Packs together", here="packs", status=status)


@pages.get("/packs/fit")
def fit(request: Request, workshop: TheWorkshop, form: Annotated[FitForm, Query()]) -> Response:
    with workshop.store.reading() as reads:
        cars = tuple(car.name for car in cars_here(ledger_now(reads)))
    told: FitShown | None = None
    troubles, status = None, 200
    if form.make:
        try:
            told = fit_of(workshop, form.asked())
        except SnugfastError as refused:
            troubles, status = Troubles.of(refused), 422
    page = FitPage(
        form=form,
        cars=cars,
        packs=_pack_names(workshop),
        ways=tuple(joined.value for joined in Joined),
        answered=told is not None,
        fits=told.fits if told else False,
        head=_fit_head(told) if told else "",
        refusals=_as_troubles(told.refusals) if told else (),
        figures=_fit_figures(told) if told else (),
        beware=told.beware if told else (),
        rests_on=told.rests_on if told else (),
        cautions=told.cautions if told else (),
        troubles=troubles,
    )
    return show(request, "packs/fit.html", page, title="Pack and car", here="packs", status=status)


@pages.get("/packs/{pack_id}/store")
def store(
    request: Request, workshop: TheWorkshop, pack_id: UUID, form: Annotated[StoreForm, Query()]
) -> Response:
    record = one_pack(workshop, pack_id).record
    page, status = StorePage.asking(pack_id, record.name, form, None), 200
    if form.until.strip():
        asked = StoreAsked(record.name, form.until, form.amps, shelf=form.shelf)
        try:
            page = StorePage.of(store_advice(workshop, asked), form, workshop.zone, workshop.now())
        except SnugfastError as refused:
            status = 422
            page = StorePage.asking(pack_id, record.name, form, Troubles.of(refused))
    title = f"Until the next outing: {record.name}"
    return show(request, "packs/store.html", page, title=title, here="packs", status=status)


def _pack_names(workshop: Workshop) -> tuple[str, ...]:
    with workshop.store.reading() as reads:
        return tuple(pack.name for pack in packs_here(ledger_now(reads)))


def _as_troubles(findings: Iterable[Finding]) -> tuple[Trouble, ...]:
    return tuple(Trouble(one.where, one.problem.rstrip("."), way_out(one.way_out)) for one in findings)


def _move(way: WayShown) -> str:
    if not way.move.value:
        return "nothing moved"
    inout = "in" if way.move.value > 0 else "out"
    return f"{abs(way.move.value) * 1000:.0f} mAh {inout}, {way.minutes.value / 60:.0f} min"


def _fit_head(told: FitShown) -> str:
    names = " and ".join(told.packs)
    if not told.fits:
        return f"{names} does not go in {told.car_name}."
    margin = "no end" if told.margin is None else f"{told.margin:.1f} times what is asked"
    return f"{names} fits {told.car_name}. Margin: {margin}."


def _fit_figures(told: FitShown) -> tuple[tuple[str, str], ...]:
    rows = (
        ("asked, as heat sees it", told.asked_rms, "A", 1.0),
        ("claimed by the label, less wear", told.label, "A", 1.0),
        ("sags to the cut-off at", told.sag, "A", 1.0),
        ("continuous current", told.steady, "A", 1.0),
        ("a cell at the peak", told.cell_at_peak, "V", 1.0),
        ("warmer after the run", told.rise, "K", 1.0),
        ("of that by resistance alone", told.rise_resistive, "K", 1.0),
        ("too warm after", told.hot_after, "min", 1 / 60.0),
    )
    return tuple(
        (name, f"{figure.value * factor:.3g} {unit}") for name, figure, unit, factor in rows if figure
    )
