"""``lugwright power``: what it asks for and what it prints."""

from __future__ import annotations

import json
import sys
from dataclasses import replace
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from lugwright.buildfile.changes import Changed
from lugwright.cli.app import app
from lugwright.errors import NoSteadyState
from lugwright.findings import Finding, Grade

from ...sample_power import POWER
from .small_job import Opened, Workflow


@pytest.fixture
def workflow(monkeypatch: pytest.MonkeyPatch) -> Workflow:
    stand_in = Workflow(Opened())
    monkeypatch.setitem(sys.modules, "lugwright.workflow", stand_in)
    return stand_in


def run(*arguments: str) -> Result:
    return CliRunner().invoke(app, ["power", "small.toml", *arguments])


def test_it_prints_every_answer(workflow: Workflow) -> None:
    text = run().stdout
    lines = [" ".join(line.split()) for line in text.splitlines()]
    assert lines[0] == "Small, a steady sine of 1.00 kHz at J1, into a resistor of 8.0 Ω"
    assert "5 % 2.20 W 80.0 mV 5.0%" in lines
    assert "full drive 4.90 W 320 mV 34.0%" in lines
    assert "50.0 mV 1.00 W 2.83 V 3.00% 280.0 V 13.0 W" in lines
    assert "First to run out of room: V2, by bottoming, from 130 mV at J1 on, 3.90 W at the speaker." in lines
    assert "2 2.90% 2.90% 20.00%" in lines
    assert "V2 40.0 mA 4.00 mA 8.00 W 2.60 W 90.0 mA 60.0 V" in lines
    assert "B+1 281.0 V 277.0 V 4.00 V" in lines
    assert "Two tones, 1.00 kHz and 1.20 kHz, 40.0 mV each: 1.10 W, products 6.8% in all" in lines
    assert "80.0 Hz 1.50 W 60.0 mV" in lines
    assert lines[-1] == (
        "Certificate: at every drive the volts at each tube close to 2e-08 of their peak, power in and power out "
        "differ by 1e-07, and from 32 to 64 harmonics none moves by more than 0.0003 of the first."
    )


def test_a_drive_that_was_not_reached_is_said(workflow: Workflow) -> None:
    workflow.opened.power = replace(POWER, stopped_at="no steady state found at 0.5 V", five_percent=None)
    text = run().stdout
    assert "No higher drive: no steady state found at 0.5 V." in text
    assert any(line.split() == ["5", "%", "-", "-", "-"] for line in text.splitlines())


def test_what_is_asked_for_reaches_the_solver(workflow: Workflow) -> None:
    assert run("--loudspeaker", "--hertz", "82", "--band").exit_code == 0
    wish = workflow.opened.power_wishes[-1]
    assert (wish.loudspeaker, wish.hertz, wish.band) == (True, 82.0, True)


def test_json_holds_the_power_and_the_ratings(workflow: Workflow) -> None:
    report = json.loads(run("--json").stdout)
    assert report["power"]["ten_percent"]["watts"] == 3.6
    assert report["power"]["full_drive"]["certificate"]["harmonics"] == 64
    assert report["ratings"][0]["rule"] == "screen-watts-driven"


def test_a_doubt_is_printed_and_leaves_with_0(workflow: Workflow) -> None:
    workflow.opened.overdriven = (
        Finding("screen-watts-driven", Grade.DOUBT, "screen heat of V2 is above its limit", "2.6 W", "2 W", "less"),
    )
    result = run()
    assert result.exit_code == 0
    assert "doubt: screen heat of V2 is above its limit [screen-watts-driven]" in result.stderr


def test_no_power_leaves_with_3(workflow: Workflow) -> None:
    workflow.opened.refusal = NoSteadyState(what="none", found="nothing", wanted="something", do="turn it up")
    result = run()
    assert result.exit_code == 3
    assert "error: none" in result.stderr
    assert result.stdout == ""


def test_a_chart_is_written_where_it_is_asked_for(workflow: Workflow, tmp_path: Path) -> None:
    assert run("--chart", str(tmp_path / "power.svg")).exit_code == 0
    assert "3.60 W at 10 %" in (tmp_path / "power.svg").read_text(encoding="utf-8")
    assert "drive for it" in (tmp_path / "power_band.svg").read_text(encoding="utf-8")


def test_a_changed_part_moves_the_power(workflow: Workflow) -> None:
    assert POWER.ten_percent is not None
    stronger = replace(POWER, ten_percent=replace(POWER.ten_percent, watts=4.1))
    workflow.changed = Opened(changes=(Changed("R3", "value", "100k", "220k"),), power=stronger)
    rows = [line.split("  ") for line in run("--set", "R3=220k").stdout.splitlines()]
    (row,) = [row for row in rows if row[0] == "power at 10 %"]
    assert [cell.strip() for cell in row if cell.strip()] == ["power at 10 %", "3.60 W", "4.10 W", "+500 mW"]
