"""The fault hunt as it is typed: answers piped in, put down and taken up, plain data.

Authority: laws of this project.
"""

from __future__ import annotations

import io
import json
import sys

import pytest

from tests.cli.typed import Said, Typed


def piped(monkeypatch: pytest.MonkeyPatch, thread: Typed, lines: str, *words: str) -> Said:
    monkeypatch.setattr(sys, "stdin", io.StringIO(lines))
    return thread("hunt", "Bramble", *words)


def test_answers_are_piped_and_a_hunt_is_taken_up(thread: Typed, monkeypatch: pytest.MonkeyPatch) -> None:
    first = piped(monkeypatch, thread, "t\n", "--does", "motor turns, wheels don’t")
    assert first.code == 0 and "Put down" in first.out and "t can’t tell" in first.out
    data = json.loads(piped(monkeypatch, thread, "", "--json").out)
    assert data["stage"] == "test" and len(data["told"]) == 1 and len(data["likely"]) == 5
    again = piped(monkeypatch, thread, "u\n?\ng\n")
    assert "Likeliest now" in again.out and "given up" in again.out
    assert "given up" in thread("journal", "--kind", "hunts").out


def test_an_answer_nobody_can_mean_is_refused_with_what_can_be_typed(
    thread: Typed, monkeypatch: pytest.MonkeyPatch
) -> None:
    said = piped(monkeypatch, thread, "99\n", "--does", "slow")
    assert said.code == 2 and "no answer here" in said.err
    said = piped(monkeypatch, thread, "", "--anew", "--does", "sings")
    assert said.code == 2 and "no symptom" in said.err


def test_smoke_says_stop_before_anything_else(thread: Typed, monkeypatch: pytest.MonkeyPatch) -> None:
    said = piped(monkeypatch, thread, "", "--does", "smoke")
    assert (
        said.out.index("call the fire service") < said.out.index("STOP") < said.out.index("everything cold")
    )
