"""Two amplifiers as a builder writes them first, mostly ready-made stages: every command tells the same story."""

from __future__ import annotations

import json
import shutil
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner
from pypdf import PdfReader

from lugwright.cli.app import app

SPECIMENS = sorted((Path(__file__).parent / "specimens").glob("*.toml"))
OUTPUTS = {"ruff_4": ("V2",), "turnstone_14": ("V3", "V4")}


@pytest.fixture(params=SPECIMENS, ids=lambda p: p.stem)
def build_file(request: pytest.FixtureRequest, tmp_path: Path) -> Path:
    """Return a copy of a specimen where files may be written beside it."""
    return Path(shutil.copy(request.param, tmp_path))


def told(command: str, build_file: Path, *options: str) -> Any:
    """Return what a command prints as JSON; it has to leave without fault."""
    result = CliRunner().invoke(app, [command, str(build_file), "--json", *options], catch_exceptions=False)
    assert result.exit_code == 0, result.output
    return json.loads(result.stdout)


def test_idle_curves_bias_and_charts_agree(build_file: Path) -> None:
    idle = told("idle", build_file)["idle"]
    bias = {row["tube"]: row for row in told("bias", build_file)["idle_setting"]["rows"]}
    sections = {name: c for c in told("curves", build_file)["curves"] for name in c["together"]}
    (idling,) = (step for step in told("charts", build_file)["steps"] if step["key"] == "all tubes")
    last = {r["point"]: r["expected"] for r in idling["readings"]}
    assert set(bias) == set(OUTPUTS[build_file.stem])
    for name, row in bias.items():
        tube = idle["tubes"][name]
        assert row["plate_a"] == pytest.approx(tube["plate_a"], rel=1e-9)
        assert sections[name]["idle_plate_a"] == pytest.approx(tube["plate_a"], rel=0.02)  # one chart for a pair
        assert sections[name]["idle_plate_v"] == pytest.approx(tube["plate_to_cathode_v"], rel=0.02)
    for joint in ("B+1", "B+2", "B+3"):  # the meter's 10 megohm divide with the dropping resistors, below 50k in all
        shown = last[f"{joint} to ground"] / idle["joints"][joint]["volts"]
        assert 1.0 - 50e3 / 10e6 < shown <= 1.0 + 1e-9


def test_power_begins_at_the_idle_and_ends_below_what_the_supply_gives(build_file: Path) -> None:
    idle = told("idle", build_file)["idle"]
    power = told("power", build_file)["power"]
    assert power["idle_b_plus_v"]["B+1"] == pytest.approx(idle["joints"]["B+1"]["volts"], rel=1e-3)
    for point in power["points"]:
        assert point["watts"] < point["supply_w"]
    assert power["five_percent"]["watts"] < power["ten_percent"]["watts"] < power["full_drive"]["watts"]


def test_the_plan_is_whole_and_the_bond_does_not_start_at_a_tube(build_file: Path) -> None:
    plan = told("plan", build_file)["plan"]
    (bond,) = (wire for wire in plan["wires"] if wire["bond"] == "W2")
    kinds = {plan["terminals"][key]["kind"] for key in bond["terminals"]}
    assert kinds == {"bus", "bolt"}


def test_ohms_law_holds_over_the_cathode_resistor_of_the_small_one() -> None:
    path = next(p for p in SPECIMENS if p.stem == "ruff_4")
    idle = told("idle", path)["idle"]
    tube = idle["tubes"]["V2"]
    current_a = tube["plate_a"] + tube["screen_a"] + tube["grid_a"]
    assert idle["joints"]["V2.cathode"]["volts"] == pytest.approx(240.0 * current_a, rel=1e-3)
    assert idle["windings"]["T1.hv"]["rated_a"] == 0.08


def test_the_book_of_the_small_one_has_its_watts_and_its_cathode_reading(tmp_path: Path) -> None:
    path = Path(shutil.copy(next(p for p in SPECIMENS if p.stem == "ruff_4"), tmp_path))
    out = tmp_path / "book"
    told("book", path, "--out", str(out), "--paper", "Letter")
    text = "\n".join(page.extract_text() for page in PdfReader(out / "ruff_4_letter.pdf").pages)
    assert "no output power is promised" not in text.lower()
    assert "EF86" in text
    rows = (out / "tables" / "idle_setting.csv").read_text(encoding="utf-8").splitlines()
    assert len(rows) == 2
    assert rows[1].startswith("V2,")
