"""A low-noise pentode with resistors in plate, screen and cathode: its currents, and its slopes at one point."""

from __future__ import annotations

from typing import Any

import pytest

from lugwright.catalogue.load import tube_type
from lugwright.catalogue.records import PentodeLaw
from lugwright.circuit.edits import Edit
from lugwright.circuit.elements import Element, PentodeTube, VoltageSource
from lugwright.circuit.network import Circuit
from lugwright.solve.idle import solve_column
from lugwright.solve.small_signal import SmallSignal, linearized
from lugwright.solve.system import System

from ...given_slopes import resistor


def _stage(supply_v: float, plate: float, screen: float, cathode: float, screen_v: float | None = None) -> SmallSignal:
    law = tube_type("EF86").law
    assert isinstance(law, PentodeLaw)
    parts: list[Element] = [
        VoltageSource("B", "B+", "ground", supply_v, 0.0, 1e-3),
        VoltageSource("S", "S+", "ground", supply_v if screen_v is None else screen_v, 0.0, 1e-3),
        PentodeTube("V1", "plate", "screen", "grid", "cathode", law), resistor("R1", "B+", "plate", plate),
        resistor("R2", "S+", "screen", screen), resistor("R3", "cathode", "ground", cathode),
        resistor("R4", "grid", "ground", 1e6),
    ]  # fmt: skip
    circuit = Circuit(tuple(parts))
    system = System(circuit)
    return linearized(circuit, solve_column(system, system.values([Edit("as built")])))


def test_currents_with_resistors_in_plate_and_screen(rows: list[dict[str, str]], tolerance: dict[str, Any]) -> None:
    assert len(rows) == 2
    for row in rows:
        values = [float(row[name]) for name in ("supply_v", "plate_ohm", "screen_ohm", "cathode_ohm")]
        plate_a, screen_a, _ = _stage(*values).tubes.pentode_a
        assert 1e3 * plate_a[0, 0] == pytest.approx(float(row["plate_ma"]), rel=tolerance["current"]), row["id"]
        assert 1e3 * screen_a[0, 0] == pytest.approx(float(row["screen_ma"]), rel=tolerance["current"]), row["id"]


def test_characteristic_at_250_and_140_volts(tolerance: dict[str, Any]) -> None:
    """B-28: 500 ohm in the cathode: 3.2 and 0.6 mA, 2.0 mA/V."""
    signal = _stage(250.0, 1e-3, 1e-3, 500.0, screen_v=140.0)
    plate_a, screen_a, _ = signal.tubes.pentode_a
    by_grid = signal.tubes.pentode_slopes[2]
    assert 1e3 * plate_a[0, 0] == pytest.approx(3.2, rel=tolerance["current"])
    assert 1e3 * screen_a[0, 0] == pytest.approx(0.6, rel=tolerance["current"])
    assert 1e3 * by_grid[0, 0] == pytest.approx(2.0, rel=tolerance["characteristic"])


def test_sheet_and_stages_leave_the_screen_of_one_drive_no_more_than_thirty(rows: list[dict[str, str]]) -> None:
    """Why the next test fails: any law in which grid and screen act as one drive, and the current rises ever faster.

    From B-26 (1.03 mA) to the EF86 sheet's 3.6 mA at 140 V and -2.2 V the current rises by less than the drive times
    the slope at the upper end, 2.0 mA/V of the plate and as much more as the screen adds.
    """
    row = rows[1]
    plate_ma, screen_ma = float(row["plate_ma"]), float(row["screen_ma"])
    grid_v = -1e-3 * (plate_ma + screen_ma) * float(row["cathode_ohm"])
    screen_v = float(row["supply_v"]) - 1e-3 * screen_ma * float(row["screen_ohm"]) + grid_v
    steepest_ms = 2.0 * 3.6 / 3.0
    least_drive_v = (3.6 - plate_ma - screen_ma) / steepest_ms
    most = (140.0 - screen_v) / (least_drive_v + 2.2 + grid_v)
    assert 29.0 < most < 31.0


@pytest.mark.xfail(strict=True, reason="30: sheet and stages leave no more to one drive, see the test above")
def test_amplification_of_the_screen(tolerance: dict[str, Any]) -> None:
    """B-28: grid over screen 38. Screens are held still by their capacitors, so that little hangs on it."""
    _, by_screen, by_grid = _stage(250.0, 1e-3, 1e-3, 500.0, screen_v=140.0).tubes.pentode_slopes[:3]
    assert by_grid[0, 0] / by_screen[0, 0] == pytest.approx(38.0, rel=tolerance["characteristic"])


def test_plate_resistance_at_that_point(tolerance: dict[str, Any]) -> None:
    """B-28: 2 megohm."""
    by_plate = _stage(250.0, 1e-3, 1e-3, 500.0, screen_v=140.0).tubes.pentode_slopes[0]
    assert 1.0 / by_plate[0, 0] == pytest.approx(2e6, rel=tolerance["characteristic"])
