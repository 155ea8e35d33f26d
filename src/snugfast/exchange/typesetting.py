"""Typst, called in one way: the fonts of Snugfast only; what people typed is data and never source."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

from snugfast.core.spelling import respell_all

FONTS = Path(__file__).resolve().parent / "paper" / "fonts"


def pdf_from(template: Path, held: object) -> bytes:
    """A tagged PDF (PDF/UA-1, which Typst checks itself): the same bytes for the same data."""
    import typst

    made: bytes = typst.compile(
        template, format="pdf", pdf_standards="ua-1", timestamp=0, **given(template, held)
    )
    return made


def svgs_from(template: Path, held: object) -> tuple[bytes, ...]:
    """The same as one SVG a page."""
    import typst

    made: object = typst.compile(template, **given(template, held), format="svg")
    return tuple(made) if isinstance(made, list) else (bytes(made),)  # type: ignore[call-overload]


def asked_of(template: Path, held: object, label: str) -> Any:
    """What the set text says of itself under a label, without setting it on paper."""
    import typst

    return json.loads(typst.query(template, label, field="value", one=True, **given(template, held)))


def given(template: Path, held: object) -> dict[str, Any]:
    """What Typst is given with every template."""
    return {
        "root": template.parent,
        "font_paths": [FONTS],
        "ignore_system_fonts": True,
        "sys_inputs": {"d": json.dumps(respell_all(held), ensure_ascii=False)},
    }
