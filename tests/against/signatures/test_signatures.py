"""Two reference circuits with one fault each, wired otherwise as faults are, against a table of signatures."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from lugwright.catalogue.load import tube_type
from lugwright.catalogue.records import TriodeLaw
from lugwright.circuit.edits import ScaleValue, SetValue
from lugwright.circuit.elements import (
    Capacitor,
    Coil,
    CurrentSource,
    Junction,
    Resistor,
    TriodeTube,
    VoltageSource,
    Windings,
)
from lugwright.circuit.network import Circuit
from lugwright.circuit.rewiring import Bridge, Moved, Rewiring, rewired
from lugwright.solve.idle import solve_columns
from lugwright.solve.readout import solved_waves
from lugwright.solve.solved import Solved

METER_OHM = 10e6
# The plate of a neighbor, 200 V, is there for the coupling capacitor that leaks.
FAULTS = {
    "R1.0": Rewiring("good"),
    "R1.1": Rewiring("", (ScaleValue("Ra", "ohm", 0.1),)),
    "R1.3": Rewiring("", (ScaleValue("Rk", "ohm", 0.1),)),
    "R1.5": Rewiring("", bridges=(Bridge("cathode", "ground", 0.01),)),
    "R1.6": Rewiring("", moved=(Moved("Rk", "a", "cathode'"),), bridges=(Bridge("cathode", "ground", METER_OHM),)),
    "R1.7": Rewiring("", moved=(Moved("Ra", "b", "plate'"),), bridges=(Bridge("plate", "ground", METER_OHM),)),
    "R1.8": Rewiring("", bridges=(Bridge("before", "grid", 10e6),)),
    "R1.10": Rewiring("", (SetValue("leak", "amps", 10e-9),), (Moved("Rg", "a", "grid'"),)),
    "R1.11": Rewiring("", (SetValue("B", "dc_v", 250.0),)),
    "R1.12": Rewiring("", (SetValue("V1", "on", 0.0),)),
    "R2.0": Rewiring("good"),
    "R2.1": Rewiring("", moved=(Moved("D2", "anode", "hv 2'"),)),
    "R2.3": Rewiring("", moved=(Moved("C1", "b", "C1.b'"),)),
}
# What the law does not meet: its grid takes current from about zero volts on, that of the table from -0.45 V, so that
# 17 microamperes through a leak lift the grid further. Shares of the table's plate, cathode and grid volts.
MISSED = {"R1.8": (0.72, 1.22, 1.40)}
# Cathode volts a little outside: between these shares of the table's. The maker of the ECC83 prints 0.86 mA for this
# very stage, 1.29 V, which is 7 % above the table.
CATHODE_HIGH = {"R1.11": (1.10, 1.105)}


def _stage() -> Circuit:
    law = tube_type("12AX7").law
    assert isinstance(law, TriodeLaw)
    return Circuit(
        (
            VoltageSource("B", "b", "ground", 300.0, 0.0, 1e-3),
            VoltageSource("P", "before", "ground", 200.0, 0.0, 1e-3),
            TriodeTube("V1", "plate", "grid", "cathode", law),
            Resistor("Ra", "b", "plate", 100e3),
            Resistor("Rk", "cathode", "ground", 1.5e3),
            Resistor("Rg", "grid", "ground", 1e6),
            CurrentSource("leak", "ground", "grid", 0.0),
        ),
    )


def _supply() -> Circuit:
    coils = (
        Coil("T1.primary", "line", "ground", 250.0, 1e-3),
        Coil("T1.hv.1-2", "hv 1", "ground", 250.0, 150.0),
        Coil("T1.hv.2-3", "ground", "hv 2", 250.0, 150.0),
    )
    return Circuit(
        (
            VoltageSource("mains", "line", "ground", 0.0, 250.0, 1e-3),
            Windings("T1", coils, 1e3),
            Junction("D1", "hv 1", "b"),
            Junction("D2", "hv 2", "b"),
            Capacitor("C1", "b", "ground", 47e-6),
            Resistor("load", "b", "ground", 4e3),
        ),
        mains_hz=50.0,
    )


def _solved(circuit: Circuit, row: str) -> Solved:
    fault = FAULTS[row]
    return solve_columns(rewired(circuit, fault), [fault.edit])[0]


def _volts(row: str) -> list[float]:
    solved = _solved(_stage(), row)
    return [float(solved.dc.volts[solved.system.row[joint], 0]) for joint in ("plate", "cathode", "grid")]


def test_volts_of_a_stage_with_each_fault(rows: list[dict[str, str]], tolerance: dict[str, Any]) -> None:
    assert len(rows) == 9
    for row in rows:
        if row["row"] in MISSED:
            continue
        plate, cathode, grid = _volts(row["row"])
        loaded = row["grid_current"] == "yes"
        share = tolerance["grid_current" if loaded else "volts"]
        least = tolerance["grid_region_v" if loaded else "volts_least"]
        assert plate == pytest.approx(float(row["plate_v"]), rel=share), row
        if row["row"] in CATHODE_HIGH:
            low, high = CATHODE_HIGH[row["row"]]
            assert low < cathode / float(row["cathode_v"]) < high, row
        else:
            assert cathode == pytest.approx(float(row["cathode_v"]), rel=share, abs=least), row
        assert grid == pytest.approx(float(row["grid_v"]), rel=share, abs=least), row


def test_a_leaking_coupling_capacitor_is_missed_by_no_more_than_stated(rows: list[dict[str, str]]) -> None:
    (row,) = (row for row in rows if row["row"] in MISSED)
    found = zip(_volts(row["row"]), ("plate_v", "cathode_v", "grid_v"), MISSED[row["row"]], strict=True)
    good = _volts("R1.0")
    for (volts, column, share), healthy in zip(found, good, strict=True):
        assert volts / float(row[column]) == pytest.approx(share, abs=0.01)
        assert (volts > healthy) == (float(row[column]) > healthy)


def test_an_open_plate_resistor_leaves_the_plate_near_ground(tolerance: dict[str, Any]) -> None:
    plate, cathode, grid = _volts("R1.7")
    assert plate < tolerance["floating_plate_v"]
    assert cathode == pytest.approx(0.0, abs=tolerance["volts_least"])
    assert grid == pytest.approx(-0.4, abs=tolerance["grid_region_v"])


@pytest.mark.parametrize(
    ("row", "dc_v", "peak_to_peak_v", "at_mains_v", "at_twice_v"),
    [
        ("R2.0", 302.6, 10.9, 0.0, 4.56),
        ("R2.1", 277.3, 23.5, 8.99, 3.93),
        ("R2.3", 216.0, 334.0, 0.0, 144.0),
    ],
)
def test_a_supply_with_each_fault(
    row: str, dc_v: float, peak_to_peak_v: float, at_mains_v: float, at_twice_v: float, tolerance: dict[str, Any]
) -> None:
    solved = _solved(_supply(), row)
    wave = solved_waves(solved)[0][solved.system.row["b"]]
    amplitude = 2.0 * np.abs(np.fft.rfft(wave)) / len(wave)
    ripple = tolerance["ripple"]
    assert wave.mean() == pytest.approx(dc_v, rel=tolerance["volts"])
    assert np.ptp(wave) == pytest.approx(peak_to_peak_v, rel=ripple)
    assert amplitude[1] == pytest.approx(at_mains_v, rel=ripple, abs=tolerance["volts_least"])
    assert amplitude[2] == pytest.approx(at_twice_v, rel=ripple)
