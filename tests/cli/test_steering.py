"""Steering as it is typed: the job, end points kept, lengths kept and worked out, refusals."""

from __future__ import annotations

import json

from tests.cli.typed import Typed

LENGTHS = {
    "wheelbase": 280,
    "kingpins": 190,
    "arm": 22,
    "balls": 176,
    "horn": 18,
    "servo_behind": 95,
    "servo_left": 2,
    "crank_behind": 45,
    "crank_in": 20,
    "crank_out": 25,
    "inner": 16,
    "wheel_stop": 30,
}


def test_the_job_and_what_was_set(thread: Typed) -> None:
    said = thread("steering", "Bramble")
    assert said.code == 0, said.err
    for words in (
        "1. Right model",
        "two seconds at most",
        "25 teeth are 14.4° apart",
        "No end points are saved",
    ):
        assert words in said.out
    refused = thread("steering", "Bramble", "--left", "92%", "--servo", "quiet", "--yes")
    assert refused.code == 2 and "belong to one radio" in refused.err
    ends = ("--radio", "pistol", "--left", "92%", "--right", "88%", "--servo", "fixed", "--words", "new horn")
    assert "Saved" in thread("steering", "Bramble", *ends, "--yes").out
    assert "pistol: left 92, right 88 %; quiet" in thread("steering", "Bramble").out
    told = thread("journal").out
    assert (
        "steering end points set on pistol: left 92 %, right 88 %" in told and "buzzes at full lock" in told
    )


def test_lengths_are_kept_and_worked_out(thread: Typed) -> None:
    given = [word for name, length in LENGTHS.items() for word in ("--length", f"{name}={length}")]
    missing = thread("steering", "Bramble", "--length", "horn=18", "--sums")
    assert missing.code == 2 and "wheelbase" in missing.err
    assert thread("steering", "Bramble", *given, "--save-lengths", "--yes").code == 0
    said = thread("steering", "Bramble", "--sums")
    assert "Left: about 1750 µs (50 %)" in said.out and "the linkage locks" in said.out, said.err
    data = json.loads(thread("steering", "Bramble", "--sums", "--json").out)
    assert data["ends"][1]["pulse"]["value"] < 1300 and len(data["rows"]) > 10
    refused = thread("steering", "Bramble", "--length", "drag=5mm", "--sums")
    assert refused.code == 2 and "cannot close" in refused.err and "measure again" in refused.err
