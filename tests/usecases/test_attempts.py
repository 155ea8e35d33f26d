"""What cannot be read is said at once and whole. Authority: laws."""

from __future__ import annotations

import pytest

from snugfast.core.errors import BadInput, WrongData
from snugfast.core.findings import Finding
from snugfast.usecases.shared.attempts import Attempts


def refusing(error: Exception) -> int:
    raise error


def test_all_that_cannot_be_read_is_raised_together_and_in_order() -> None:
    several = [Finding("minutes", "nobody said", "write 12"), Finding("hits", "too many", "write 3")]
    attempts = Attempts()
    assert attempts.attempt(lambda: refusing(WrongData("the run", several)), 1) == 1
    assert attempts.attempt(lambda: refusing(BadInput("There is no such car.", "Name another.")), 2) == 2
    attempts.wrong("put back", "“-3” cannot be", "write 4200 mAh")
    with pytest.raises(WrongData) as refused:
        attempts.refuse("This cannot be read")
    assert list(refused.value.findings) == [
        *several,
        Finding("", "There is no such car", "Name another."),
        Finding("put back", "“-3” cannot be", "write 4200 mAh"),
    ]


def test_what_can_be_read_is_given_and_nothing_is_refused() -> None:
    attempts = Attempts()
    assert attempts.attempt(lambda: 7, 0) == 7
    attempts.refuse("This cannot be read")
