"""A demo build without its strips and bus: proposed, planned, kept, pasted back."""

from __future__ import annotations

import json
import tomllib
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from lugwright.cli.app import app

EXAMPLE = Path(__file__).parents[2] / "examples" / "dunlin_5.toml"


def run(*arguments: str) -> Result:
    result = CliRunner().invoke(app, [*arguments])
    assert result.exit_code == 0, result.output
    return result


@pytest.fixture
def bare(tmp_path: Path) -> Path:
    """Return the build file with everything from [strips] on cut away."""
    text = EXAMPLE.read_text(encoding="utf-8")
    file = tmp_path / "bare.toml"
    file.write_text(text[: text.index("[strips]")], encoding="utf-8")
    return file


def test_proposed_strips_are_kept_pasted_and_no_worse_than_those_of_the_demo(bare: Path) -> None:
    answer = json.loads(run("strips", str(bare), "--json").stdout)
    assert all(strip["proposed"] for strip in answer["strips"])
    assert [bus["joint"] for bus in answer["buses"]] == ["ground"]
    assert answer["lugs"]["spare"] >= answer["lugs"]["spare_wanted"]
    plan = json.loads(run("plan", str(bare), "--json").stdout)["plan"]
    assert {t["owner"] for t in plan["terminals"].values() if t["kind"] == "foot"} == {
        strip["name"] for strip in answer["strips"]
    }
    assert sum(plan["cost"].values()) == pytest.approx(answer["cost"])
    table = run("strips", str(bare)).stdout
    assert {name: strip["lugs"] for name, strip in tomllib.loads(table)["strips"].items()} == {
        strip["name"]: strip["lugs"] for strip in answer["strips"]
    }
    bare.write_text(bare.read_text(encoding="utf-8") + table, encoding="utf-8")
    pasted = json.loads(run("plan", str(bare), "--json").stdout)["plan"]
    assert pasted["seats"] == plan["seats"]
    assert pasted["strips"] == []


def test_afresh_says_what_would_be_proposed_and_writes_nothing(tmp_path: Path) -> None:
    file = tmp_path / "dunlin.toml"
    file.write_text(EXAMPLE.read_text(encoding="utf-8"), encoding="utf-8")
    afresh = json.loads(run("strips", str(file), "--afresh", "--json").stdout)
    assert list(tmp_path.iterdir()) == [file]
    stated = json.loads(run("strips", str(file), "--json").stdout)
    assert not any(strip["proposed"] for strip in stated["strips"])
    assert afresh["cost"] <= stated["cost"]
    assert sum(s["lugs"] for s in afresh["strips"]) < sum(s["lugs"] for s in stated["strips"])
