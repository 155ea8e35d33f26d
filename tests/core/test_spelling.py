"""One text, as different owners write it. Authority: the definitions of the units, reckoned by hand."""

from __future__ import annotations

from dataclasses import replace

import pytest

from snugfast.core.errors import BadInput
from snugfast.core.spelling import (
    CHOICES,
    OURS,
    Spelling,
    bare,
    plain_moment,
    respell,
    respell_all,
    respell_page,
    spelled_as,
    spelling_of,
    unit,
)
from snugfast.core.units import Kind, read_number, read_quantity

THEIRS = Spelling("°F", "mph", "oz", "mm and inch", "12 h", "May 10, 2026", "point")
TEXTS = (
    ("about 40 °C", "about 104 °F"),
    ("68 °C (55 to 84)", "154 °F (131 to 183)"),
    ("winding 59 (42–93) °C, −5 (−8–3) °C", "winding 138 (108–199) °F, 23 (18–37) °F"),
    ("0 to 45 °C; −10.5 °C", "32 to 113 °F; 13.1 °F"),
    ("−50 to +120 °C", "−58 to +248 °F"),
    ("36–48 °C", "97–118 °F"),
    ("between 0 and 40 °C", "between 32 and 104 °F"),
    ("12 min, 40 °C", "12 min, 104 °F"),
    ("10 °C above its neighbours, 20 to 40 °C more", "18 °F above its neighbours, 36 to 72 °F more"),
    ("some 12 K warmer", "some 22 °F warmer"),
    ("top 58 km/h", "top 36 mph"),
    ("weighs 280 g, the car 2.40 kg", "weighs 9.9 oz, the car 5.29 lb"),
    ("9 kg·cm at the horn", "9 kg·cm at the horn"),
    ("0.05 to 0.10 mm of backlash", "0.05 to 0.10 mm (0.0020 to 0.0039 in) of backlash"),
    *((same, same) for same in ("2.0 mm hex driver", "hex driver 2 mm", "17 mm wheel nut", "4 mm²")),
    ("M3 x 12, 15T/54T, pin 2.5 x 12", "M3 x 12, 15T/54T, pin 2.5 x 12"),
    ("2026-05-10 14:32", "May 10, 2026 2:32 pm"),
    ("at 00:05 and 12:00", "at 12:05 am and 12:00 pm"),
    ("sheet-2026-05-10.pdf at 2026-05-10T14:32:00Z", "sheet-2026-05-10.pdf at 2026-05-10T14:32:00Z"),
)  # fmt: skip


@pytest.mark.parametrize(("ours", "theirs"), TEXTS)
def test_a_text_is_written_as_its_owner_writes_it(ours: str, theirs: str) -> None:
    assert respell(ours, THEIRS) == theirs
    assert respell(ours) == ours


def test_decimals_with_a_comma_leave_numbers_that_are_none() -> None:
    comma = replace(OURS, decimal="comma", dates="10 May 2026")
    assert respell("1.5 N·m, 12.00 CRD, 192.168.1.5, M2.5, version 0.1.0, 2026-05-10.", comma) == (
        "1,5 N·m, 12,00 CRD, 192.168.1.5, M2.5, version 0.1.0, 10 May 2026."
    )
    with spelled_as(comma):
        assert read_number("1,5") == 1.5 and read_number("1.5") == 1.5
    with pytest.raises(BadInput):
        read_number("1,5")


def test_a_page_changes_in_what_is_read_of_it() -> None:
    page = (
        '<script>"40 °C"</script><p title="40 °C">40 °C <b>at 14:30</b></p><input value="40 °C" '
        'placeholder="25 °C"><textarea>40 °C</textarea><option>14:30</option>'
        '<option value="14:30">14:30</option>'
        "<label>Air, °C</label>"
    )
    assert respell_page(page) == page
    with spelled_as(THEIRS):
        assert respell_page(page) == (
            '<script>"40 °C"</script><p title="104 °F">104 °F <b>at 2:30 pm</b></p><input value="40 °C" '
            'placeholder="77 °F"><textarea>40 °C</textarea><option>14:30</option>'
            '<option value="14:30">2:30 pm</option>'
            "<label>Air, °F</label>"
        )
        assert respell_all({"a": ["40 °C", 3, "<svg>1.5</svg>"]}) == {"a": ["104 °F", 3, "<svg>1.5</svg>"]}


def test_what_is_typed_without_a_unit_is_in_the_owners() -> None:
    with spelled_as(THEIRS):
        assert read_quantity("77", Kind.TEMPERATURE, default_unit="°C") == pytest.approx(298.15)
        assert read_quantity("25 °C", Kind.TEMPERATURE, default_unit="°C") == pytest.approx(298.15)
        assert read_quantity("30", Kind.SPEED, default_unit="km/h") == pytest.approx(30 * 0.44704)
        assert read_quantity("12", Kind.LENGTH, default_unit="mm") == pytest.approx(0.012)
        assert bare("68 (55 to 84)", "°C") == "154 (131 to 183)" and unit("°C") == "°F"
    assert read_quantity("9.9 oz", Kind.MASS) == pytest.approx(0.28066, rel=1e-4)
    assert bare("68 (55 to 84)", "°C") == "68 (55 to 84)"


def test_moments_are_understood_in_every_spelling() -> None:
    for typed in ("May 10, 2026 2:32 pm", "10 May 2026 14:32", "2026-05-10 2:32pm", "10 May 2026 2:32 p.m."):
        assert plain_moment(typed) == "2026-05-10 14:32", typed
    assert plain_moment("12 am") == "00:00" and plain_moment("yesterday") == "yesterday"
    assert plain_moment("about May") == "about May" and plain_moment("May 2026") == "May 2026"


def test_settings_name_a_spelling_and_what_is_unknown_is_ours() -> None:
    assert spelling_of({"temperature": "°F", "clock": "12 h", "speed": "furlongs", "zone": "UTC"}) == replace(
        OURS, temperature="°F", clock="12 h"
    )
    assert all(getattr(OURS, name) == choices[0] for name, choices in CHOICES.items())
