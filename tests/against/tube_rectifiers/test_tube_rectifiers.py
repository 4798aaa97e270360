"""Vacuum rectifiers working into a capacitor, against makers' operating rows."""

from __future__ import annotations

from typing import Any

import pytest

from lugwright.circuit.elements import Capacitor, CurrentSource, VacuumDiode, VoltageSource
from lugwright.circuit.network import Circuit
from lugwright.solve.idle import solve_idle


def test_output_volts_of_every_published_row(rows: list[dict[str, str]], tolerance: dict[str, Any]) -> None:
    assert len(rows) == 11
    for row in rows:
        perveance = float(row["drop_a"]) / float(row["drop_v"]) ** 1.5
        rms, ohm = float(row["plate_rms_v"]), float(row["supply_ohm"])
        circuit = Circuit(
            (
                VoltageSource("S1", "a", "ground", 0.0, rms, ohm),
                VoltageSource("S2", "ground", "b", 0.0, rms, ohm),
                VacuumDiode("V1.plate1", "a", "out", perveance),
                VacuumDiode("V1.plate2", "b", "out", perveance),
                Capacitor("C1", "out", "ground", float(row["reservoir_f"]), leak_s=1e-7),
                CurrentSource("load", "out", "ground", float(row["load_a"])),
            ),
            mains_hz=float(row["hertz"]),
        )
        found = solve_idle(circuit)[0].joints["out"].volts
        assert found == pytest.approx(float(row["dc_v"]), rel=tolerance["dc"]), row
