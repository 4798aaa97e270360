"""Plate curves of an example through the command line, one tube and all of them."""

from __future__ import annotations

import json
from pathlib import Path
from xml.etree import ElementTree

import pytest
from click.testing import CliRunner

from lugwright.cli.app import app

GODWIT = str(Path(__file__).parents[2] / "examples/godwit_40.toml")


def run(*arguments: str) -> str:
    result = CliRunner().invoke(app, list(arguments), catch_exceptions=False)
    assert result.exit_code == 0, result.output
    return result.stdout


def test_charts_and_numbers_agree_with_idle(tmp_path: Path) -> None:
    idle = json.loads(run("idle", GODWIT, "--json"))["idle"]["tubes"]
    report = json.loads(run("curves", GODWIT, "--out", str(tmp_path), "--json"))
    for found in report["curves"]:
        tube = idle[found["together"][0]]
        assert found["idle_plate_a"] == pytest.approx(tube["plate_a"], rel=1e-9)
        assert found["idle_plate_v"] == pytest.approx(tube["plate_to_cathode_v"], rel=1e-9)
    assert sorted(p.name for p in tmp_path.iterdir()) == sorted(Path(name).name for name in report["files"])
    for path in tmp_path.iterdir():
        root = ElementTree.parse(path).getroot()
        names = {e.get("data-series") for e in root.iter() if e.get("class") == "series"}
        assert {"DC load", "AC load", "0 V"} <= names


def test_one_tube_alone_can_be_asked_for(tmp_path: Path) -> None:
    text = run("curves", GODWIT, "--tube", "V5")
    assert [line.split()[0] for line in text.splitlines()[2:]] == ["V5,"]
    assert "30 W" in text


def test_eight_ohms_more_of_speaker_add_twice_as_much_to_a_pair_as_to_one_tube_alone() -> None:
    text = run("curves", GODWIT, "--tube", "V5", "--set", "LS1=16", "--json")
    rows = {row["name"]: row for row in json.loads(text)["readings"]}
    assert set(rows) >= {"V5 AC load", "V6 AC load", "V5 plate at 0 V on the grid"}
    both, alone = (rows[f"V5 AC load{words}"] for words in ("", ", other cut off"))
    assert both["difference"] / alone["difference"] == pytest.approx(2.0, rel=0.01)
    assert both["difference"] < both["as_built"]  # the copper of the transformer is in one and not in the other
