"""What a page of gearing shows of the ladder: a card for each rung, and the chosen one with its curves."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Self

from markupsafe import Markup

from snugfast.core.spelling import bare, in_unit_shown, unit
from snugfast.web.gearing.picture import RungDrawn, Scales
from snugfast.web.line_chart import Level, Line, line_chart

if TYPE_CHECKING:
    from snugfast.usecases.gearing.curves import Curves
    from snugfast.usecases.gearing.rungs import HeatBands, Heats, LadderRung
    from snugfast.usecases.gearing.study import GearingStudy
    from snugfast.usecases.gearing.wear import PairWear

Table = tuple[tuple[str, ...], ...]


@dataclass(frozen=True, slots=True)
class RungCard:
    """One rung of the ladder as it is shown."""

    drive: str
    pairs: tuple[str, ...]
    today: bool
    chosen: bool
    tall: bool
    first_out_of_reach: bool
    teeth: str
    doubtful: bool
    figures: tuple[tuple[str, str], ...]
    ends: str
    link: str
    drawn: RungDrawn

    @classmethod
    def of(
        cls,
        rung: LadderRung,
        study: GearingStudy,
        link: str,
        scales: Scales,
        *,
        first_out_of_reach: bool = False,
    ) -> Self:
        from snugfast.usecases.gearing.mount_reach import Reach
        from snugfast.usecases.gearing.rungs import within

        bands = rung.bands
        return cls(
            drive=f"{rung.final_drive:.2f}",
            pairs=tuple(pair.words for pair in rung.pairs),
            today=rung.is_today,
            chosen=rung.is_chosen,
            tall=rung.is_tall,
            first_out_of_reach=first_out_of_reach,
            teeth=rung.pairs[0].teeth,
            doubtful=rung.pairs[0].reach is Reach.DOUBTFUL,
            figures=(
                (f"top speed, {unit('km/h')}", bare(within(rung.top_speed_km_h, bands.top_speed), "km/h")),
                (
                    f"to {study.goal_km_h:.0f} km/h",
                    _seconds(rung.goal_s),
                ),
                ("rollout", f"{rung.rollout_mm:.1f} mm"),
                (f"motor at most, {unit('°C')}", bare(within(rung.peak.can_degC, bands.peak.can), "°C")),
                (
                    f"ESC at most, {unit('°C')}",
                    bare(within(rung.peak.controller_degC, bands.peak.controller), "°C"),
                ),
                ("motor, A", f"{rung.top_motor_A:.0f}, {rung.rms_motor_A:.0f}"),
                ("pack, A", f"{rung.top_pack_A:.0f}, {rung.rms_pack_A:.0f}"),
                ("limited by", rung.launch_limit),
                *(() if rung.wear is None else (("failures, an hour", _dearer(rung.wear)),)),
            ),
            ends=_ends(rung),
            link=link,
            drawn=scales.drawn(rung),
        )


def _dearer(wear: PairWear) -> str:
    """Money beside today's pair: “+0.32 CRD”."""
    from snugfast.usecases.gearing.wear import dearer_words

    return dearer_words(wear) if round(wear.dearer.value, 2) else "as today"


def _seconds(goal_s: float | None) -> str:
    return "never" if goal_s is None else f"{goal_s:.1f} s"


def _ends(rung: LadderRung) -> str:
    from snugfast.usecases.gearing.rungs import within

    if rung.run_min >= 1e6:
        return "no end"
    minutes = within(rung.run_min, rung.bands.run_time)
    return f"{'about ' if rung.carried_on else ''}{minutes} min, then {rung.ends_by}"


@dataclass(frozen=True, slots=True)
class ChosenCard:
    """The rung that was chosen: bands, and its curves with the tables under them."""

    pairs: str
    today: bool
    lines: tuple[tuple[str, str], ...]
    currents: str
    wear: str
    tall: bool
    sprint: Markup
    sprint_table: Table
    heat: Markup
    heat_table: Table
    limits: str

    @classmethod
    def of(cls, study: GearingStudy) -> Self | None:
        rung, curves = study.chosen, study.curves
        if rung is None or curves is None:
            return None
        from snugfast.usecases.gearing.wear import wear_words

        bands = rung.bands
        burns = "the winding would burn"
        limits = study.limits
        return cls(
            pairs=", ".join(pair.words for pair in rung.pairs),
            today=rung.is_today,
            lines=(
                ("peak", _heats(rung.peak, bands.peak)),
                ("settles", burns if rung.settled is None else _heats(rung.settled, bands.settled)),
            ),
            currents=f"Off the line it is limited by {rung.launch_limit}; currents {rung.currents}.",
            wear="" if rung.wear is None else wear_words(rung.wear),
            tall=rung.is_tall,
            sprint=_sprint_chart(curves),
            sprint_table=_sprint_table(curves),
            heat=_heat_chart(curves, study),
            heat_table=_heat_table(curves),
            limits=(
                f"Limits: winding {limits.winding_degC:.0f} °C, can {limits.can_degC:.0f} °C, ESC "
                f"{limits.controller_degC:.0f} °C, pack {limits.pack_degC:.0f} °C."
            ),
        )


def _heats(heats: Heats, bands: HeatBands) -> str:
    from snugfast.usecases.gearing.rungs import within

    said = {"can": "motor can", "controller": "ESC"}
    parts = (
        f"{said.get(name, name)} {within(degC, getattr(bands, name))} °C"
        for name, degC in heats.by_part.items()
    )
    return ", ".join(parts)


def _sprint_chart(curves: Curves) -> Markup:
    return line_chart(
        title="Speed in a sprint from rest",
        along="seconds",
        up=unit("km/h"),
        lines=[Line("speed", [(row.second, in_unit_shown(row.speed_km_h, "km/h")) for row in curves.sprint])],
    )


def _heat_chart(curves: Curves, study: GearingStudy) -> Markup:
    rows = curves.drive
    return line_chart(
        title="Temperatures while driving",
        along="minutes",
        up=unit("°C"),
        lines=[
            Line("winding", [(row.minute, in_unit_shown(row.winding_degC, "°C")) for row in rows]),
            Line("motor can", [(row.minute, in_unit_shown(row.can_degC, "°C")) for row in rows]),
            Line("ESC", [(row.minute, in_unit_shown(row.controller_degC, "°C")) for row in rows]),
            Line("pack", [(row.minute, in_unit_shown(row.pack_degC, "°C")) for row in rows]),
        ],
        levels=[Level("motor limit", in_unit_shown(study.limits.can_degC, "°C"))],
    )


def _sprint_table(curves: Curves) -> Table:
    from snugfast.usecases.gearing.curves import some_of

    head = ("s", unit("km/h"), "motor A", "pack V")
    rows = (
        (
            f"{row.second:.1f}",
            bare(f"{row.speed_km_h:.0f}", "km/h"),
            f"{row.motor_A:.0f}",
            f"{row.pack_V:.1f}",
        )
        for row in some_of(curves.sprint)
    )
    return (head, *rows)


def _heat_table(curves: Curves) -> Table:
    from snugfast.usecases.gearing.curves import some_of

    head = ("min", "winding", "motor can", "ESC", "pack", "charge")
    rows = (
        (
            f"{row.minute:.1f}",
            bare(f"{row.winding_degC:.0f}", "°C"),
            bare(f"{row.can_degC:.0f}", "°C"),
            bare(f"{row.controller_degC:.0f}", "°C"),
            bare(f"{row.pack_degC:.0f}", "°C"),
            f"{row.charge_left * 100:.0f} %",
        )
        for row in some_of(curves.drive)
    )
    return (head, *rows)
