"""``lugwright response``: what it asks for and what it prints."""

from __future__ import annotations

import sys
from dataclasses import replace
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from lugwright.buildfile.changes import Changed
from lugwright.cli.app import app
from lugwright.cli.response_command import _db
from lugwright.findings import Finding, Grade

from ...sample_response import CURVE, RESPONSE
from .small_job import Opened, Workflow


@pytest.fixture
def workflow(monkeypatch: pytest.MonkeyPatch) -> Workflow:
    stand_in = Workflow(Opened())
    monkeypatch.setitem(sys.modules, "lugwright.workflow", stand_in)
    return stand_in


def run(*arguments: str) -> Result:
    return CliRunner().invoke(app, ["response", "small.toml", *arguments])


def test_it_prints_every_answer(workflow: Workflow) -> None:
    lines = run().stdout.splitlines()
    assert lines[0] == "Small, small signals at idle, from J1.tip to LS1"
    assert "knobs as set   31.5 dB          42.0 Hz      -  800 kΩ  10.6 Ω" in lines
    assert any(line.split() == ["10.0", "kHz", "30.5", "dB"] for line in lines)
    assert any(line.split()[:5] == ["V1a", "grid", "to", "plate", "-58.4"] for line in lines)
    assert "Treble  R7    tone   10.0 dB  10.0 kHz" in lines
    assert any(
        line.startswith("Feedback: From T2.speaker.3 through R33 back to feedback: 6.2 dB less") for line in lines
    )
    assert "60.0 kHz         51°          -" in lines
    assert any(line.split() == ["68.8", "kHz", "0.14", "dies", "away", "V6.plate,", "V4b.plate"] for line in lines)
    assert lines[-1].split() == ["V1a", "plate", "current", "1.10", "mV", "38%"]


def test_what_is_asked_for_reaches_the_study(workflow: Workflow) -> None:
    arguments = ("--from", "in", "--to", "V2.plate", "--knob", "Treble=0,1", "--low", "20", "--high", "5000",
                 "--dummy", "--guitar", "10k", "--watts", "40")  # fmt: skip
    assert run(*arguments).exit_code == 0
    wish = workflow.opened.wishes[-1]
    assert (wish.source, wish.output, wish.knobs) == ("in", "V2.plate", (("Treble", (0.0, 1.0)),))
    assert (wish.low_hz, wish.high_hz, wish.resistive_speaker) == (20.0, 5000.0, True)
    assert (wish.guitar_ohm, wish.full_power_w) == (10e3, 40.0)


def test_a_knob_without_a_share_is_refused(workflow: Workflow) -> None:
    result = run("--knob", "Treble")
    assert result.exit_code == 2
    assert "'Treble' is not a knob and shares of its rotation such as Treble=0,0.5,1" in result.stderr


def test_ends_the_wrong_way_round_are_refused(workflow: Workflow) -> None:
    result = run("--low", "5000", "--high", "20")
    assert result.exit_code == 2
    assert "must lie above --low" in result.stderr


def test_a_chart_is_written_where_it_is_asked_for(workflow: Workflow, tmp_path: Path) -> None:
    assert run("--chart", str(tmp_path / "gain.svg")).exit_code == 0
    assert (tmp_path / "gain.svg").read_text(encoding="utf-8").endswith("</svg>\n")
    assert run("--chart", str(tmp_path / "nowhere" / "gain.svg")).exit_code == 4


def test_a_changed_part_moves_the_gain(workflow: Workflow) -> None:
    louder = replace(RESPONSE, curves=(replace(CURVE, gain_1khz_db=34.0, low_hz=None),))
    workflow.changed = Opened(changes=(Changed("R3", "value", "100k", "220k"),), answer=louder)
    text = run("--set", "R3=220k").stdout
    rows = [line.split("  ") for line in text.splitlines()]
    gain = next(row for row in rows if row[0] == "knobs as set, gain at 1 kHz")
    assert [cell.strip() for cell in gain if cell.strip()] == [
        "knobs as set, gain at 1 kHz",
        "31.5 dB",
        "34.0 dB",
        "+2.5 dB",
    ]
    assert any(row[0] == "knobs as set, 3 dB down below" and row[-1].strip() == "-" for row in rows)


def test_an_amplifier_that_oscillates_leaves_with_1(workflow: Workflow) -> None:
    workflow.opened.unstable = (
        Finding("will-oscillate", Grade.FAULT, "will oscillate at about 71 kHz", "a swing", "none", "mend it"),
    )
    result = run()
    assert result.exit_code == 1
    assert "fault: will oscillate at about 71 kHz [will-oscillate]" in result.stderr
    assert CliRunner().invoke(app, ["check", "small.toml"]).exit_code == 1


def test_decibels_that_round_to_nothing_have_no_sign() -> None:
    assert [_db(value) for value in (-0.04, 0.04, -0.06, 17.25)] == [
        "0.0 dB", "0.0 dB", "-0.1 dB", "17.2 dB",
    ]  # fmt: skip
