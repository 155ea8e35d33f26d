"""Numbers and ways out as pages write them."""

from __future__ import annotations

import pytest

from snugfast.core.errors import BadInput, NotKnown, RefusedAction, StaleRecord
from snugfast.core.figures import Figure
from snugfast.web import numbers
from snugfast.web.troubles import WayOut, status_of, way_out


@pytest.mark.parametrize(
    ("share", "said"),
    [(0.0, "under 0.1 %"), (0.0004, "under 0.1 %"), (0.0421, "4.2 %"), (0.0994, "9.9 %"), (0.373, "37 %")],
)
def test_chances_are_written_with_as_many_digits_as_they_bear(share: float, said: str) -> None:
    assert numbers.percent(share).replace("\u00a0", " ") == said


def test_amounts_carry_their_currency_and_their_band() -> None:
    figure = Figure(15.693, "CRD").with_band(26.709, 10.047)
    assert numbers.money_range(figure).replace("\u00a0", " ") == "15.69 CRD (10.05 to 26.71)"
    assert numbers.money_range(Figure(1.0, "EUR")).replace("\u00a0", " ") == "1.00 EUR"


def test_one_is_not_written_as_many() -> None:
    assert numbers.count(1, "run") == "1 run"
    assert numbers.count(0, "run") == "0 runs"
    assert numbers.count(2.5, "pack") == "2.5 packs"


@pytest.mark.parametrize(
    ("text", "link"),
    [
        ("See: snugfast journal", "/journal"),
        ("There are no cars yet; type: snugfast car add NAME --from STARTER", "/cars/new"),
        ("see: snugfast car places Bramble", "/"),
        ("Write 1.5.", ""),
    ],
)
def test_what_the_command_line_advises_becomes_a_page(text: str, link: str) -> None:
    said = way_out(text)
    assert said.link == link
    assert "snugfast" not in said.text
    assert "--" not in said.text


def test_options_of_the_command_line_are_left_out_of_a_sentence() -> None:
    assert way_out("Name the pack: --pack NAME") == WayOut("Name the pack")


def test_each_kind_of_refusal_has_its_status() -> None:
    statuses = [status_of(kind("x")) for kind in (NotKnown, BadInput, StaleRecord, RefusedAction)]
    assert statuses == [404, 422, 409, 409]
