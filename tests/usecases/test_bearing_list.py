"""The bearings of some cars, as their owner orders them.

Authority: counts by hand from the starter build, the printed ratings of the table, and the life rule's law.
"""

from __future__ import annotations

from collections.abc import Iterator

import pytest

from snugfast.core.errors import SnugfastError
from snugfast.physics.bearings.drag import HubVerdict
from snugfast.usecases.mechanics.bearing_list import BearingList, BearingsSaid, bearing_list
from snugfast.usecases.shared.citing import figures_in
from snugfast.usecases.shared.workshop import Workshop
from tests.usecases.bench import with_truck, workshop_in_memory

pytestmark = pytest.mark.slow  # through a whole use-case: not in make check


@pytest.fixture(scope="module")
def workshop() -> Iterator[Workshop]:
    with workshop_in_memory() as (workshop, _):
        with_truck(workshop)
        with_truck(workshop, "Thorn")
        yield workshop


def listed(workshop: Workshop, *cars: str, **said: str) -> BearingList:
    return bearing_list(workshop, BearingsSaid(cars, **said))  # type: ignore[arg-type]


def test_the_order_counts_all_cars_by_size_and_seal(workshop: Workshop) -> None:
    """Counted by hand: two pinion shafts of two, four outer wheel bearings, twice over."""
    one = {line.size: line for line in listed(workshop, "Bramble").order}
    both = {line.size: line for line in listed(workshop).order}
    assert one["5 × 11 × 4"].count == 8
    assert both["5 × 11 × 4"].count == 16
    assert one["10 × 15 × 4"].count == 8
    price = one["5 × 11 × 4"].price
    assert price and price.value == pytest.approx(8 * 1.80) and price.unit == "CRD"
    assert both["5 × 11 × 4"].price and one["5 × 11 × 4"].price
    assert both["5 × 11 × 4"].price.value == pytest.approx(2 * one["5 × 11 × 4"].price.value)
    assert any("Thorn" in where for where in both["5 × 11 × 4"].where)


def test_every_bearing_of_the_places_is_on_the_order(workshop: Workshop) -> None:
    answer = listed(workshop)
    assert sum(line.count for line in answer.order) == sum(place.count for place in answer.places)


def test_ratings_name_the_publishers_that_differ(workshop: Workshop) -> None:
    """5 × 8 differs most between publishers: 218 to 310 N."""
    life = next(life for life in listed(workshop, "Bramble").lives if life.size.startswith("5 × 8"))
    assert life.rating and (life.rating.low, life.rating.high) == (218.0, 310.0)
    assert life.least_from != life.most_from


def test_life_falls_with_the_cube_of_the_load_and_is_not_what_ends_a_bearing(workshop: Workshop) -> None:
    light, heavy = (
        next(life for life in listed(workshop, "Bramble", load=load).lives if life.size == "5 × 11 × 4")
        for load in ("10 N", "20 N")
    )
    assert light.life and heavy.life
    assert light.life.value == pytest.approx(8 * heavy.life.value)
    assert heavy.life.value > 1000.0  # hours: more than a car is driven
    assert "dirt" in heavy.sentence


def test_a_dragging_bearing_softens_its_hub_and_a_free_one_does_not(workshop: Workshop) -> None:
    for drag, verdict in (("0.001 Nm", HubVerdict.STAYS_HARD), ("0.5 Nm", HubVerdict.MELTS)):
        heats = [heat for heat in listed(workshop, "Bramble", drag=drag).heat if "wheel" in heat.name]
        assert heats and all(heat.verdict is verdict for heat in heats)


def test_a_seized_wheel_bearing_is_worse_the_faster_the_car(workshop: Workshop) -> None:
    slow, fast = (listed(workshop, "Bramble", speed=speed).heat for speed in ("10 km/h", "60 km/h"))
    assert all(f.temperature.value > s.temperature.value for s, f in zip(slow, fast, strict=True))


def test_motor_bearings_sit_in_metal_and_are_not_judged_by_plastic(workshop: Workshop) -> None:
    assert not any("Motor" in heat.name for heat in listed(workshop).heat)


def test_every_figure_says_where_it_comes_from(workshop: Workshop) -> None:
    answer = listed(workshop)
    assert all(figure.origins for figure in figures_in(answer))
    assert {"primary", "memory", "elicited"} <= {source.seen for source in answer.sources}


@pytest.mark.parametrize(
    ("said", "helps"),
    [
        ({"load": "0 N"}, "above zero"),
        ({"speed": "fast"}, "km/h"),
        ({"air": "90"}, "°C"),
        ({"drag": "-1"}, "above"),
    ],
)
def test_what_cannot_be_is_refused_with_a_suggestion(
    workshop: Workshop, said: dict[str, str], helps: str
) -> None:
    with pytest.raises(SnugfastError) as refused:
        listed(workshop, **said)
    assert helps in f"{refused.value.sentence} {refused.value.way_out}"


def test_no_cars_make_an_empty_list() -> None:
    with workshop_in_memory() as (workshop, _):
        answer = listed(workshop)
    assert answer.cars == () and answer.order == ()


def test_a_damaged_bearing_hums_higher_the_faster_it_turns(workshop: Workshop) -> None:
    """*Law*: in proportion to speed; a motor hums above a wheel; both rings together beat once a ball."""
    slow, fast = (listed(workshop, "Bramble", speed=speed).hums for speed in ("2 m/s", "4 m/s"))
    assert len(slow) == len(fast) >= 5
    for one, other in zip(slow, fast, strict=True):
        assert other.outer.value == pytest.approx(2 * one.outer.value)
        assert one.outer.value < one.inner.value
        assert one.outer.low is not None and one.outer.high is not None
        assert one.outer.low < one.outer.value < one.outer.high
        assert one.outer.origins and "beats a turn" in one.sentence
        turns_Hz = one.outer.value / one.outer_per_turn.value
        balls = (one.outer.value + one.inner.value) / turns_Hz
        assert balls == pytest.approx(round(balls))
    by_name = {hum.name: hum.outer.value for hum in slow}
    assert by_name["Motor bearings"] > 5 * by_name["Outer wheel bearings"]
    swinging = {place.name for place in listed(workshop, "Bramble").places} - set(by_name)
    assert any("Bellcrank" in name for name in swinging)  # it swings and never turns round
