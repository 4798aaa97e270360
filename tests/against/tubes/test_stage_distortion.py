"""Distortion of coupled stages, computed from the laws, against makers' tables. No fit has seen a distortion."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import Any

import pytest

sys.path.insert(0, str(Path(__file__).parents[3] / "tools"))

from law_figures import data_of
from stage_distortion import distortion


def _times(name: str) -> dict[float, float]:
    """Return distortion over the table's, by number of row and supply volts."""
    data: dict[str, Any] = data_of(name.lower())
    rows = [row for row in data["coupled_stages"] if "distortion" in row]
    return {
        n + row["supply_v"] / 1e3: distortion(data["law"], row, row["output_rms_v"]) / row["distortion"]
        for n, row in enumerate(rows)
    }


@pytest.mark.parametrize(("name", "count"), [("12AX7", 15), ("12AU7", 3)])
def test_distortion_of_triode_stages(name: str, count: int, tolerance: dict[str, Any]) -> None:
    times = _times(name)
    assert len(times) == count
    for row, found in times.items():
        assert 1.0 / tolerance["distortion_times"] <= found <= tolerance["distortion_times"], (row, times)


def test_distortion_of_the_ef86_but_at_400_v_where_the_knee_comes_too_early(tolerance: dict[str, Any]) -> None:
    *lower, highest = _times("EF86").values()
    assert len(lower) == 3
    for found in lower:
        assert 1.0 / tolerance["distortion_times"] <= found <= tolerance["distortion_times"]
    assert tolerance["distortion_times"] < highest < 2.3
