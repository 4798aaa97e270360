"""Tubes measured, fitted, matched, and put back into the build they came from."""

from __future__ import annotations

import json
import re
import tomllib
from pathlib import Path
from xml.etree import ElementTree

import pytest
from click.testing import CliRunner, Result

from lugwright.cli.app import app

GODWIT = Path(__file__).parents[2] / "examples/godwit_40.toml"
READINGS = """tube,grid_v,plate_v,screen_v,plate_ma,screen_ma
red,-41,405,405,36.0,2.1
red,-35,405,405,60.0,3.6
blue,-41,405,405,45.0,2.4
blue,-35,405,405,72.0,4.1
green,-41,405,405,37.0,2.0
green,-35,405,405,61.0,3.7
"""


def run(*arguments: str, code: int = 0) -> Result:
    result = CliRunner().invoke(app, list(arguments), catch_exceptions=False)
    assert result.exit_code == code, result.output
    return result


@pytest.fixture
def readings(tmp_path: Path) -> str:
    path = tmp_path / "three.csv"
    path.write_text(READINGS)
    return str(path)


def test_three_tubes_give_one_pair_and_one_left_over(readings: str, tmp_path: Path) -> None:
    out = tmp_path / "fits"
    report = json.loads(
        run("fit", readings, "--type", "6L6GC", "--match", "pairs", "--at", "405,405,-41", "--out", str(out), "--json")
        .stdout
    )  # fmt: skip
    assert report["matching"]["groups"][0]["tubes"] == ["red", "green"]
    assert report["matching"]["left_over"] == ["blue"]
    read = {"red": 0.036, "blue": 0.045, "green": 0.037}
    assert all(fit["plate_a"] == pytest.approx(read[fit["tube"]], rel=0.04) for fit in report["fits"])
    svg = ElementTree.parse(out / "01_red_plate.svg").getroot()
    marks = next(e for e in svg.iter() if e.get("class") == "dots" and e.get("data-series") == "read")
    assert len(marks) == 2
    kept = tomllib.loads((out / "02_blue.toml").read_text())
    assert kept["measured"]["emission"] == pytest.approx(report["fits"][1]["specimen"]["emission"], abs=1e-4)


def test_the_printed_line_put_into_the_build_gives_that_tubes_current(readings: str, tmp_path: Path) -> None:
    text = run("fit", readings, "--type", "6L6GC", "--idle-of", str(GODWIT), "V5").stdout
    assert "idle of V5, godwit_40.toml" in text
    line = re.findall(r"For the build file: (.*)", text)[1]  # blue
    build = tmp_path / "godwit_40.toml"
    build.write_text(GODWIT.read_text().replace('V5 = "6L6GC"', f"V5 = {line}"))
    idle = json.loads(run("idle", str(build), "--json").stdout)["idle"]["tubes"]
    (point,) = re.findall(r"blue +([\d.]+) ±", text)
    assert idle["V5"]["plate_a"] == pytest.approx(float(point) / 1e3, rel=0.05)  # the supply gives way a little
    assert idle["V5"]["plate_a"] > 1.02 * idle["V6"]["plate_a"]


def test_a_bad_file_prints_every_mistake_and_no_number(tmp_path: Path) -> None:
    path = tmp_path / "bad.csv"
    path.write_text("grid_v,plate_v,screen_v,plate_ma\n41,405,400,36\n-41,volts,400,36\n")
    result = run("fit", str(path), "--type", "6L6GC", code=2)
    assert result.stdout == ""
    assert result.stderr.count("[bad-reading]") == 2


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (("--type", "6L6GC", "--at", "405"), "is not plate, screen and grid volts"),
        (("--type", "6L6GC", "--at", "405,405,-41", "--idle-of", "amp.toml", "V5"), "give one"),
        (("--type", "6L6GX"), "6L6GC"),
        (("--type", "6L6GC", "--idle-of", str(GODWIT), "V99"), "has no tube section 'V99'"),
        (("--type", "6L6GC", "--at", "405,nan,-41"), "is not plate, screen and grid volts"),
        (("--type", "6L6GC", "--at", "405,1e9,-41"), "is not plate, screen and grid volts"),
        (
            ("--type", "6L6GC", "--at", "405,-41"),
            "error: the volts to compare at are not those of a beam tetrode\n"
            "  found:  no voltage for the screen (as asked for)\n"
            "  wanted: plate, screen and grid volts for the 6L6GC\n"
            "  do:     name a tube of its kind, or write the volts with --at\n",
        ),
        (
            ("--type", "6L6GC", "--idle-of", str(GODWIT), "V1a"),
            "no voltage for the screen (idle of V1a, godwit_40.toml)",
        ),
    ],
)
def test_a_wrong_command_line_is_told(readings: str, arguments: tuple[str, ...], words: str) -> None:
    assert words in run("fit", readings, *arguments, code=2).output
