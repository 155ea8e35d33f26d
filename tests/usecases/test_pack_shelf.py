"""The shelf: the pack that asks soonest stands first, and each sign has a word. Authority: law."""

from __future__ import annotations

import pytest

from snugfast.cli.pack_text import band_text, shelf_text
from snugfast.core.figures import Figure
from snugfast.usecases.packs.shelf import Shelf, Sign, shelf_of
from snugfast.usecases.packs.state import packs_now
from tests.usecases.pack_bench import PACK, Bench

pytestmark = pytest.mark.slow  # through a whole use-case: not in make check


def shelf(packs: Bench) -> Shelf:
    return shelf_of(packs.workshop, packs_now(packs.workshop))


def test_the_hardest_and_the_soonest_stand_first(packs: Bench) -> None:
    for name in ("Ember 2", "Ember 3", "Ember 4"):
        packs.add_pack(name)
    for name in (PACK, "Ember 2", "Ember 4"):
        packs.looked(pack=name)
        packs.measured("3.80 3.80 3.80", pack=name, rested="90")
    packs.stands("unplugged")
    packs.stands("plugged in with the switch off", pack="Ember 2", car="Bramble")
    packs.looked("puffed", pack="Ember 4")
    found = shelf(packs)
    assert [(row.name, row.sign) for row in found.rows] == [
        ("Ember 4", Sign.OUT),
        ("Ember 2", Sign.ACT),
        (PACK, Sign.READY),
        ("Ember 3", Sign.CHECK),
    ]
    assert found.sentence == "2 packs need you today, 1 to check before use, 1 ready."
    assert found.rows[0].charge is None  # harm gets no number
    assert found.rows[1].what == "Unplug it from Bramble."


def test_every_sign_has_a_shape_and_a_word_of_its_own() -> None:
    assert len({sign.shape for sign in Sign}) == len({sign.word for sign in Sign}) == len(Sign)


def test_the_shelf_fits_a_terminal(packs: Bench) -> None:
    packs.looked()
    packs.measured("3.80 3.80 3.80", rested="90")
    packs.stands("unplugged")
    lines = list(shelf_text(shelf(packs), "UTC"))
    assert "▶ Ember 1" in lines[1] and lines[1].endswith("OK")  # its deadline is years away
    assert len(lines[1]) <= 96


def test_a_charge_is_drawn_where_it_is() -> None:
    drawn = band_text(Figure(0.5, "1", 0.25, 0.75))
    assert drawn.startswith("·" * 5 + "▒" * 5 + "█" + "▒" * 5 + "·" * 4) and drawn.endswith("50 %")
    assert band_text(Figure(1.0, "1", 0.97, 1.0)).startswith("·" * 19 + "█")
