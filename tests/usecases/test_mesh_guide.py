"""The mesh of a car, as its owner asks.

Authority: laws of the rooms below (held there against published numbers), the limits of the contact ratio as
published, and trade practice where a test says so.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from xml.etree import ElementTree

import pytest

from snugfast.core.errors import SnugfastError
from snugfast.exchange.mesh_drawing import drawing, panels_of, teeth_enlarged, whole_pair
from snugfast.facts.load import build_document
from snugfast.physics.gears.mesh import MeshVerdict, Stripped
from snugfast.usecases.journal.cars import draft_car, starter
from snugfast.usecases.journal.keeping import keep
from snugfast.usecases.mechanics.mesh_guide import MeshGuide, MeshSaid, mesh_guide
from snugfast.usecases.shared.citing import figures_in, tell_figure
from snugfast.usecases.shared.workshop import Workshop
from tests.usecases.bench import with_truck, workshop_in_memory

pytestmark = pytest.mark.slow  # through a whole use-case: not in make check


@pytest.fixture(scope="module")
def workshop() -> Iterator[Workshop]:
    with workshop_in_memory() as (workshop, _):
        with_truck(workshop)
        yield workshop


def guide(workshop: Workshop, **said: str) -> MeshGuide:
    return mesh_guide(workshop, MeshSaid("Bramble", **said))


def test_the_gears_come_from_the_build(workshop: Workshop) -> None:
    answer = guide(workshop)
    assert (answer.pinion.gear.teeth, answer.spur.gear.teeth) == (15, 54)
    assert answer.now is None
    assert answer.wanted.verdict is MeshVerdict.GOOD
    assert answer.wanted.contact_ratio.value >= 1.2


def test_a_hit_either_way_is_no_longer_good_and_neither_way_is_forgotten(workshop: Workshop) -> None:
    """Practice: the motor moves on its slots either way; opened or closed, both strip gears."""
    opened, closed = guide(workshop, shift="0.6mm"), guide(workshop, shift="-0.2mm")
    assert opened.now and closed.now
    assert opened.now.verdict is MeshVerdict.SKIPS and not opened.now.drivable
    assert closed.now.verdict is MeshVerdict.BINDS and not closed.now.drivable
    assert "nearer" in opened.advice and "away" in closed.advice
    assert opened.strips_first is Stripped.SPUR


def test_contact_falls_and_play_grows_as_the_shafts_open(workshop: Workshop) -> None:
    settings = [guide(workshop, shift=f"{shift}mm").now for shift in (0.0, 0.1, 0.2, 0.3)]
    ratios = [at.contact_ratio.value for at in settings if at]
    plays = [at.backlash.value for at in settings if at]
    assert ratios == sorted(ratios, reverse=True)
    assert plays == sorted(plays)


def test_play_felt_at_the_rim_finds_the_shift_that_made_it(workshop: Workshop) -> None:
    shifted = guide(workshop, shift="0.25 mm").now
    assert shifted
    felt = guide(workshop, play=f"{shifted.rim_play.value * 1e3} mm").now
    assert felt
    assert felt.centre_distance.value == pytest.approx(shifted.centre_distance.value, abs=1e-9)


def test_paper_is_turned_into_play_between_its_two_bounds(workshop: Workshop) -> None:
    way = guide(workshop, paper="0.1 mm").paper
    assert way.play.low == pytest.approx(0.1e-3)
    assert way.play.high == pytest.approx(0.2e-3)
    one, both = way.gives
    assert one.contact_ratio.value > both.contact_ratio.value >= 1.2


def test_a_torque_overloads_narrow_teeth_before_wide_ones(workshop: Workshop) -> None:
    narrow = guide(workshop, torque="0.5 Nm", face="5 mm").teeth
    wide = guide(workshop, torque="0.5 Nm", face="10 mm").teeth
    assert [use.gear for use in narrow] == ["Spur gear"]  # steel is not in the table of plastics
    assert narrow[0].share.value == pytest.approx(2 * wide[0].share.value)


def test_the_width_of_the_teeth_may_stand_in_the_build(workshop: Workshop) -> None:
    """The narrower of the two carries the load, as if it was said."""
    build = starter(workshop, "truck-1-10-4wd-3s")
    wide = {"pinion": 8.0, "spur": 5.0}
    places = tuple(
        replace(place, sizes={**place.sizes, "face_mm": wide[place.role]}) if place.role in wide else place
        for place in build.places
    )
    keep(workshop, [draft_car(workshop, "Burr", replace(build, places=places))])
    built = mesh_guide(workshop, MeshSaid("Burr", torque="0.5 Nm")).teeth
    assert built == guide(workshop, torque="0.5 Nm", face="5 mm").teeth
    over = mesh_guide(workshop, MeshSaid("Burr", torque="0.5 Nm", face="10 mm")).teeth
    assert over[0].share.value == pytest.approx(0.5 * built[0].share.value)


@pytest.mark.parametrize(
    ("said", "helps"),
    [
        ({"pinion": "4"}, "14"),
        ({"pitch": "48"}, "48 DP"),
        ({"pitch": "broad"}, "module 0.8"),
        ({"play": "9 mm"}, "Hold the pinion"),
        ({"paper": "3 mm"}, "Office paper"),
        ({"shift": "-3 mm"}, "27.600"),
        ({"shift": "1 mm", "play": "1 mm"}, "one of the two"),
        ({"torque": "1 Nm"}, "the width of the narrower gear"),
    ],
)
def test_what_cannot_be_is_refused_with_a_suggestion(
    workshop: Workshop, said: dict[str, str], helps: str
) -> None:
    with pytest.raises(SnugfastError) as refused:
        guide(workshop, **said)
    assert helps in refused.value.way_out
    assert refused.value.exit_code == 2


def test_every_figure_says_where_it_comes_from(workshop: Workshop) -> None:
    answer = guide(workshop, shift="0.1 mm", torque="0.2 Nm", face="6 mm")
    figures = list(figures_in(answer))
    assert len(figures) > 15
    assert all(figure.origins for figure in figures)
    assert {source.seen for source in answer.sources} >= {"primary", "memory", "elicited"}


def test_a_pair_of_two_pitches_is_refused_and_names_both(workshop: Workshop) -> None:
    build = starter(workshop, "truck-1-10-4wd-3s")
    places = tuple(
        replace(place, sizes={**place.sizes, "pitch": "48 DP"}) if place.role == "pinion" else place
        for place in build.places
    )
    keep(workshop, [draft_car(workshop, "Thorn", replace(build, places=places))])
    assert build_document(build)
    with pytest.raises(SnugfastError, match="must not run together") as refused:
        mesh_guide(workshop, MeshSaid("Thorn"))
    assert "48 DP" in refused.value.way_out


def test_the_drawing_is_well_formed_and_to_scale(workshop: Workshop) -> None:
    """The tips of the drawn pinion reach as far from its shaft as its tip circle says."""
    answer = guide(workshop, shift="0.2 mm")
    assert answer.now
    mesh = answer.now.mesh
    panels = [whole_pair(mesh, "the pair"), teeth_enlarged(mesh, "now & here")]
    root = ElementTree.fromstring(drawing(panels))
    paths = root.iter("{http://www.w3.org/2000/svg}path")
    pinion = next(path for path in paths if path.get("class") == "gear pinion")
    points = [tuple(map(float, pair.split())) for pair in pinion.get("d", "").strip("MZ").split("L")]
    farthest_mm = max((x * x + y * y) ** 0.5 for x, y in points)
    assert farthest_mm == pytest.approx(mesh.pinion.tip_diameter_m * 500, abs=2e-3)
    assert "now &amp; here" in drawing(panels)


def test_each_drawing_says_which_state_it_shows_and_where_the_motor_goes(workshop: Workshop) -> None:
    opened = guide(workshop, shift="0.2 mm")
    assert opened.now and "good" not in opened.now.sentence and "Too much" in opened.advice
    assert opened.move and opened.move.value == pytest.approx(-0.2e-3, abs=1e-6)
    whole, now, wanted = panels_of(opened)
    assert whole.title == "the pair as it stands now" and "motor 0.20 mm nearer" in whole.body
    assert now.title == "the teeth now" and f"backlash {opened.now.backlash.value * 1e3:.2f} mm" in now.body  # type: ignore[union-attr]
    assert wanted.title == "the teeth as they should be" and "backlash 0.10 mm" in wanted.body
    assert "motor 0.20 mm nearer" in now.body and "motor" not in wanted.body
    right = panels_of(guide(workshop))
    assert [panel.title for panel in right] == ["the pair as it should be", "the teeth as they should be"]
    assert "nearer" not in right[0].body and "away" not in right[0].body
    closed = panels_of(guide(workshop, shift="-0.1 mm"))
    assert "motor 0.10 mm away" in closed[0].body


def test_backlash_is_told_no_finer_than_a_hand_sets_it(workshop: Workshop) -> None:
    assert tell_figure(guide(workshop).wanted.backlash) == "0.10 mm"
    assert tell_figure(guide(workshop).wanted.centre_distance) == "27.74 mm"


def test_a_usual_pinion_is_not_called_a_fault(workshop: Workshop) -> None:
    assert not guide(workshop, pinion="12").undercut
    assert "thin at the root" in guide(workshop, pinion="8").undercut


def test_a_torque_on_metal_gears_is_answered_with_what_is_not_known(workshop: Workshop) -> None:
    build = starter(workshop, "truck-1-10-4wd-3s")
    places = tuple(
        replace(place, material="hardened steel") if place.role == "spur" else place for place in build.places
    )
    keep(workshop, [draft_car(workshop, "Steel", replace(build, places=places))])
    with pytest.raises(SnugfastError, match="rate plastic gears only") as refused:
        mesh_guide(workshop, MeshSaid("Steel", torque="0.4 Nm", face="6 mm"))
    assert "without the torque" in refused.value.way_out
