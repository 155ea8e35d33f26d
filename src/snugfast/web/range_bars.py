"""Ranges as bars on one scale: a tick for the likely value, a bar for its band, a strip to beware of."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from html import escape

from markupsafe import Markup

from snugfast.core.figures import Figure
from snugfast.core.spelling import bare
from snugfast.core.spelling import unit as unit_shown
from snugfast.web.line_chart import nice_step

WIDE, LEFT, RIGHT, TOP = 360.0, 10.0, 20.0, 26.0
ROW_HIGH, BAR_HIGH, FOOT = 42.0, 12.0, 22.0


@dataclass(frozen=True, slots=True)
class Strip:
    """A range to beware of, drawn through all rows, with its name."""

    name: str
    low: float
    high: float


def range_bars(
    *, title: str, unit: str, rows: Sequence[tuple[str, Figure]], strip: Strip | None = None, to: float = 0.0
) -> Markup:
    """The bars as an SVG element, from zero to the highest value, or `to` if that is more."""
    most = max([to, *(figure.high or figure.value for _, figure in rows), strip.high if strip else 0.0])
    step = nice_step(most)
    top = step * -(-most // step)
    high = TOP + ROW_HIGH * len(rows) + FOOT

    def x(value: float) -> float:
        return LEFT + min(max(value, 0.0), top) / top * (WIDE - LEFT - RIGHT)

    floor = high - FOOT
    parts = [
        f'<svg class="chart bars" viewBox="0 0 {WIDE:g} {high:g}" role="img" aria-label="{escape(title)}">'
    ]
    if strip is not None:
        wide = max(x(strip.high) - x(strip.low), 2.0)
        parts.append(
            f'<rect class="strip" x="{x(strip.low):.1f}" y="{TOP - 6:g}" width="{wide:.1f}" '
            f'height="{floor - TOP + 6:.1f}"/>'
        )
        middle = x(strip.low) + wide / 2.0
        anchor = "start" if middle < WIDE / 2.0 else "end"
        parts.append(
            _text("tick", x(strip.low) if anchor == "start" else x(strip.high), TOP - 12, strip.name, anchor)
        )
    value = 0.0
    while value <= top + 1e-9:
        parts.append(f'<path class="grid" d="M{x(value):.1f} {TOP:g}V{floor:g}"/>')
        parts.append(
            _text(
                "tick",
                x(value),
                high - 6,
                f"{bare(f'{value:g}', unit)}{f' {unit_shown(unit)}' if value == 0.0 else ''}",
                "middle" if value else "start",
            )
        )
        value += step
    for number, (name, figure) in enumerate(rows):
        y = TOP + ROW_HIGH * number
        low, likely = figure.low, figure.value
        parts.append(_text("name", LEFT, y + 14, name))
        if low is not None and figure.high is not None:
            parts.append(
                f'<rect class="band" x="{x(low):.1f}" y="{y + 20:.1f}" '
                f'width="{max(x(figure.high) - x(low), 1.0):.1f}" height="{BAR_HIGH:g}"/>'
            )
        parts.append(f'<path class="likely" d="M{x(likely):.1f} {y + 17:.1f}v{BAR_HIGH + 6:g}"/>')
    return Markup("".join([*parts, "</svg>"]))


def _text(kind: str, x: float, y: float, words: str, anchor: str = "start") -> str:
    return f'<text class="{kind}" x="{x:.1f}" y="{y:.1f}" text-anchor="{anchor}">{escape(words)}</text>'
