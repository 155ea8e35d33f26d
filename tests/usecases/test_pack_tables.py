"""The tables of packs reach the sums as they are written.

Authority: the same files read plainly by the tests of pack physics.
"""

from __future__ import annotations

import pytest

from snugfast.facts.load import load_facts
from snugfast.physics.packs.chemistry import Chemistry
from snugfast.physics.packs.drain import Left
from snugfast.usecases.packs.tables import pack_tables
from snugfast.usecases.packs.views import matters
from tests.physics.pack_tables import ageing_views, band_of, product_curve, product_limits, toml

pytestmark = pytest.mark.slow  # through a whole use-case: not in make check


def test_limits_curve_ageing_and_bands_are_those_of_the_files() -> None:
    tables = pack_tables()
    assert tables.limits == product_limits()
    assert tables.curve == product_curve()
    assert tables.views == ageing_views()
    assert tables.self_discharge == band_of(toml("self_discharge.toml")["bare_pack"])
    drains = toml("drains.toml")
    assert tables.drains_A[Left.SWITCHED_ON] == band_of(drains["switched_on"], "_A")
    assert tables.drains_A[Left.UNPLUGGED].high == 0.0


def test_a_chemistry_has_a_table_or_a_note_and_cautions_that_exist() -> None:
    facts, notes = load_facts(), pack_tables().notes
    assert set(notes) == set(Chemistry) - {Chemistry.LITHIUM_POLYMER}
    assert all(key in facts.cautions for note in notes.values() for key in note.cautions)


def test_every_matter_that_views_differ_on_names_its_sources_and_how_they_were_seen() -> None:
    told = matters(load_facts())
    assert len(told) == len(toml("conflicts.toml"))
    assert all(view.title and view.seen for matter in told for view in matter.views)
    assert [one.key for one in matters(load_facts(), ("full_or_low",))] == ["full_or_low"]
