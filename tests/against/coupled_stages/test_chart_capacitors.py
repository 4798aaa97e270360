"""Cathode and coupling capacitors of the chart of the 12AX7: what they leave of the gain at 100 Hz."""

from __future__ import annotations

import csv
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from lugwright.catalogue.load import tube_type
from lugwright.catalogue.records import TriodeLaw
from lugwright.circuit.elements import TriodeTube, VoltageSource
from lugwright.circuit.network import Circuit
from lugwright.solve.idle import solve_column
from lugwright.solve.small_signal import linearized
from lugwright.solve.system import System

from ...given_slopes import capacitor, gains, resistor

LEFT_AT_100_HZ = 0.8  # the chart's own note, from memory


def _left(row: dict[str, str], scale: float) -> float:
    """Return the gain at 100 Hz over that of the middle, both capacitors scaled."""
    law = tube_type("12AX7").law
    assert isinstance(law, TriodeLaw)
    circuit = Circuit(
        (
            VoltageSource("B", "b", "ground", float(row["supply_v"]), 0.0, 1e-3),
            TriodeTube("V1", "plate", "grid", "cathode", law),
            resistor("R1", "b", "plate", float(row["plate_ohm"])),
            resistor("R2", "cathode", "ground", float(row["cathode_ohm"])),
            resistor("R3", "grid", "ground", 1e6),
            resistor("R4", "out", "ground", float(row["next_ohm"])),
            capacitor("C1", "plate", "out", scale * float(row["coupling_uf"]) * 1e-6),
            capacitor("C2", "cathode", "ground", scale * float(row["bypass_uf"]) * 1e-6),
        )
    )
    system = System(circuit)
    signal = linearized(circuit, solve_column(system, system.values(())))
    low, middle = np.abs(gains(signal, "grid", "out", [100.0, 1e6]))
    return float(low / middle)


def _rows() -> list[dict[str, str]]:
    with (Path(__file__).parent / "capacitors.csv").open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


@pytest.mark.parametrize("row", _rows(), ids=lambda row: f"{row['row']}, {row['next_ohm']}")
def test_capacitors_of_the_chart_leave_four_fifths_at_100_hz(row: dict[str, str], tolerance: dict[str, Any]) -> None:
    """Scaled by a quarter less or more, both capacitors together enclose the chart's 0.8."""
    allowed = tolerance["C-1-capacitors"]
    assert _left(row, 1.0 - allowed) < LEFT_AT_100_HZ < _left(row, 1.0 + allowed)
