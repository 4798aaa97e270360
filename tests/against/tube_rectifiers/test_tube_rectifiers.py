"""Vacuum rectifiers working into a capacitor, against makers' operating rows."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import Any

import pytest

from lugwright.circuit.elements import Capacitor, CurrentSource, VacuumDiode, VoltageSource
from lugwright.circuit.network import Circuit
from lugwright.solve.idle import solve_idle

sys.path.insert(0, str(Path(__file__).parents[3] / "tools"))

from law_figures import data_of
from supply_rows import supply_v


def test_output_volts_of_every_published_row(rows: list[dict[str, str]], tolerance: dict[str, Any]) -> None:
    """A-30, A-32, A-34, A-36, A-37, each type by the one drop its sheet prints."""
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


@pytest.mark.parametrize(("name", "count"), [("GZ34", 6), ("5U4GB", 6), ("5Y3GT", 5), ("EZ81", 3), ("EZ80", 4)])
def test_direct_volts_of_the_catalogue_s_rectifiers(name: str, count: int, tolerance: dict[str, Any]) -> None:
    """The law is fitted to the published drop alone; the operating rows are outside it."""
    data: dict[str, Any] = data_of(name.lower())
    assert len(data["supply"]) == count
    for row in data["supply"]:
        found = supply_v(data["law"]["perveance"], row)
        assert found == pytest.approx(row["output_v"], rel=tolerance["catalogue_dc"]), row
