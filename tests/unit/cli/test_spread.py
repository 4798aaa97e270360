"""``lugwright spread``: what it prints."""

from __future__ import annotations

import sys

import pytest
from click.testing import CliRunner

from lugwright.cli.app import app

from .small_job import Opened, Workflow


@pytest.fixture(autouse=True)
def _workflow(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(sys.modules, "lugwright.workflow", Workflow(Opened()))


def test_percentiles_movers_corners_and_chances_are_printed() -> None:
    result = CliRunner().invoke(app, ["spread", "small.toml", "--draws", "500", "--seed", "7"])
    lines = [line.split("  ") for line in result.stdout.splitlines()]
    assert result.stdout.startswith("Small: 500 good builds, seed 7. Not drawn: copper.")
    rows = [[cell.strip() for cell in line if cell.strip()] for line in lines]
    assert ["V1 plate heat", "9.500 W", "8.000 W", "8.500 W", "9.400 W", "10.20 W", "10.90 W"] in rows
    assert ["V1 plate heat", "V1 +25%: +500 mW (80%)"] in rows
    assert ["V1 plate heat", "7.00 W", "V1 -25 %", "12.0 W", "V1 +25 %"] in rows
    assert ["V1", "plate heat", "10.5 W", "9.50 W", "10.9 W", "2.0%"] in rows


def test_a_reading_that_is_not_there_is_refused() -> None:
    result = CliRunner().invoke(app, ["spread", "small.toml", "--only", "V9"])
    assert result.exit_code == 2
    assert "no reading is called 'V9'" in result.stderr
    assert result.stdout == ""
