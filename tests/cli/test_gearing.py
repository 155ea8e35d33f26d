"""The gearing study on the command line."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from snugfast.cli.main import snugfast
from snugfast.core.errors import SnugfastError


@pytest.fixture(scope="module")
def workshop(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A workshop with a truck."""
    file = tmp_path_factory.mktemp("gearing") / "workshop.sqlite"
    begin = ["begin", "--by", "Pip", "--currency", "CRD", "--bench-minute", "0.15", "--running-minute", "0.4"]
    typed(file, *begin, "--zone", "UTC")
    typed(file, "car", "add", "Bramble", "--from", "truck-1-10-4wd-3s", "--yes")
    return file


def typed(file: Path, *words: str) -> Result:
    result = CliRunner().invoke(snugfast, ["--workshop", str(file), *words])
    if result.exception is not None and not isinstance(result.exception, SystemExit | SnugfastError):
        raise result.exception
    return result


def test_the_ladder_is_printed_with_todays_rung(workshop: Path) -> None:
    out = typed(workshop, "gearing", "Bramble", "--style", "speed_passes", "--pinions", "14-16").output
    rungs = [line for line in out.splitlines() if " on 54" in line and "mm" in line]
    assert [line.split(" on ")[0].split()[-1] for line in rungs] == ["14", "15", "16"]
    assert [line.startswith("* ") for line in rungs] == [False, True, False]
    assert "Beware" in out
    assert "Where the figures come from" in out
    assert "estimates" in out


def test_a_rung_has_its_curves_as_a_table(workshop: Path) -> None:
    said = ("--style", "speed_passes", "--pinions", "15", "--rung", "15/54")
    out = typed(workshop, "gearing", "Bramble", *said).output
    assert "Sprint from rest" in out
    assert "Driving" in out


def test_plain_data_is_json(workshop: Path) -> None:
    said = ("--style", "speed_passes", "--pinions", "15", "--json")
    study = json.loads(typed(workshop, "gearing", "Bramble", *said).output)
    assert study["rungs"][0]["pairs"][0]["pinion_teeth"] == 15
    for rung in study["rungs"]:
        for band in (rung["bands"]["top_speed"], rung["bands"]["settled"]["can"], rung["bands"]["run_time"]):
            assert band["low"] < band["value"] < band["high"]


@pytest.mark.parametrize(
    ("asked", "says"),
    [
        (("--bigger-tyre", "135mm"), "bring back today's rollout"),
        (("--passes", "--pinions", "24"), "passes"),
        (("--fan-stopped", "--style", "tarmac_laps", "--ambient", "35C"), "With its fan stopped"),
        (("--one-tooth", "--style", "speed_passes"), "One tooth more (16)"),
        (("--learner", "15km/h"), "Limit the throttle"),
    ],
)
def test_a_short_question_gets_one_sentence(workshop: Path, asked: tuple[str, ...], says: str) -> None:
    out = typed(workshop, "gearing", "Bramble", *asked).output
    assert says in out
    assert "!" in out


def test_a_fit_without_readings_says_what_to_read(workshop: Path) -> None:
    refused = typed(workshop, "gearing", "Bramble", "--fit").exception
    assert isinstance(refused, SnugfastError)
    assert "seconds after the stop" in refused.way_out


def test_a_fit_is_plain_data_too_and_tells_of_its_laps(tmp_path: Path) -> None:
    file = tmp_path / "workshop.sqlite"
    begin = ["begin", "--by", "Pip", "--currency", "CRD", "--bench-minute", "0.15", "--running-minute", "0.4"]
    typed(file, *begin, "--zone", "UTC")
    typed(file, "car", "add", "Bramble", "--from", "truck-1-10-4wd-3s", "--yes")
    run = ("ran", "Bramble", "2", "tarmac", "--ambient", "22", "--yes")
    typed(file, *run, "--reading", "lap club 32.5 s", "--reading", "motor can 40 °C 20 s")
    fit = json.loads(typed(file, "gearing", "Bramble", "--fit", "--json").output)
    assert [line["fits"] for line in fit["readings"]] == [True, True]
    assert (fit["laps"][0]["track"], fit["laps"][0]["laps"]) == ("lap club, tarmac", 1)
    words = typed(file, "gearing", "Bramble", "--fit").output
    assert "says nothing of the car yet" in words
    assert "32.5" in words


def test_two_questions_at_once_are_refused(workshop: Path) -> None:
    refused = typed(workshop, "gearing", "Bramble", "--passes", "--fit").exception
    assert isinstance(refused, SnugfastError)
    assert "Ask one" in refused.way_out
