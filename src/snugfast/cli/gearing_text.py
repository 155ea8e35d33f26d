"""A gearing study and its short answers as lines of text."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence

from snugfast.core.spelling import bare, unit
from snugfast.core.zones import local_day
from snugfast.usecases.gearing.curves import Curves, some_of
from snugfast.usecases.gearing.questions import FanAnswer, LearnerAnswer, PassesAnswer, TyreAnswer
from snugfast.usecases.gearing.rungs import HeatBands, Heats, LadderRung, within
from snugfast.usecases.gearing.study import GearingStudy
from snugfast.usecases.gearing.wear import dearer_words, wear_words
from snugfast.usecases.shared.cautions import Caution
from snugfast.usecases.shared.citing import tell_figure, tell_to
from snugfast.usecases.twin.build_read import TwinNumber
from snugfast.usecases.twin.fitting import TwinFitted

TALL = "  A tall gear: speed and no power. For short passes on a smooth surface, not for driving on."


def study_lines(study: GearingStudy, *, curves: bool) -> list[str]:
    """The ladder, the chosen rung with its bands, and its curves as a table where they were asked for."""
    lines = [
        f"{study.car}: {study.driving}, {study.air_degC:.0f} °C.",
        f"{study.pack}, tyres {study.tyre_mm:.0f} mm.",
        study.fitted,
        "",
        *_ladder(study),
        "",
    ]
    lines += [study.stopped, ""] if study.stopped else []
    lines += _chosen(study)
    if curves and study.curves is not None:
        lines += ["", *_curves(study.curves)]
    lines += ["", *study.one_tooth] if study.one_tooth else []
    lines += ["", "What the car model was told", *(_number(one) for one in study.numbers)]
    lines += [f"  {note}" for note in study.notes]
    lines += _cautions(study.cautions, study.heat_cautions)
    lines += ["", "Where the figures come from", *(f"  {one.sentence}" for one in study.sources)]
    return lines


def _ladder(study: GearingStudy) -> list[str]:
    head = (
        "FDR",
        "pinion on spur",
        "rollout",
        f"top {unit('km/h')}",
        f"to {study.goal_km_h:.0f} km/h",
        "motor peak",
        "motor steady",
        "ESC peak",
        "motor A",
        "pack A",
        "runs min",
        "ended by",
        "failures/h",
    )
    fit, out = study.in_reach, study.out_of_reach
    lines = _table(head, [_row(rung) for rung in (*fit, *out)])
    marks = ["  ", *("* " if rung.is_today else "> " if rung.is_chosen else "  " for rung in (*fit, *out))]
    lines = [mark + line for mark, line in zip(marks, lines, strict=True)]
    if out:
        lines.insert(1 + len(fit), "  Out of the motor mount's reach:")
    lines.append(
        f"* today's gearing; FDR: final drive ratio. {unit('°C')}; currents: highest, and over time (rms)."
    )
    if any(rung.bands.top_speed is not None for rung in study.rungs):
        lines.append("In brackets: nine in ten of what the guesses allow.")
    if any(rung.wear is not None for rung in study.rungs):
        lines.append("Failures: what they would cost beside today's pair, if nobody looked.")
    if any(rung.carried_on for rung in study.rungs):
        lines.append(f"~ nothing ended it in {study.minutes:.0f} min: charge carried on at the same rate.")
    return lines


def _row(rung: LadderRung) -> tuple[str, ...]:
    bands = rung.bands
    return (
        f"{rung.final_drive:.2f}",
        ", ".join(pair.words for pair in rung.pairs),
        f"{rung.rollout_mm:.1f} mm",
        bare(within(rung.top_speed_km_h, bands.top_speed), "km/h"),
        "never" if rung.goal_s is None else f"{rung.goal_s:.1f} s",
        bare(within(rung.peak.can_degC, bands.peak.can), "°C"),
        "burns" if rung.settled is None else bare(within(rung.settled.can_degC, bands.settled.can), "°C"),
        bare(within(rung.peak.controller_degC, bands.peak.controller), "°C"),
        f"{rung.top_motor_A:.0f}, {rung.rms_motor_A:.0f}",
        f"{rung.top_pack_A:.0f}, {rung.rms_pack_A:.0f}",
        _minutes(rung),
        rung.ends_by,
        "" if rung.wear is None else dearer_words(rung.wear),
    )


def _minutes(rung: LadderRung) -> str:
    if math.isinf(rung.run_min):
        return "no end"
    return f"{'~' if rung.carried_on else ''}{within(rung.run_min, rung.bands.run_time)}"


def _chosen(study: GearingStudy) -> list[str]:
    rung = study.chosen
    if rung is None:
        return []
    bands = rung.bands
    lines = [f"{', '.join(pair.words for pair in rung.pairs)}{', today' if rung.is_today else ''}"]
    lines += [f"  off the line it is limited by {rung.launch_limit}; currents {rung.currents}"]
    lines += [f"  peak     {_heats(rung.peak, bands.peak)}"]
    burns = "the winding would burn if driven on"
    lines += [f"  settles  {burns if rung.settled is None else _heats(rung.settled, bands.settled)}"]
    if rung.wear is not None and (aged := wear_words(rung.wear)):
        lines += [f"  {aged}"]
    if rung.is_tall:
        lines += [TALL]
    return lines


def _heats(heats: Heats, bands: HeatBands) -> str:
    return ", ".join(
        f"{name} {within(degC, getattr(bands, name))} °C" for name, degC in heats.by_part.items()
    )


def _curves(curves: Curves) -> list[str]:
    sprint = [
        (
            f"{row.second:.1f}",
            bare(f"{row.speed_km_h:.0f}", "km/h"),
            f"{row.motor_A:.0f}",
            f"{row.pack_V:.1f}",
        )
        for row in some_of(curves.sprint)
    ]
    driven = [
        (
            f"{row.minute:.1f}",
            bare(f"{row.winding_degC:.0f}", "°C"),
            bare(f"{row.can_degC:.0f}", "°C"),
            bare(f"{row.controller_degC:.0f}", "°C"),
            bare(f"{row.pack_degC:.0f}", "°C"),
            f"{row.charge_left * 100:.0f} %",
        )
        for row in some_of(curves.drive)
    ]
    return [
        "Sprint from rest",
        *_table(("s", unit("km/h"), "motor A", "pack V"), sprint),
        "",
        "Driving",
        *_table(("min", "winding", "motor can", "ESC", "pack", "charge"), driven),
    ]


def _number(one: TwinNumber) -> str:
    return f"  {one.name:<44} {tell_figure(one.figure):<26} {one.how}"


def _table(head: Sequence[str], rows: Iterable[Sequence[str]]) -> list[str]:
    """Columns as wide as they need to be."""
    whole = [tuple(head), *(tuple(row) for row in rows)]
    widths = [max(len(row[n]) for row in whole) for n in range(len(head))]
    return [
        "  ".join(cell.ljust(width) for cell, width in zip(row, widths, strict=True)).rstrip()
        for row in whole
    ]


def _cautions(cautions: Iterable[Caution], more: Iterable[str] = ()) -> list[str]:
    lines = [f"  ! {caution.text}{' (adults only)' if caution.adults_only else ''}" for caution in cautions]
    return ["", "Beware", *lines, *(f"  ! {text}" for text in more)]


# The short answers.


def tyre_lines(answer: TyreAnswer) -> list[str]:
    """Other tyres: the sentence, why, and the pinions that were tried."""
    rows = [row.cells for row in answer.rows]
    table = _table(("pinion on spur", "rollout", "top", "motor steady"), rows)
    return [answer.sentence, answer.why, "", *table, "", *answer.notes, *_cautions(answer.cautions)]


def passes_lines(answer: PassesAnswer) -> list[str]:
    """Full-speed passes, a sentence for each pinion."""
    return [*(row.sentence for row in answer.rows), "", *answer.notes, *_cautions(answer.cautions)]


def fan_lines(answer: FanAnswer) -> list[str]:
    """A stopped fan, style by style."""
    rows = [
        (
            row.style,
            "never" if row.running_min is None else f"{row.running_min:.0f} min",
            "never" if row.stopped_min is None else f"{row.stopped_min:.0f} min",
            f"{row.running_top_degC:.0f} °C",
            f"{row.stopped_top_degC:.0f} °C",
        )
        for row in answer.rows
    ]
    head = ("driving", "fan turning", "fan stopped", "highest, turning", "highest, stopped")
    return [answer.sentence, "", *_table(head, rows), "", *answer.notes, *_cautions(answer.cautions)]


def learner_lines(answer: LearnerAnswer) -> list[str]:
    """The throttle limit for a learner."""
    return [answer.sentence, *_cautions(answer.cautions)]


def one_tooth_lines(study: GearingStudy) -> list[str]:
    """One tooth up and down."""
    return [*study.one_tooth, study.fitted, *_cautions(study.cautions, study.heat_cautions)]


def fit_lines(fitted: TwinFitted, zone: str) -> list[str]:
    """The fit: readings before and after, what was learned, what cannot be told apart."""
    rows = [
        (
            local_day(line.when, zone),
            line.what,
            f"{line.before:.{line.digits}f}",
            tell_to(line.after, line.digits),
            "fits" if line.fits else f"DOES NOT FIT ({line.off_by:+.1f} spreads)",
        )
        for line in fitted.readings
    ]
    lines = [fitted.sentence, "", *_table(("day", "read", "model before", "model after", ""), rows), ""]
    knobs = [
        (one.name, f"{one.factor.value:.2f} ({one.factor.low:.2f} to {one.factor.high:.2f})", one.told)
        for one in fitted.knobs
    ]
    lines += [*_table(("guess", "times the tables", ""), knobs), ""]
    lines += [*(laps.sentence for laps in fitted.laps), *fitted.strange, *fitted.alike]
    for unused in fitted.unused:
        lines.append(f"Not used: {unused.what} of {local_day(unused.when, zone)}. {unused.why}")
    if fitted.next_can is not None:
        lines.append(f"After another run like the newest the can should read {tell_to(fitted.next_can)}.")
    if fitted.next_charge is not None:
        lines.append(f"The charger should put back {tell_to(fitted.next_charge)}.")
    lines.append(
        "Saved for the next study." if fitted.kept else "Not saved: the workshop is open for reading only."
    )
    return lines
