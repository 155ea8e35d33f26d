"""A steering linkage from above, to scale: straight ahead thin, steered over it in full ink."""

from __future__ import annotations

import math
from collections.abc import Sequence
from html import escape

from markupsafe import Markup

from snugfast.physics.chassis.linkage import Layout, Point, Steered, Steering

MARGIN_mm = 6.0
TYRE_mm = (0.30, 0.13)  # length and width of a drawn tyre, as shares of the distance between the kingpins
LINE_mm = 0.008


def from_above(steering: Steering, steered: Sequence[Steered], title: str) -> Markup:
    """The linkage as an SVG; the first of `steered` is drawn thin, the others over it."""
    track_mm = steering.linkage.kingpin_track_m * 1e3
    body = "".join(
        f'<g class="{"ghost" if number == 0 else "now"}">{_one(steering, one, track_mm)}</g>'
        for number, one in enumerate(steered)
    )
    points = [_flat(point) for one in steered for point in _points(steering, one)]
    half = track_mm * (0.5 + TYRE_mm[0] / 2.0)
    xs = [x for x, _ in points] + [-half, half]
    ys = [y for _, y in points] + [-track_mm * TYRE_mm[0] / 2.0, track_mm * TYRE_mm[0] / 2.0]
    left, top = min(xs) - MARGIN_mm, min(ys) - MARGIN_mm
    wide, high = max(xs) - left + MARGIN_mm, max(ys) - top + MARGIN_mm
    return Markup(
        f'<svg class="linkage" role="img" viewBox="{left:.2f} {top:.2f} {wide:.2f} {high:.2f}" '
        f'stroke-width="{track_mm * LINE_mm:.2f}"><title>{escape(title)}</title>{body}</svg>'
    )


def _points(steering: Steering, one: Steered) -> list[Point]:
    return [*one.inner_m, *one.outer_m, one.horn_end_m, steering.linkage.servo_m, *steering.kingpins]


def _flat(point: Point) -> tuple[float, float]:
    """Forward is up, left is left; millimetres."""
    return (-point[1] * 1e3, -point[0] * 1e3)


def _one(steering: Steering, one: Steered, track_mm: float) -> str:
    linkage = steering.linkage
    parts = []
    for kingpin, outer, angle in zip(
        steering.kingpins, one.outer_m, (one.left_rad, one.right_rad), strict=True
    ):
        x, y = _flat(kingpin)
        long, wide = (share * track_mm for share in TYRE_mm)
        out = math.copysign(wide * 0.8, x)
        parts.append(
            f'<rect class="tyre" x="{x + out - wide / 2:.2f}" y="{y - long / 2:.2f}" width="{wide:.2f}" '
            f'height="{long:.2f}" rx="{wide / 4:.2f}" '
            f'transform="rotate({-math.degrees(angle):.2f} {x:.2f} {y:.2f})"/>'
        )
        parts.append(_line("arm", kingpin, outer))
    parts += [_line("rod", inner, outer) for inner, outer in zip(one.inner_m, one.outer_m, strict=True)]
    if linkage.layout is Layout.RACK:
        parts.append(_line("arm", *one.inner_m))
    if linkage.layout in (Layout.BELLCRANK, Layout.RACK):
        parts += [_line("arm", linkage.crank_m, inner) for inner in one.inner_m]
    if one.crank_in_end_m is not None:
        parts.append(_line("arm", linkage.crank_m, one.crank_in_end_m))
        parts.append(_line("rod", one.horn_end_m, one.crank_in_end_m))
    if linkage.layout is Layout.DIRECT:
        parts.append(_line("arm", *one.inner_m))
    parts.append(_line("arm", linkage.servo_m, one.horn_end_m))
    pivots = [linkage.servo_m, *steering.kingpins]
    if one.crank_in_end_m is not None:
        pivots.append(linkage.crank_m)
    radius = track_mm * 0.016
    for pivot in pivots:
        x, y = _flat(pivot)
        parts.append(f'<circle class="pivot" cx="{x:.2f}" cy="{y:.2f}" r="{radius:.2f}"/>')
    balls = [*one.inner_m, *one.outer_m, one.horn_end_m]
    for ball in balls:
        x, y = _flat(ball)
        parts.append(f'<circle class="ball" cx="{x:.2f}" cy="{y:.2f}" r="{radius * 0.6:.2f}"/>')
    return "".join(parts)


def _line(kind: str, one: Point, other: Point) -> str:
    (x1, y1), (x2, y2) = _flat(one), _flat(other)
    return f'<path class="{kind}" d="M{x1:.2f} {y1:.2f}L{x2:.2f} {y2:.2f}"/>'
