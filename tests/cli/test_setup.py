"""The set-up as it is typed: changed, side by side, the way back, on paper, refused."""

from __future__ import annotations

import json
from pathlib import Path

from tests.cli.typed import Typed


def test_a_set_up_is_changed_and_shown(thread: Typed, tmp_path: Path) -> None:
    assert "450 cSt" in thread("setup", "Bramble").out
    change = thread("setup", "Bramble", "camber front -2", "shock oil rear 350", "--why", "nervous", "--yes")
    assert change.code == 0 and "camber front −2, shock oil rear 350; why: nervous" in change.out, change.err
    assert "−2°" in thread("setup", "Bramble").out
    assert "Camber, front" in thread("setup", "Bramble", "--against", "yesterday").out
    back = thread("setup", "Bramble", "--back-to", "yesterday")
    assert "Shock oil, rear: 400 cSt (now 350 cSt)" in back.out and "Not known of that day" in back.out
    data = json.loads(thread("setup", "Bramble", "--json").out)
    assert data["changes"][0]["why"] == "nervous"
    refused = thread("setup", "Bramble", "shock oil front 35wt", "--yes")
    assert refused.code == 2 and "from the bottle" in refused.err
    pdf = tmp_path / "setup.pdf"
    assert thread("setup", "Bramble", "--pdf", str(pdf)).code == 0
    assert pdf.read_bytes().startswith(b"%PDF")
