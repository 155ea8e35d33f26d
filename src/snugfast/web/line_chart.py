"""Line charts as SVG in the page's own inks: lines differ by dash and by the name at their end."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from html import escape

from markupsafe import Markup

WIDE, HIGH = 420.0, 260.0
LEFT, RIGHT, TOP, BOTTOM = 40.0, 92.0, 12.0, 34.0
LABEL_HIGH = 14.0
STROKES = ("plain", "dash", "dots", "long")


@dataclass(frozen=True, slots=True)
class Line:
    """One curve: its name as written at its end, and its points."""

    name: str
    points: Sequence[tuple[float, float]]


@dataclass(frozen=True, slots=True)
class Level:
    """A level to hold the curves against, drawn across."""

    name: str
    value: float


def line_chart(
    *,
    title: str,
    along: str,
    up: str,
    lines: Sequence[Line],
    levels: Sequence[Level] = (),
) -> Markup:
    """The chart as an SVG element. Curves of no points are left out; an empty chart is an empty text.

    `along` and `up` name the axes with their units. Every curve is told apart by its dash and by its name at
    its right end.
    """
    drawn = [line for line in lines if line.points]
    if not drawn:
        return Markup()
    frame = _Frame.around(drawn, levels)
    parts = [
        f'<svg class="chart" viewBox="0 0 {WIDE:g} {HIGH:g}" role="img" aria-label="{escape(title)}">',
        *frame.grid(along, up),
        *(frame.level(level) for level in levels if level.value <= frame.top),
        *(frame.curve(line, STROKES[n % len(STROKES)]) for n, line in enumerate(drawn)),
        *frame.names(drawn),
        "</svg>",
    ]
    return Markup("".join(parts))


@dataclass(frozen=True, slots=True)
class _Frame:
    """From values to places on the paper."""

    first: float
    last: float
    foot: float
    top: float

    @classmethod
    def around(cls, lines: Sequence[Line], levels: Sequence[Level]) -> _Frame:
        xs = [x for line in lines for x, _ in line.points]
        ys = [y for line in lines for _, y in line.points]
        # A level that lies far above the curves would press them flat; it is told in words instead.
        ys += [level.value for level in levels if level.value <= 1.6 * max(ys)]
        foot = min(min(ys), 0.0)
        step = nice_step(max(ys) - foot)
        foot = math.floor(foot / step) * step
        return cls(min(xs), max(max(xs), min(xs) + 1e-9), foot, max(math.ceil(max(ys) / step), 1) * step)

    def x(self, value: float) -> float:
        return LEFT + (value - self.first) / (self.last - self.first) * (WIDE - LEFT - RIGHT)

    def y(self, value: float) -> float:
        return HIGH - BOTTOM - (value - self.foot) / (self.top - self.foot) * (HIGH - TOP - BOTTOM)

    def grid(self, along: str, up: str) -> list[str]:
        parts = []
        for value in _ticks(self.foot, self.top):
            y = self.y(value)
            parts.append(f'<path class="grid" d="M{LEFT:g} {y:.1f}H{WIDE - RIGHT:g}"/>')
            parts.append(_text("tick", LEFT - 6, y + 4, f"{value:g}", "end"))
        for value in _ticks(self.first, self.last):
            parts.append(_text("tick", self.x(value), HIGH - BOTTOM + 16, f"{value:g}", "middle"))
        middle = (LEFT + WIDE - RIGHT) / 2.0
        parts.append(_text("axis", middle, HIGH - 3, along, "middle"))
        parts.append(_text("axis", WIDE - RIGHT + 6, TOP, up))
        return parts

    def level(self, level: Level) -> str:
        y = self.y(level.value)
        drawn = f'<path class="level" d="M{LEFT:g} {y:.1f}H{WIDE - RIGHT:g}"/>'
        return drawn + _text("tick", LEFT + 4, y - 3, level.name)

    def curve(self, line: Line, stroke: str) -> str:
        points = " ".join(f"{self.x(x):.1f},{self.y(y):.1f}" for x, y in line.points)
        return f'<polyline class="curve {stroke}" points="{points}"/>'

    def names(self, lines: Sequence[Line]) -> list[str]:
        """The names at the right ends, pushed apart where they would stand on one another."""
        ends = sorted((self.y(line.points[-1][1]), line.name) for line in lines)
        parts, last = [], TOP + 2.0
        for y, name in ends:
            last = max(y + 4.0, last + LABEL_HIGH)
            parts.append(_text("name", WIDE - RIGHT + 6, last, name))
        return parts


def _text(kind: str, x: float, y: float, words: str, anchor: str = "start") -> str:
    return f'<text class="{kind}" x="{x:.1f}" y="{y:.1f}" text-anchor="{anchor}">{escape(words)}</text>'


def nice_step(span: float, most: int = 5) -> float:
    """A round step (1, 2 or 5 times a power of ten) that cuts the span into at most so many parts."""
    if span <= 0.0 or not math.isfinite(span):
        return 1.0
    power = 10.0 ** math.floor(math.log10(span / most))
    return next(step * power for step in (1.0, 2.0, 5.0, 10.0) if span <= most * step * power * (1 + 1e-9))


def _ticks(first: float, last: float) -> list[float]:
    step = nice_step(last - first)
    begin = math.ceil(first / step - 1e-9)
    return [round(n * step, 10) for n in range(begin, math.floor(last / step + 1e-9) + 1)]
