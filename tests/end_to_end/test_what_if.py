"""A what-if computes what a copy of the build file with the change written into it computes."""

from __future__ import annotations

import json
import re
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from lugwright.cli.app import app
from lugwright.cli.idle_command import quantities
from lugwright.workflow import open_build

EXAMPLES = Path(__file__).parents[2] / "examples"


def run(*arguments: object) -> Result:
    return CliRunner().invoke(app, [str(argument) for argument in arguments])


def edited(name: str, folder: Path, part: str, key: str, value: str) -> Path:
    """Return a copy of a demo build with one key of a part, or the type of a tube, written anew."""
    text = (EXAMPLES / name).read_text()
    line = rf'^{part} = "[^"]*"' if key == "type" else rf"^({part} = \{{.*\b{key} = )(\"[^\"]*\"|[0-9.]+)"
    new, count = re.subn(line, f"{part} = {value}" if key == "type" else rf"\g<1>{value}", text, flags=re.MULTILINE)
    assert count == 1
    path = folder / name
    path.write_text(new)
    return path


@pytest.mark.parametrize(
    ("name", "change", "key", "value"),
    [
        ("dunlin_5.toml", "R4=2k2", "value", '"2k2"'),
        ("dunlin_5.toml", "V1=12AT7", "type", '"12AT7"'),
        ("godwit_40.toml", "R49=40%", "setting", "0.4"),
    ],
)
def test_every_reading_is_that_of_the_edited_file(tmp_path: Path, name: str, change: str, key: str, value: str) -> None:
    result = run("idle", EXAMPLES / name, "--set", change, "--json")
    report = json.loads(result.stdout)
    copy = edited(name, tmp_path, change.partition("=")[0], key, value)
    original, other = ({q.name: q.value for q in quantities(open_build(path))} for path in (EXAMPLES / name, copy))
    assert {row["name"]: row["as_built"] for row in report["readings"]} == original
    assert {row["name"]: row["changed"] for row in report["readings"]} == other
    moved = [row for row in report["readings"] if row["difference"]]
    assert moved
    assert all(row["difference"] == row["changed"] - row["as_built"] for row in moved)


def test_less_negative_bias_is_seen_before_the_control_is_turned() -> None:
    before = {path: path.read_bytes() for path in EXAMPLES.glob("*.toml")}
    report = json.loads(run("bias", EXAMPLES / "godwit_40.toml", "--set", "R49=90%", "--json").stdout)
    heat = {row["name"]: row for row in report["readings"] if row["name"].endswith("plate heat")}
    assert sorted(heat) == ["V5 plate heat", "V6 plate heat"]
    assert all(row["changed"] > row["as_built"] + 1.0 for row in heat.values())
    assert {path: path.read_bytes() for path in EXAMPLES.glob("*.toml")} == before


def test_a_bigger_tube_is_warned_of_where_the_winding_is_too_small() -> None:
    result = run("check", EXAMPLES / "dunlin_5.toml", "--set", "V2=6L6GC")
    assert re.search(r"T1.heater heater load, RMS +\d+ mA \(\d+%\) +1\.\d\d A \(\d+%\)", result.stdout)
    assert result.stdout.startswith("Dunlin 5, what if: V2 = 6L6GC (was 6V6GT)\n")
