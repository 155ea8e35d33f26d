"""Golden numbers of the upkeep mathematics, read from tests/golden/upkeep."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

FOLDER = Path(__file__).parents[1] / "golden" / "upkeep"


def golden(name: str) -> Any:
    """One file, without its ending."""
    return json.loads((FOLDER / f"{name}.json").read_text(encoding="utf-8"))
