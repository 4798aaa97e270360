"""What ``curves`` prints, and which tubes it can be asked for."""

from __future__ import annotations

import sys

import pytest
from click.testing import CliRunner

from lugwright.cli.app import app

from .small_job import Opened, Workflow


@pytest.fixture(autouse=True)
def workflow(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(sys.modules, "lugwright.workflow", Workflow(Opened()))


@pytest.mark.parametrize("arguments", [(), ("--tube", "V1")])
def test_idle_loads_and_limits_stand_in_one_row(arguments: tuple[str, ...]) -> None:
    result = CliRunner().invoke(app, ["curves", "small.toml", *arguments])
    assert result.exit_code == 0, result.output
    cells = result.stdout.splitlines()[2].split()
    assert " ".join(cells) == "V1 12AX7 - 150 V 1.00 mA -1.5 V 150 mW 1 W 111 kΩ 91.0 kΩ - 80 V, 1.80 mA"


def test_a_tube_that_is_not_there_is_told_with_those_that_are() -> None:
    result = CliRunner().invoke(app, ["curves", "small.toml", "--tube", "V9"])
    assert result.exit_code == 2
    assert "no section 'V9' conducts; there are V1" in result.output
