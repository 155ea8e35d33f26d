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
