"""Resistance-coupled stages with the catalogue's tubes, each as its own circuit, against charts of makers."""

from __future__ import annotations

import math
from typing import Any

import pytest

from lugwright.catalogue.load import tube_type
from lugwright.catalogue.records import TriodeLaw
from lugwright.circuit.elements import TriodeTube, VoltageSource
from lugwright.circuit.network import Circuit
from lugwright.solve.idle import solve_columns
from lugwright.solve.readout import read_idle
from lugwright.solve.small_signal import linearized

from ...given_slopes import HUGE_F, capacitor, gains, resistor

MIDBAND_HZ = 1000.0
C1_OHM = 220e3  # up to here the chart of the 12AX7 is held closer
# What the laws do not meet (row, supply volts, cathode ohms), and the error that no other row reaches. Of the row of
# C-1a the plate resistance that its gain asks for lies below those of the two rows beside it, at less current. Of the
# first row of C-2c another copy prints a gain of 60 in place of 56. At 0.8 mA the law of the 6SN7GT amplifies more
# than the chart says.
MISSED = {
    ("C-1a", 90, 4800): -0.08, ("C-2c", 200, 3300): 0.15,
    ("C-5c", 300, 4590): 0.20, ("C-5c", 300, 5770): 0.20, ("C-5c", 300, 6950): 0.20,
}  # fmt: skip


def _stage(row: dict[str, str]) -> tuple[float, float]:
    """Return plate current and gain."""
    law = tube_type(row["tube"]).law
    assert isinstance(law, TriodeLaw)
    circuit = Circuit(
        (
            VoltageSource("B", "b", "ground", float(row["supply_v"]), 0.0, 1e-3),
            TriodeTube("V1", "plate", "grid", "cathode", law),
            resistor("R1", "b", "plate", float(row["plate_ohm"])),
            resistor("R2", "cathode", "ground", float(row["cathode_ohm"])),
            resistor("R3", "grid", "ground", 1e6),
            resistor("R4", "out", "ground", float(row["next_ohm"])),
            capacitor("C1", "plate", "out", HUGE_F),
            capacitor("C2", "cathode", "ground", HUGE_F),
        ),
        mains_hz=60.0,
    )
    (solved,) = solve_columns(circuit)
    gain = complex(gains(linearized(circuit, solved), "grid", "out", [MIDBAND_HZ])[0])
    return read_idle(solved).tubes["V1"].plate_a, -gain.real


def _allowed(row: dict[str, str], tolerance: dict[str, Any]) -> float:
    name = row["row"][:3]
    return float(tolerance["C-1-to-220k" if name == "C-1" and float(row["plate_ohm"]) <= C1_OHM else name])


def _key(row: dict[str, str]) -> tuple[str, int, int]:
    return row["row"], int(row["supply_v"]), int(row["cathode_ohm"])


def test_gain_of_every_row(rows: list[dict[str, str]], tolerance: dict[str, Any]) -> None:
    held = [row for row in rows if row["row"][:3] != "C-3" and _key(row) not in MISSED]
    assert len(held) == 46
    for row in held:
        assert _stage(row)[1] == pytest.approx(float(row["gain"]), rel=_allowed(row, tolerance)), row


def test_rows_the_laws_miss_are_missed_by_no_more_than_stated(
    rows: list[dict[str, str]], tolerance: dict[str, Any]
) -> None:
    missed = [row for row in rows if _key(row) in MISSED]
    assert len(missed) == len(MISSED)
    for row in missed:
        limit = MISSED[_key(row)]
        error = (_stage(row)[1] / float(row["gain"]) - 1.0) * math.copysign(1.0, limit)
        assert _allowed(row, tolerance) < error < abs(limit), row


def test_gain_of_nine_12ax7_rows_in_ten_of_the_chart(rows: list[dict[str, str]], tolerance: dict[str, Any]) -> None:
    """The chart but for 90 V with 220 kilohm, which the fit has seen, and 180 V with 100 kilohm, held elsewhere."""
    chart = [row for row in rows if row["row"][:3] == "C-1"]
    assert len(chart) == 21
    met = [abs(_stage(row)[1] / float(row["gain"]) - 1.0) <= tolerance["C-1-most-rows"] for row in chart]
    assert sum(met) >= tolerance["C-1-share"] * len(chart)


def test_gains_of_the_lower_table_lie_below_the_laws(rows: list[dict[str, str]], tolerance: dict[str, Any]) -> None:
    lower = [row for row in rows if row["row"][:3] == "C-3"]
    assert len(lower) == 18
    for row in lower:
        error = _stage(row)[1] / float(row["gain"]) - 1.0
        assert tolerance["C-3-least"] <= error <= tolerance["C-3-most"], row


def test_plate_current_of_every_row_that_prints_one(rows: list[dict[str, str]], tolerance: dict[str, Any]) -> None:
    printed = [row for row in rows if row["plate_a"]]
    assert len(printed) == 6
    for row in printed:
        assert _stage(row)[0] == pytest.approx(float(row["plate_a"]), rel=tolerance["C-2-current"]), row
