"""What ``lugwright start`` prints."""

from __future__ import annotations

import sys

import pytest
from click.testing import CliRunner, Result

from lugwright.cli.app import app
from lugwright.findings import Finding, Grade

from .small_job import Opened, Workflow

FAULT = Finding("fuse-melting", Grade.FAULT, "fuse F1 blows at switch-on", "9 A²s", "less", "use a limiter")


@pytest.fixture
def workflow(monkeypatch: pytest.MonkeyPatch) -> Workflow:
    stand_in = Workflow(Opened())
    monkeypatch.setitem(sys.modules, "lugwright.workflow", stand_in)
    return stand_in


def run(*arguments: str) -> Result:
    return CliRunner().invoke(app, ["start", "small.toml", *arguments])


def test_the_tables_of_a_start(workflow: Workflow) -> None:
    assert run().stdout.splitlines() == [
        "Small: everything switched on together, everything cold, nominal mains",
        "",
        "switched on               highest mains current  RMS, first cycle  RMS, twelfth cycle",
        "------------------------  ---------------------  ----------------  ------------------",
        "as the mains passes zero                 4.20 A            2.10 A              400 mA",
        "at the peak of the mains                 6.30 A            2.20 A              400 mA",
        "A core may saturate at switch-on, which is not computed. The copper alone would let 60.0 A through, 15 A²s "
        "in a half cycle: about the most a start can take.",
        "",
        "fuse  at idle  highest  A²s, worst half cycle  supply shorted  smallest slow fuse that stands it",
        "----  -------  -------  ---------------------  --------------  ---------------------------------",
        "F1     210 mA   6.30 A                   0.12          3.10 A                             500 mA",
        "",
        "tube  kind                 heater current, cold  half its current  nine tenths",
        "----  -------------------  --------------------  ----------------  -----------",
        "V1    heater                          3.8 times             9.8 s       13.9 s",
        "V2    filament, rectifier             3.6 times             1.7 s        later",
        "",
        "capacitor   idle  highest     at  mains +10 %  rated  surge  to 60 V, warm  to 60 V, cold",
        "---------  -----  -------  -----  -----------  -----  -----  -------------  -------------",
        "C1         251 V    330 V  4.2 s        363 V  350 V  385 V          3.1 s          never",
        "",
        "Never trust a time to 60 V: a bleeder can be open. Plug out, wait, and measure every filter capacitor before "
        "a hand goes in.",
    ]


def test_other_starts_stand_below(workflow: Workflow) -> None:
    text = run("--standby", "25", "--silicon", "--out", "plots").stdout
    assert "S2 closed after 25 s: highest mains current 6.30 A\njoint  highest cycle mean\n" in text
    assert "silicon in place of the rectifier tube: highest mains current 6.30 A" in text
    assert text.endswith("wrote plots/start.svg\n")


def test_a_build_without_mains(workflow: Workflow) -> None:
    workflow.opened.start = None
    assert run().stdout == "There is no mains inlet in this build, so there is nothing to switch on.\n"


def test_findings_of_the_start_decide_the_exit_code(workflow: Workflow) -> None:
    workflow.opened.start_ratings = ((), (FAULT,))
    result = run()
    assert result.exit_code == 1
    assert "fault: fuse F1 blows at switch-on [fuse-melting]" in result.stderr
