"""The radio as it is typed: tested, limited, shown, refused."""

from __future__ import annotations

import json

from tests.cli.typed import Typed


def test_a_radio_is_tested_and_shown(thread: Typed) -> None:
    first = thread("radio", "Bramble")
    assert "never tested here" in first.out and "1. Battery out." in first.out, first.err
    said = ("--radio", "pistol", "--off", "stopped", "--range", "60m", "--model", "4", "--batteries", "5.6V")
    assert "Saved" in thread("radio", "Bramble", *said, "--yes").out
    limits = thread("radio", "Bramble", "--radio", "pistol", "--learner-throttle", "40%", "--yes")
    assert limits.code == 0, limits.err
    shown = thread("radio", "Bramble").out
    assert "motor stopped at once" in shown and "60 m, the steering followed" in shown
    assert "Learner limits: throttle 40 % on pistol" in shown and "Bramble: memory 4" in shown
    assert json.loads(thread("radio", "Bramble", "--json").out)["failsafe_holds"] is True
    refused = thread("radio", "Bramble", "--off", "stopped", "--yes")
    assert refused.code == 2 and "which radio" in refused.err
