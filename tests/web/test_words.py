"""Numbers and ways out as pages write them."""

from __future__ import annotations

import pytest

from snugfast.core.errors import BadInput, NotKnown, RefusedAction, StaleRecord
from snugfast.core.figures import Figure
from snugfast.core.ways_out import Action
from snugfast.core.ways_out import WayOut as ActionNeeded
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
    ("asked", "said"),
    [
        (
            ActionNeeded("There are no cars yet", Action.ADD_CAR),
            WayOut("There are no cars yet. Add a car", "/cars/new"),
        ),
        (ActionNeeded("Name the pack", Action.GIVE_PACK), WayOut("Name the pack.")),
        ("Write 1.5.", WayOut("Write 1.5.")),
    ],
)
def test_a_way_out_leads_to_the_page_that_does_it(asked: str, said: WayOut) -> None:
    assert way_out(asked) == said


def test_each_kind_of_refusal_has_its_status() -> None:
    statuses = [status_of(kind("x")) for kind in (NotKnown, BadInput, StaleRecord, RefusedAction)]
    assert statuses == [404, 422, 409, 409]
