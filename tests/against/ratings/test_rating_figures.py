"""Worked figures of handbooks: discharge, energy, supply peaks, inverse volts, surge volts, heater pairs."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import numpy as np
import pytest

from lugwright.circuit.elements import Resistor, VoltageSource
from lugwright.circuit.network import Circuit
from lugwright.circuit.rules.discharge import (
    bleeder_ohm,
    network_seconds_to_safe_s,
    seconds_to_safe_s,
    stored_charge_c,
    stored_energy_j,
)
from lugwright.circuit.rules.supply_arithmetic import no_load_peak_v, peak_inverse_v, resistor_heat_w, surge_v
from lugwright.solve.idle import solve_idle

WORKED: dict[str, Callable[[], float]] = {
    "seconds of 100 uF, 220k, 450 to 60 V": lambda: seconds_to_safe_s(ohm=220e3, farad=100e-6, start_v=450.0),
    "heat of 220k at 450 V": lambda: resistor_heat_w(volts=450.0, ohm=220e3),
    "seconds of 47 uF, 100k, 350 to 60 V": lambda: seconds_to_safe_s(ohm=100e3, farad=47e-6, start_v=350.0),
    "heat of 100k at 350 V": lambda: resistor_heat_w(volts=350.0, ohm=100e3),
    "bleeder of 100 uF, 450 to 60 V in 60 s": lambda: bleeder_ohm(farad=100e-6, start_v=450.0, within_s=60.0),
    "bleeder of 100 uF, 450 to 60 V in 2 s": lambda: bleeder_ohm(farad=100e-6, start_v=450.0, within_s=2.0),
    "energy of 100 uF at 450 V": lambda: stored_energy_j(farad=100e-6, volts=450.0),
    "charge of 100 uF at 450 V": lambda: stored_charge_c(farad=100e-6, volts=450.0),
    "energy of 47 uF at 420 V": lambda: stored_energy_j(farad=47e-6, volts=420.0),
    "inverse volts, 350-0-350 center tap": lambda: peak_inverse_v(winding_rms_v=350.0, arrangement="center tap"),
    "inverse volts, 350 V half wave": lambda: peak_inverse_v(winding_rms_v=350.0, arrangement="half wave"),
    "inverse volts, 350 V bridge": lambda: peak_inverse_v(winding_rms_v=350.0, arrangement="bridge"),
    "cold peak, 325 V, 8 %, nominal mains": lambda: no_load_peak_v(winding_rms_v=325.0, regulation=0.08),
    "cold peak, 325 V, 8 %, mains +10 %": lambda: no_load_peak_v(winding_rms_v=325.0, regulation=0.08, mains_ratio=1.1),
    "surge volts of a 450 V part": lambda: surge_v(450.0),
    "surge volts of a 500 V part": lambda: surge_v(500.0),
    "surge volts of a 315 V part": lambda: surge_v(315.0),
}


def test_every_row_has_its_formula(rows: list[dict[str, str]]) -> None:
    assert [row["what"] for row in rows] == list(WORKED)


@pytest.mark.parametrize("what", WORKED)
def test_worked_figure(what: str, rows: list[dict[str, str]]) -> None:
    (row,) = (row for row in rows if row["what"] == what)
    assert WORKED[what]() == pytest.approx(float(row["value"]), abs=float(row["printed"]))


def test_the_network_of_one_capacitor_agrees_with_the_worked_time(rows: list[dict[str, str]]) -> None:
    found = network_seconds_to_safe_s(np.array([[220e3]]), np.array([100e-6]), np.array([450.0]))
    assert found[0] == pytest.approx(float(rows[0]["value"]), abs=float(rows[0]["printed"]))


def test_cold_peak_on_high_mains_is_above_a_450_v_part_and_below_a_500_v_part() -> None:
    peak = no_load_peak_v(winding_rms_v=325.0, regulation=0.08, mains_ratio=1.1)
    assert surge_v(450.0) < peak < surge_v(500.0)


# D-15: two 100 ohm resistors across 6.3 V carry 31.5 mA, 0.099 W each; a 100 ohm pot carries 63 mA, 0.40 W in all.
@pytest.mark.parametrize(
    ("half_ohm", "amps", "watts", "halves", "printed_w"),
    [(100.0, 0.0315, 0.099, 1, 5e-4), (50.0, 0.063, 0.40, 2, 5e-3)],
)
def test_artificial_center_tap(
    half_ohm: float, amps: float, watts: float, halves: int, printed_w: float, tolerance: dict[str, Any]
) -> None:
    circuit = Circuit(
        (
            VoltageSource("mains", "h1", "h2", 0.0, 6.3, 1e-3),
            Resistor("R1", "h1", "ground", half_ohm),
            Resistor("R2", "h2", "ground", half_ohm),
        )
    )
    idle = solve_idle(circuit)[0]
    for name in ("R1", "R2"):
        assert idle.parts[name].rms_a == pytest.approx(amps, rel=tolerance["heater"])
        assert idle.parts[name].watts * halves == pytest.approx(watts, abs=printed_w)
