"""QR codes, as an SVG for a page and as blocks for a terminal."""

from __future__ import annotations

import io
from html import escape

QUIET = 4  # modules of white around a code, as ISO/IEC 18004 asks


def qr_svg(text: str, title: str) -> str:
    """A code as an SVG element with its own white ground, so that it reads on a dark page too."""
    import segno

    code = segno.make_qr(text, error="m")
    side = code.symbol_size(border=QUIET)[0]
    runs = "".join(
        f"M{x} {y}h1v1h-1z"
        for y, row in enumerate(code.matrix_iter(border=QUIET))
        for x, dark in enumerate(row)
        if dark
    )
    return (
        f'<svg class="qr" viewBox="0 0 {side} {side}" role="img" aria-label="{escape(title, quote=True)}" '
        f'shape-rendering="crispEdges"><path fill="#fff" d="M0 0h{side}v{side}H0z"/>'
        f'<path fill="#000" d="{runs}"/></svg>'
    )


def qr_blocks(text: str) -> str:
    """A code in half blocks, for a terminal."""
    import segno

    out = io.StringIO()
    segno.make_qr(text, error="l").terminal(out, compact=True)
    return out.getvalue()
