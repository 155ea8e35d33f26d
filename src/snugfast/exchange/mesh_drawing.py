"""Two gears in mesh drawn to scale as SVG: the whole pair, and the teeth that meet, enlarged.

The drawing takes its ink from the page it stands on. Beside a page it carries its own.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from html import escape
from typing import TYPE_CHECKING

import numpy as np

from snugfast.physics.gears.mesh import Mesh
from snugfast.physics.gears.outline import Outline, mesh_outlines

if TYPE_CHECKING:
    from snugfast.usecases.mechanics.mesh_guide import MeshGuide

MARGIN_mm = 1.5
ZOOM_MODULES = 4.2  # half the height of the enlarged piece
TITLE_mm = 4.0
LEAST_MOVE_m = 0.005e-3  # nothing finer is set by hand
STYLE = (
    "svg{color:#1d2430;background:#fbfaf6}"
    ".gear{fill:#1d2430;fill-opacity:.08;stroke:#1d2430;stroke-linejoin:round}"
    ".pinion{fill-opacity:.2}"
    ".pitch{fill:none;stroke:#1d2430;stroke-opacity:.55}"
    ".mark{fill:none;stroke:#1d2430}"
    "text{fill:#1d2430;font-family:sans-serif}"
)


@dataclass(frozen=True, slots=True)
class Panel:
    """One drawing: its markup inside a box of so many millimetres, left, top, width and height."""

    title: str
    body: str
    box_mm: tuple[float, float, float, float]

    @property
    def svg(self) -> str:
        """The drawing alone, to stand in a page."""
        left, top, width, height = self.box_mm
        return (
            f'<svg class="mesh" role="img" viewBox="{left:.3f} {top:.3f} {width:.3f} {height:.3f}">'
            f"<title>{escape(self.title)}</title>{self.body}</svg>"
        )


def whole_pair(mesh: Mesh, title: str, *, move_m: float = 0.0) -> Panel:
    """Both gears whole, shafts and pitch circles marked; an arrow at the motor where it is to be moved.

    `move_m` is how far the pinion goes from here: away from the spur gear, or with a minus nearer.
    """
    pinion_mm, spur_mm = (gear.tip_diameter_m * 500.0 for gear in (mesh.pinion, mesh.spur))
    distance_mm = mesh.centre_distance_m * 1e3
    tallest = max(pinion_mm, spur_mm)
    box = (
        -pinion_mm - MARGIN_mm,
        -tallest - MARGIN_mm,
        pinion_mm + distance_mm + spur_mm + 2 * MARGIN_mm,
        2 * (tallest + MARGIN_mm),
    )
    body = _gears(mesh, line_mm=0.12, flank_points=6)
    if abs(move_m) >= LEAST_MOVE_m:
        tail, tip = (-0.25, -0.8) if move_m > 0.0 else (0.25, 0.8)
        body += _arrow(pinion_mm * tail, pinion_mm * tip, -1.6, 0.3)
        body += _label(_motor_goes(move_m), box)
    return Panel(title, body, box)


def teeth_enlarged(mesh: Mesh, title: str, *, move_m: float = 0.0) -> Panel:
    """The teeth that meet, the pinion driving: the play shows on the side that does not.

    With `move_m`, an arrow on the pinion and words say where the motor goes.
    """
    half_mm = ZOOM_MODULES * mesh.module_m * 1e3
    middle_mm = mesh.pinion_pitch_diameter_m * 500.0
    box = (middle_mm - half_mm, -half_mm, 2 * half_mm, 2 * half_mm)
    near = (middle_mm, 2.0 * half_mm)
    body = _gears(mesh, line_mm=half_mm / 90.0, flank_points=16, near=near)
    if abs(move_m) >= LEAST_MOVE_m:
        ends = (box[0] + 0.1 * half_mm, box[0] + 0.5 * half_mm)
        tail, tip = reversed(ends) if move_m > 0.0 else ends
        body += _arrow(tail, tip, 0.0, half_mm / 45.0)
        body += _label(_motor_goes(move_m), box, on_spur=True, at_top=True)
    return Panel(
        title, body + _label(f"backlash {mesh.normal_backlash_m * 1e3:.2f} mm", box, on_spur=True), box
    )


def panels_of(guide: MeshGuide) -> tuple[Panel, ...]:
    """The drawings of a mesh, each saying which state it shows: as it stands, and as it should be."""
    move_m = guide.move.value if guide.move is not None else 0.0
    if guide.now is None:
        return (
            whole_pair(guide.wanted.mesh, "the pair as it should be"),
            teeth_enlarged(guide.wanted.mesh, "the teeth as they should be"),
        )
    return (
        whole_pair(guide.now.mesh, "the pair as it stands now", move_m=move_m),
        teeth_enlarged(guide.now.mesh, "the teeth now", move_m=move_m),
        teeth_enlarged(guide.wanted.mesh, "the teeth as they should be"),
    )


def drawing(panels: Sequence[Panel]) -> str:
    """Several drawings side by side as a file of its own, each at the same height, its title above."""
    height_mm = max(panel.box_mm[3] for panel in panels)
    parts, left = [], MARGIN_mm
    for panel in panels:
        x, y, width, height = panel.box_mm
        shown_mm = width * height_mm / height
        parts.append(
            f'<text x="{left:.2f}" y="{TITLE_mm - 1:.2f}" font-size="2.6">{escape(panel.title)}</text>'
            f'<svg x="{left:.2f}" y="{TITLE_mm:.2f}" width="{shown_mm:.2f}" height="{height_mm:.2f}" '
            f'viewBox="{x:.3f} {y:.3f} {width:.3f} {height:.3f}">{panel.body}</svg>'
        )
        left += shown_mm + 2 * MARGIN_mm
    wide, high = left - MARGIN_mm, height_mm + TITLE_mm + MARGIN_mm
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{wide:.2f}mm" height="{high:.2f}mm" '
        f'viewBox="0 0 {wide:.2f} {high:.2f}"><style>{STYLE}</style>{"".join(parts)}</svg>\n'
    )


def _motor_goes(move_m: float) -> str:
    return f"motor {abs(move_m) * 1e3:.2f} mm {'away' if move_m > 0.0 else 'nearer'}"


def _arrow(tail_mm: float, tip_mm: float, height_mm: float, line_mm: float) -> str:
    """An arrow along the line of the shafts, pointing where the motor goes: away is to the left."""
    barb = 3.0 * line_mm
    back = tip_mm + (barb if tip_mm < tail_mm else -barb)
    return (
        f'<path class="mark" stroke-width="{line_mm:.3f}" d="M{tail_mm:.2f} {height_mm:.2f}L{tip_mm:.2f} '
        f"{height_mm:.2f}M{back:.2f} {height_mm - 0.8 * barb:.2f}L{tip_mm:.2f} {height_mm:.2f}"
        f'L{back:.2f} {height_mm + 0.8 * barb:.2f}"/>'
    )


def _label(
    words: str, box: tuple[float, float, float, float], *, on_spur: bool = False, at_top: bool = False
) -> str:
    """Words inside a drawing, at its foot or its head, of a size that reads the same in each."""
    left, top, width, height = box
    size = height / 18.0
    foot = top + 1.2 * size if at_top else top + height - size / 2
    return (
        f'<text x="{left + (width - size / 2 if on_spur else size / 2):.2f}" y="{foot:.2f}" '
        f'text-anchor="{"end" if on_spur else "start"}" font-size="{size:.2f}" fill="currentColor">'
        f"{escape(words)}</text>"
    )


def _gears(mesh: Mesh, *, line_mm: float, flank_points: int, near: tuple[float, float] | None = None) -> str:
    """The markup of both gears; of those enlarged only what lies `near` the pitch point (where, how far)."""
    pinion, spur = mesh_outlines(mesh, lean=1.0, flank_points=flank_points)
    distance_mm = mesh.centre_distance_m * 1e3
    thin = f'stroke-width="{line_mm:.3f}"'
    dashed = f'stroke-width="{line_mm * 0.7:.3f}" stroke-dasharray="{line_mm * 6:.3f} {line_mm * 4:.3f}"'
    circles = (
        (0.0, mesh.pinion_pitch_diameter_m * 500.0),
        (distance_mm, mesh.spur_pitch_diameter_m * 500.0),
    )
    return (
        f'<path class="gear spur" {thin} d="{_path(spur, distance_mm, near)}"/>'
        f'<path class="gear pinion" {thin} d="{_path(pinion, 0.0, near)}"/>'
        + "".join(
            f'<circle class="pitch" cx="{x:.3f}" cy="0" r="{radius:.3f}" {dashed}/>' for x, radius in circles
        )
        + "".join(
            f'<path class="mark" {thin} d="M{x - 1:.3f} 0h2M{x:.3f} -1v2"/>' for x in (0.0, distance_mm)
        )
    )


def _path(outline: Outline, shaft_mm: float, near: tuple[float, float] | None) -> str:
    points = np.column_stack((outline.x_m, outline.y_m)) * 1e3
    if near is not None:
        middle_mm, reach_mm = near
        far = np.hypot(points[:, 0] - middle_mm, points[:, 1]) > reach_mm
        if far.any():
            # Begun in the gap, what is near stands in one row; the shaft closes it, out of sight.
            begun = np.roll(np.arange(len(points)), -int(np.argmax(far)))
            near_by = points[begun[~far[begun]]]
            points = np.vstack((near_by, (shaft_mm, 0.0)))
    return "M" + "L".join(f"{x:.3f} {y:.3f}" for x, y in points) + "Z"
