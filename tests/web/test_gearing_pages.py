"""The pages about gearing, judged by their HTML, and the charts by what they draw."""

from __future__ import annotations

import itertools
import re
import xml.etree.ElementTree as ElementTree

import pytest
from starlette.testclient import TestClient

from snugfast.web.line_chart import Level, Line, line_chart, nice_step
from tests.web.parsed import Node, Page


def rungs_of(page: Page) -> list[Node]:
    return [item for item in page.root.all("details") if "rung" in item.classes]


def test_the_pairs_stand_from_short_to_tall_with_today_marked(client: TestClient, gearing: str) -> None:
    page = Page.of(client.get(f"{gearing}?style=speed_passes&pinions=14-16"))
    rungs = rungs_of(page)
    assert [next(rung.all("b")).text.split(" on ")[0] for rung in rungs] == ["14", "15", "16"]
    assert ["today" in rung.text for rung in rungs] == [False, True, False]
    assert "keep people behind the driver" in page.root.text


def test_every_pair_is_drawn_and_said_and_stands_in_a_table(client: TestClient, gearing: str) -> None:
    page = Page.of(client.get(f"{gearing}?style=speed_passes&pinions=14-16"))
    for rung in rungs_of(page):
        assert re.search(r"top speed, km/h\s*\d+ \(\d+–\d+\)", rung.text)
        assert re.search(r"\d+ km/h, motor (\d+°|burns)", rung.text)
        assert re.search(r"Runs (about )?\d+ \(\d+–\d+\) min", rung.text)
        widths = [float(one.attributes["width"].rstrip("%")) for one in rung.all("rect")]
        assert all(0.0 <= width <= 100.0 for width in widths)
    rows = list(page.root.where("table").all("tr"))
    assert len(rows) == 4


def test_what_the_mount_does_not_reach_comes_last(client: TestClient, gearing: str) -> None:
    """Law: short to tall within each, and one line between; before, an 8-tooth pinion stood on top."""
    page = Page.of(client.get(f"{gearing}?pinions=8,14-16"))
    pinions = [one.text.split()[0] for one in page.root.all("span") if "teeth" in one.classes]
    assert pinions == ["14", "15", "16", "8"]
    assert [one.text for one in page.root.all("p") if "mount" in one.text] == [
        "Out of the motor mount’s reach:"
    ]


def test_each_curve_has_a_table_under_it(client: TestClient, gearing: str) -> None:
    page = Page.of(client.get(f"{gearing}?style=speed_passes&pinions=15,16&rung=16/54"))
    charts = [one for one in page.root.all("svg") if "chart" in one.classes]
    tables = [one for one in page.root.all("table") if "figures" in one.classes]
    assert len(charts) == 2
    assert len(tables) == 3  # one of all pairs, one under each curve
    assert all(chart.attributes["aria-label"] for chart in charts)
    assert "16 on 54" in page.root.where("h2", id="rung").text


@pytest.mark.parametrize(
    ("asked", "says"),
    [
        ("tyres?tyre=135", "bring back today's rollout"),
        ("passes?pinions=24", "passes"),
        ("fan?style=tarmac_laps&ambient=35", "With its fan stopped"),
        ("learner?to=15", "Limit the throttle"),
    ],
)
def test_a_short_question_gets_one_sentence(client: TestClient, gearing: str, asked: str, says: str) -> None:
    page = Page.of(client.get(f"{gearing}/{asked}"))
    line = next(one for one in page.root.all("p") if "answer-line" in one.classes)
    assert says in line.text


@pytest.mark.parametrize(
    "asked",
    ["?pinions=abc", "?style=flying", "/tyres?tyre=x", "/learner?to=fast", "?pinions=10-90&spurs=40-60"],
)
def test_what_cannot_be_used_says_so_on_the_page(client: TestClient, gearing: str, asked: str) -> None:
    answer = client.get(f"{gearing}{asked}")
    assert answer.status_code == 422
    assert Page.of(answer).root.where("div", role="alert").text


@pytest.mark.parametrize("question", ["tyres", "learner"])
def test_a_bare_question_asks_for_its_number(client: TestClient, gearing: str, question: str) -> None:
    """Its address alone gave 422."""
    page = Page.of(client.get(f"{gearing}/{question}"))
    assert page.status == 200
    assert page.form(f"{gearing}/{question}").values


def test_fitting_without_readings_says_what_to_read(client: TestClient, gearing: str) -> None:
    answer = client.post(f"{gearing}/fit", headers={"Origin": str(client.base_url)})
    assert answer.status_code == 422
    assert "no reading" in Page.of(answer).root.text


def test_a_car_that_is_not_there_has_no_gearing(client: TestClient) -> None:
    answer = client.get("/cars/00000000-0000-0000-0000-000000000000/gearing")
    assert answer.status_code == 404


# Charts.


@pytest.mark.parametrize(("far", "drawn"), [(1.1, True), (1.59, True), (1.61, False), (8.0, False)])
def test_a_level_far_above_the_curves_neither_presses_them_flat_nor_is_drawn(far: float, drawn: bool) -> None:
    """Curves end at 50: a level to 80 is drawn inside the frame, one above it is left to the words."""
    svg = str(
        line_chart(
            title="heat",
            along="minutes",
            up="°C",
            lines=[Line("can", [(0.0, 20.0), (10.0, 50.0)])],
            levels=[Level("limit", 50.0 * far)],
        )
    )
    assert ("limit" in svg) is drawn
    across = [float(y) for y in re.findall(r'class="level" d="M[\d.]+ ([-\d.]+)H', svg)]
    assert len(across) == drawn and all(12.0 <= y <= 226.0 for y in across)
    (points,) = re.findall(r'points="([^"]+)"', svg)
    first, last = (float(point.split(",")[1]) for point in points.split())
    assert first - last > 50.0, "a quarter of the paper at least is left to the curve"


def test_a_chart_holds_its_curves_inside_and_names_each() -> None:
    """Law: points inside the drawing, one name for each curve, names apart, text escaped."""
    lines = [Line(f"line <{n}>", [(0.0, 20.0 + n), (30.0, 80.0 + n)]) for n in range(4)]
    drawn = ElementTree.fromstring(
        str(line_chart(title="heat", along="minutes", up="°C", lines=lines, levels=[Level("limit", 90.0)]))
    )
    curves = drawn.findall("polyline")
    assert len(curves) == 4
    for curve in curves:
        for point in curve.attrib["points"].split():
            x, y = (float(part) for part in point.split(","))
            assert 0.0 < x < 420.0
            assert 0.0 < y < 260.0
    names = [text for text in drawn.findall("text") if text.attrib["class"] == "name"]
    assert {name.text for name in names} == {line.name for line in lines}
    heights = sorted(float(name.attrib["y"]) for name in names)
    assert all(low + 13.0 <= high for low, high in itertools.pairwise(heights))
    assert len({curve.attrib["class"] for curve in curves}) == 4


def test_no_points_draw_nothing() -> None:
    assert line_chart(title="", along="", up="", lines=[Line("", [])]) == ""


@pytest.mark.parametrize(("span", "step"), [(1.0, 0.2), (66.0, 20.0), (100.0, 20.0), (24.8, 5.0), (0.0, 1.0)])
def test_steps_are_round(span: float, step: float) -> None:
    assert nice_step(span) == pytest.approx(step)
