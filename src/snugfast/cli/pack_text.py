"""What is said about packs, as text for a terminal. Cautions stand at the step they belong to."""

from __future__ import annotations

import shutil
import textwrap
from collections.abc import Iterable, Iterator
from datetime import datetime

from snugfast.cli.ways_out import typed
from snugfast.core.figures import Figure
from snugfast.core.findings import Finding
from snugfast.usecases.packs.charge import ChargePlan
from snugfast.usecases.packs.fit_car import FitShown
from snugfast.usecases.packs.shelf import Shelf
from snugfast.usecases.packs.state import ActByCase, PackState, ReasonShown, drain_words
from snugfast.usecases.packs.store import AdviceShown, StoreAdvice, WayShown
from snugfast.usecases.packs.today import PacksToday, ToDo, Urgency
from snugfast.usecases.packs.together import Joining
from snugfast.usecases.packs.trend import CellTrend, PackTrend
from snugfast.usecases.packs.views import Matter
from snugfast.usecases.packs.words import (
    band_of_spans,
    charge_words,
    minutes_words,
    moment_words,
    runs_words,
    share_band_words,
    span_words,
)
from snugfast.usecases.shared.cautions import Caution
from snugfast.usecases.shared.chemistry import shown

WIDEST = 96


def lines(text: Iterable[str]) -> str:
    """Paragraphs wrapped to the terminal, with a line break after each; indents are kept."""
    width = min(WIDEST, shutil.get_terminal_size((88, 24)).columns)
    wrapped: list[str] = []
    for paragraph in text:
        body = paragraph.lstrip(" ")
        indent = " " * (len(paragraph) - len(body))
        wrapped += textwrap.wrap(body, width, initial_indent=indent, subsequent_indent=indent + "  ") or [""]
    return "\n".join(wrapped)


def today_text(today: PacksToday, zone: str) -> Iterator[str]:
    """What to do today, the same job for several packs once, then what counts down; each caution once."""
    if not today.todo:
        yield "Nothing to do about the packs today."
    jobs: dict[tuple[Urgency, str], list[ToDo]] = {}
    for todo in today.todo:
        jobs.setdefault((todo.urgency, todo.what), []).append(todo)
    for (urgency, what), several in jobs.items():
        names = ", ".join(dict.fromkeys(todo.pack_name for todo in several))
        yield f"{urgency.words.upper():<6} {names}: {what}"
        whys = dict.fromkeys(todo.why for todo in several)
        for why in whys:
            yield f"       {why}"
    if today.countdown:
        yield ""
        yield "Counting down"
        for todo in today.countdown:
            yield f"  {todo.pack_name}: {moment_words(todo.by, zone, today.at)}. {todo.why}"
    told = dict.fromkeys(caution for todo in today.todo for caution in todo.cautions)
    if told:
        yield ""
        yield from cautions(told)


BAND_WIDE = 20


def shelf_text(shelf: Shelf, zone: str) -> Iterator[str]:
    """The shelf: two lines a pack, and what the signs mean."""
    yield shelf.sentence
    name_wide = max((len(row.name) for row in shelf.rows), default=0)
    about_wide = max((len(row.about) for row in shelf.rows), default=0)
    for row in shelf.rows:
        by = f"by {moment_words(row.by, zone, shelf.at)}" if row.by is not None else ""
        yield (
            f"{row.sign.shape} {row.name:<{name_wide}}  {row.about:<{about_wide}}  {band_text(row.charge)}  "
            f"{row.sign.word}{f', {by}' if by else ''}"
        )
        if row.what:
            yield f"    {row.what}"
    if shelf.rows:
        signs = dict.fromkeys(row.sign for row in shelf.rows)
        yield ""
        yield "   ".join(f"{sign.shape} {sign.word}" for sign in signs)
        if any(row.charge for row in shelf.rows):
            yield "Charge: █ likely, ▒ how unsure."


def band_text(charge: Figure | None) -> str:
    """A charge as a rule of twenty steps: “···▒▒▒█▒▒··”."""
    if charge is None:
        return f"{'not known':<{BAND_WIDE + 6}}"
    low = charge.low if charge.low is not None else charge.value
    high = charge.high if charge.high is not None else charge.value
    at, start, end = (min(int(share * BAND_WIDE), BAND_WIDE - 1) for share in (charge.value, low, high))
    rule = "".join("█" if n == at else "▒" if start <= n <= end else "·" for n in range(BAND_WIDE))
    return f"{rule} {charge.value * 100:3.0f} %"


def state_text(state: PackState, zone: str, now: datetime) -> Iterator[str]:
    """One pack as it stands."""
    used = runs_words(state.wear.runs, state.wear.cycles_from_charges)
    yield f"{state.name}   {shown(state.chemistry)}, {state.cells} cells, {state.capacity_Ah:g} Ah, {used}"
    yield f"Verdict: {state.verdict}"
    yield from reasons(state.reasons)
    if state.note:
        yield state.note
    if state.charge is not None:
        assumed = f"; {state.charge.taken_as}" if state.charge.taken_as else ""
        yield f"Charge left: {charge_words(state.charge.charge)}, by {state.charge.said_by}{assumed}"
        for flag in state.charge.flags:
            yield f"  Beware: {flag}"
    if state.cases:
        yield "Store or recharge by"
        for case in state.cases:
            yield f"  {_case(case, zone, now)}"
    if state.in_car:
        yield f"Last said to be in {state.in_car}{f', {state.stands}' if state.stands else ''}."
    if state.energy is not None:
        yield f"Energy by label: {state.energy.value:g} Wh. By air: {state.air_says}."
    else:
        yield f"By air: {state.air_says}."
    if state.sent is not None:
        yield f"Sent: {state.sent.says}."
    yield from cautions(state.cautions)


def _case(case: ActByCase, zone: str, now: datetime) -> str:
    mark = "→ " if case.said else "  "
    how = "measured" if case.measured else "guessed"
    drain = "" if case.drain.value == 0.0 else f"; drain {drain_words(case.drain)}, {how}"
    return (
        f"{mark}{case.left.value}: {moment_words(case.by, zone, now)} ({band_of_spans(case.act)}), "
        f"danger from {moment_words(case.danger_by, zone, now)}{drain}"
    )


def plan_text(plan: ChargePlan, zone: str, now: datetime) -> Iterator[str]:
    """A charge session: what stands against it, or how it goes."""
    headline = plan.headline.value[:1].upper() + plan.headline.value[1:]
    yield f"{headline}. ({plan.pack_name} on {plan.charger_name}, to {plan.target})"
    yield from reasons(plan.reasons)
    yield from findings(plan.refusals)
    if plan.note:
        yield plan.note
    if (
        plan.current is not None
        and plan.minutes is not None
        and plan.put_in is not None
        and plan.until_V is not None
    ):
        yield f"Set {plan.current.value:.1f} A: {plan.held_by} holds it."
        for bound in plan.bounds:
            yield f"  {bound.current.value:.1f} A by {bound.by}"
        about = f"about {minutes_words(plan.minutes)}, balancing included"
        yield f"Until {plan.until_V.value:.2f} V a cell, {about}."
        if plan.steady is not None and plan.tail is not None:
            yield (
                f"  {plan.steady.value / 60:.0f} min at that current, then {plan.tail.value / 60:.0f} min "
                "while it dies away."
            )
        yield f"Puts in about {plan.put_in.value * 1000:.0f} mAh."
    if plan.start_by is not None and plan.ready_by is not None:
        ready = moment_words(plan.ready_by, zone, now)
        yield f"To be ready by {ready} start by {moment_words(plan.start_by, zone, now)}."
    yield from cautions(plan.cautions)


def store_text(advice: StoreAdvice, zone: str, now: datetime) -> Iterator[str]:
    """What to do until the next outing, both views, what each way costs."""
    until = moment_words(advice.until, zone, now)
    yield f"{advice.pack_name} until {until} ({span_words(advice.stand.value + 60.0)})"
    yield from _advice("Published figures", advice.published)
    yield from _advice("Common practice", advice.practice)
    yield "They differ; the choice is yours." if advice.differ else "They agree."
    yield ""
    yield f"Each way compared, charge moved at {advice.move_A:g} A"
    for way in advice.ways:
        yield from _way(way)
    yield ""
    yield "Where views differ"
    yield from disagreements(advice.disagreements)
    yield from cautions(advice.cautions)


def _advice(who: str, advice: AdviceShown) -> Iterator[str]:
    yield f"{who}: {advice.deed.value}. {advice.why}"
    if advice.way.move.value:
        yield f"  {_move(advice.way)}"


def _way(way: WayShown) -> Iterator[str]:
    move = f"; {_move(way)}" if way.move.value else ""
    low, high = way.cost.low or 0.0, way.cost.high or 0.0
    yield (
        f"  {way.deed.value}: {way.charge.value * 100:.0f} % charged, {way.energy.value:.1f} Wh in it{move}; "
        f"costs {share_band_words(low, high)} of the capacity; lasts {span_words(way.lasts.value)} unplugged"
    )
    for opinion in way.opinions:
        yield f"    {share_band_words(opinion.low, opinion.high)} by the {opinion.name}"
    for text in way.cautions:
        yield f"    {text}"


def _move(way: WayShown) -> str:
    inout = "in" if way.move.value > 0 else "out"
    return f"{abs(way.move.value) * 1000:.0f} mAh {inout}, {way.minutes.value / 60:.0f} min"


def trend_text(trend: PackTrend) -> Iterator[str]:
    """How the resistance of a pack climbs."""
    by = f", read by {trend.instrument}" if trend.instrument else ""
    yield f"{trend.pack_name} after {runs_words(trend.runs, trend.cycles_from_charges)}{by}"
    if trend.others:
        yield f"Also read by {', '.join(trend.others)}; never compared with the above."
    if trend.readings:
        last = trend.readings[-1]
        ohms = " / ".join(f"{1000 * ohm:.3g}" for ohm in last.resistances_ohm)
        yield f"Last: {ohms} mΩ at {last.temperature_degC:g} °C on {last.at:%Y-%m-%d}"
    for weak in trend.weak:
        yield f"Weak: cell {weak.place} has {weak.ratio:.1f} times the resistance of the middle cell."
    if trend.waiting:
        yield trend.waiting
    for cell in trend.cells:
        yield from _cell(cell)
    for note in trend.notes:
        yield f"Note: {note.text}"


def _cell(cell: CellTrend) -> Iterator[str]:
    growth = f"{_micro(cell.growth.low)} to {_micro(cell.growth.high)} mΩ a run"
    yield f"Cell {cell.place}: from {cell.as_new.value * 1000:.2f} mΩ, {growth} ({cell.sureness})"
    for what, crossing in (
        ("watch it from", cell.watch_at),
        ("hard driving until", cell.hard_driving_until),
        ("done altogether at", cell.done_at),
    ):
        if crossing is not None:
            yield f"  {what} {_runs(crossing)}"


def _micro(ohm: float | None) -> str:
    return "?" if ohm is None else f"{ohm * 1000:.4f}"


def _runs(crossing: Figure) -> str:
    late = f"{crossing.high:.0f}" if crossing.high is not None else "never"
    return f"run {crossing.value:.0f} ({crossing.low or 0:.0f} to {late})"


def fit_text(fit: FitShown) -> Iterator[str]:
    """Whether a pack fits a car, and with what margin."""
    names = " and ".join(fit.packs)
    if not fit.fits:
        yield f"{names} does not go in {fit.car_name}."
        yield from findings(fit.refusals)
        yield from cautions(fit.cautions)
        return
    margin = "no end" if fit.margin is None else f"{fit.margin:.1f} times what is asked"
    yield f"{names} fits {fit.car_name}. Margin: {margin}."
    for name, figure, unit, factor in (
        ("asked, as heat sees it", fit.asked_rms, "A", 1.0),
        ("claimed by the label, less wear", fit.label, "A", 1.0),
        ("sags to the cut-off at", fit.sag, "A", 1.0),
        ("continuous current", fit.steady, "A", 1.0),
        ("a cell at the peak", fit.cell_at_peak, "V", 1.0),
        ("warmer after the run", fit.rise, "K", 1.0),
        ("of that by resistance alone", fit.rise_resistive, "K", 1.0),
        ("too warm after", fit.hot_after, "min", 1 / 60.0),
    ):
        if figure is not None:
            yield f"  {name}: {figure.value * factor:.3g} {unit}"
    for text in (*fit.beware, *fit.rests_on):
        yield f"  {text}"
    yield from cautions(fit.cautions)


def joining_text(told: Joining) -> Iterator[str]:
    """Whether packs may be connected."""
    way = "in parallel" if told.how == "parallel" else "in series"
    may = "may be connected" if told.may_join else "must not be connected"
    yield f"{' and '.join(told.packs)} {may} {way}."
    yield from findings(told.refusals)
    yield from cautions(told.cautions)


def disagreements(several: Iterable[Matter]) -> Iterator[str]:
    """Where views differ, who says what, and what is taken."""
    for one in several:
        yield f"  {one.question}"
        for view in one.views:
            yield f"    {view.says} ({view.title}, {view.seen})"
        yield f"    Taken: {one.taken}"


def reasons(several: Iterable[ReasonShown]) -> Iterator[str]:
    """Reasons of a verdict with way back and caution."""
    for reason in several:
        yield f"  {reason.says} {reason.way_back}"
        yield from cautions(reason.cautions, "    ")


def findings(several: Iterable[Finding]) -> Iterator[str]:
    """What stands in the way, one line each."""
    for finding in several:
        head = f"{finding.where}: " if finding.where else ""
        way_out = typed(finding.way_out)
        way_out = way_out[:1].upper() + way_out[1:]
        yield f"  ✗ {head}{finding.problem.rstrip('.')}. {way_out}".rstrip()


def cautions(several: Iterable[Caution], indent: str = "") -> Iterator[str]:
    """Cautions, marked for adults where they are."""
    for caution in several:
        adults = "Adults only. " if caution.adults_only else ""
        yield f"{indent}⚠ {adults}{caution.text}"
