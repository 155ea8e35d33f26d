"""The commands of wires, connectors and the receiver's supply as they are typed."""

from __future__ import annotations

import json

from tests.cli.typed import Typed


def test_the_rail_is_told_with_what_helps(thread: Typed) -> None:
    said = thread("rail", "Bramble", "--stall", "5A", "--gives", "2A")
    assert said.code == 0, said.err
    for words in ("This servo can reset this receiver.", "What helps, best first", "1000 µF", "(elicited)"):
        assert words in said.out
    plain = thread("rail", "Bramble", "--json")
    assert json.loads(plain.out)["verdict"] == "holds"
    refused = thread("rail", "Bramble", "--supply", "12V")
    assert refused.code == 2 and "5 to 8.4 V" in refused.err


def test_good_wires_are_fine_and_nobody_would_notice_thicker_ones(thread: Typed) -> None:
    """Trade: 12 AWG and good connectors on a 1/10 truck are enough."""
    said = thread("wires", "Bramble", "--to-wire", "10AWG")
    assert said.code == 0, said.err
    for words in ("Battery wires: 3.3 mm² (12 AWG)", "wire of 5.3 mm² (10 AWG)", "Replace both halves"):
        assert words in said.out
    assert said.out.count(": fine") == 4 and said.out.count("no speed you would notice") == 3
    refused = thread("wires", "Bramble", "--wire", "12")
    assert refused.code == 2 and "12AWG or 3.3 mm2" in refused.err


def test_soldering_is_asked_for_by_an_adult(thread: Typed) -> None:
    refused = thread("solder", "Bramble")
    assert refused.code == 2 and "--adult" in refused.err
    said = thread("solder", "Bramble", "--adult", "--iron", "60W")
    assert "strong enough" in said.out and "(adults only)" in said.out and "One wire" not in said.err


def test_a_motor_is_held_against_its_own_readings(thread: Typed) -> None:
    assert "Nothing was read of this motor yet" in thread("motor", "Bramble").out
    first = thread("motor", "Bramble", "--drill-rpm", "1000", "--pairs", "0.270,0.270,0.270", "--yes")
    assert first.code == 0, first.err
    later = thread("motor", "Bramble", "--drill-rpm", "1000", "--pairs", "0.243,0.243,0.243", "--yes")
    assert "Yes, it is weak" in later.out, later.err
    assert "A–B 270 mV" in thread("motor", "Bramble").out
    assert "motor at the bench" in thread("journal").out


def test_fluids_and_a_rebuild_are_typed(thread: Typed) -> None:
    said = thread("fluids", "Bramble")
    for words in ("Front shocks: 450 cSt", "snugfast rebuild Bramble shock", "What attacks what"):
        assert words in said.out, said.err
    job = thread("rebuild", "Bramble", "shock")
    assert "Bleed" in job.out and "snugfast fitted Bramble shock_seals_front" in job.out
    refused = thread("rebuild", "Bramble", "gearbox")
    assert refused.code == 2 and "It has: " in refused.err
