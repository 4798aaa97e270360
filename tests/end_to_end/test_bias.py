"""`lugwright bias` on every demonstration build, with readings as a builder takes them."""

from __future__ import annotations

import json
import shutil
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner, Result

from lugwright.cli.app import app

EXAMPLES = Path(__file__).parents[2] / "examples"
READ = {
    "dunlin_5": ["V2 = 14.21 V", "V2 plate = 255.4 V"],
    "curlew_18": ["V4 = 10.31 V", "V5 = 10.02 V", "V4 plate = 296.0 V"],
    "godwit_40": ["V5 = 52.1 mV", "V6 = 46.3 mV", "V5 plate = 401.0 V"],
    "redshank_50": ["V6 = 36.0 mV", "V7 = 41.2 mV", "V7 pin 3 = 391.0 V"],
}


def run(*arguments: str | Path) -> Result:
    return CliRunner().invoke(app, [str(argument) for argument in arguments])


def measured(path: Path, texts: list[str], *more: str) -> dict[str, Any]:
    options = [piece for text in texts for piece in ("--reading", text)]
    result = run("bias", path, *options, "--json", *more)
    assert result.exit_code in (0, 1), result.output
    report = json.loads(result.stdout)
    found: dict[str, Any] = report["measured"]
    return found


@pytest.mark.parametrize("name", sorted(READ))
def test_currents_follow_from_the_readings_and_the_way_leads_to_the_aim(name: str) -> None:
    found = measured(EXAMPLES / f"{name}.toml", READ[name])
    for tube in found["tubes"]:
        cathode, screen, plate = (tube[f"{of}_a"]["value"] for of in ("cathode", "screen", "plate"))
        assert plate == pytest.approx(cathode - screen)
        assert 0.03 * cathode < screen < 0.2 * cathode
        assert tube["plate_w"]["value"] == pytest.approx(plate * tube["plate_to_cathode_v"]["value"])
        assert tube["share"]["value"] == pytest.approx(tube["plate_w"]["value"] / tube["plate_limit_w"])
    advice = found["advice"]
    target = advice["target"]
    assert target["least"] <= target["aim"] <= target["most"]
    if advice["set_to"]:
        assert all(way["reached"] for way in advice["set_to"])
        hottest = max(tube["share"] for way in advice["set_to"] for tube in way["tubes"])
        assert hottest == pytest.approx(target["aim"], abs=0.01)
        assert advice["resistors"] == []
    else:
        (best,) = (row for row in advice["resistors"] if row["best"])
        assert abs(best["share"] - target["aim"]) <= min(
            abs(row["share"] - target["aim"]) for row in advice["resistors"]
        )


def test_a_hot_tube_is_turned_down_and_a_cold_one_up() -> None:
    one, other = measured(EXAMPLES / "redshank_50.toml", ["V6 = 30.0 mV", "V7 = 60.0 mV"])["advice"]["set_to"]
    assert (one["control"], other["control"]) == ("R65 Bias V6 (V6)", "R68 Bias V7 (V7)")
    assert one["words"].startswith("clockwise by")
    assert other["words"].startswith("counterclockwise by")


def test_far_too_much_current_is_a_danger_and_leaves_with_1() -> None:
    result = run("bias", EXAMPLES / "godwit_40.toml", "--reading", "V5 = 190 mV", "--reading", "V6 = 185 mV")
    assert result.exit_code == 1
    assert "danger: V5 draws far too much: switch off now [idle-switch-off]" in result.stderr
    assert "no current or watt is worked out" in result.stdout


def test_readings_that_fit_nothing_are_handed_over_to_trace() -> None:
    result = run("bias", EXAMPLES / "godwit_40.toml", "--reading", "V5 = 0.1 mV", "--reading", "V6 pin 8 = 44.2 mV")
    assert result.exit_code == 1
    assert (
        'Plug out. To look for the fault: lugwright trace godwit_40.toml --step "all tubes" --reading "V5.cathode = '
        '0.1 mV" --reading "V6.cathode = 44.2 mV"\n'
    ) in result.stdout


@pytest.mark.parametrize(
    "reading",
    ["V5", "=", "V5 = ", "V5 = x", "V5 = 34,2 mV", "V5 = 1e400 V", "V5 = -5 ohm", "V55 = 3 V", "V5 plate = 90 kV",
     "V5 = 3 V\x00", "V" * 5000 + " = 1 V", "V5 = " + "9" * 5000, "V1 = 3 mV", "V5 = 3 Vac"],
)  # fmt: skip
def test_hostile_readings_are_refused_in_four_lines(reading: str) -> None:
    result = run("bias", EXAMPLES / "godwit_40.toml", "--reading", reading)
    assert result.exit_code == 2
    assert result.stdout == ""
    for line in ("error: ", "  found:  ", "  wanted: ", "  do:     "):
        assert line in result.stderr


def test_readings_written_down_are_found_again(tmp_path: Path) -> None:
    path = Path(shutil.copy(EXAMPLES / "dunlin_5.toml", tmp_path / "amp.toml"))
    assert run("read", path, "--step", "all tubes", "V2 pin 8", "14.21 V", "V2 pin 3", "255.4 V").exit_code == 0
    logged = json.loads(run("bias", path, "--json").stdout)["measured"]
    given = measured(EXAMPLES / "dunlin_5.toml", READ["dunlin_5"])
    assert logged["read_on"]
    for key in ("cathode_a", "plate_w", "share"):
        assert logged["tubes"][0][key]["value"] == pytest.approx(given["tubes"][0][key]["value"])
    assert json.loads(run("bias", path, "--computed", "--json").stdout)["measured"] is None


def test_a_log_that_cannot_be_read_is_told_of_and_left_as_it_is(tmp_path: Path) -> None:
    path = Path(shutil.copy(EXAMPLES / "dunlin_5.toml", tmp_path / "amp.toml"))
    log = path.with_suffix(".log.sqlite")
    log.write_bytes(b"\x00" * 4096)
    result = run("bias", path)
    assert result.exit_code == 2
    assert "amp.log.sqlite" in result.stderr
    assert log.read_bytes() == b"\x00" * 4096
