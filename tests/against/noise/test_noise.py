"""Noise of resistors and tubes, alone and through a stage."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest

from lugwright.catalogue.load import tube_type
from lugwright.catalogue.records import TriodeLaw
from lugwright.circuit.edits import Edit
from lugwright.circuit.elements import Element, TriodeTube, VoltageSource
from lugwright.circuit.network import Circuit
from lugwright.solve.frequencies import decade_steps_hz
from lugwright.solve.hiss import BOLTZMANN, hiss_at, johnson_v2_per_hz, pentode_noise_ohm, triode_noise_ohm
from lugwright.solve.idle import solve_column
from lugwright.solve.response import across, port_of
from lugwright.solve.response_results import Hiss
from lugwright.solve.small_signal import linearized
from lugwright.solve.system import System

from ...given_slopes import capacitor, gains, output_ohm, resistor, signal_of, triode

BAND_HZ = decade_steps_hz(low=1.0, high=20e3)


def _microvolts(elements: list[Element], joint: str) -> float:
    signal = signal_of(elements, {})
    network = signal.at(BAND_HZ)
    port = port_of(signal.system, joint)
    ones = np.ones(len(BAND_HZ), dtype=complex)
    return hiss_at(network, port, joint, gain=ones).volts * 1e6


@pytest.mark.parametrize(
    ("ohm", "kelvin", "microvolts"), [(1e3, 300.0, 0.576), (68e3, 290.0, 4.67), (34e3, 290.0, 3.30), (1e6, 290.0, 17.9)]
)
def test_noise_of_a_resistor(ohm: float, kelvin: float, microvolts: float, tolerance: dict[str, Any]) -> None:
    """D-1, D-2: in a band of 20 kHz; at 300 K 1k has 4.07 nV per root hertz."""
    plain = math.sqrt(johnson_v2_per_hz(ohm, kelvin=kelvin) * 20e3) * 1e6
    assert plain == pytest.approx(microvolts, rel=tolerance["exact"])
    through = _microvolts([resistor("R1", "a", "ground", ohm)], "a") * math.sqrt(kelvin / 300.0)
    assert through == pytest.approx(microvolts, rel=tolerance["exact"])


def test_two_resistors_side_by_side_make_the_noise_of_one_of_half_the_value(tolerance: dict[str, Any]) -> None:
    """D-2: two 68k are 34k, whatever the way it is summed: 3.30 microvolt at 290 K."""
    pair: list[Element] = [resistor("R1", "a", "ground", 68e3), resistor("R2", "a", "ground", 68e3)]
    assert _microvolts(pair, "a") * math.sqrt(290.0 / 300.0) == pytest.approx(3.30, rel=tolerance["exact"])


@pytest.mark.parametrize(
    ("gm", "ohm", "nanovolts", "microvolts"),
    [(1.6, 1563, 5.00, 0.707), (2.0, 1250, 4.47, 0.633), (1.25, 2000, 5.66, 0.800)],
)
def test_triode_as_a_resistor(
    gm: float, ohm: float, nanovolts: float, microvolts: float, tolerance: dict[str, Any]
) -> None:
    """D-4: 2.5 / gm, at 290 K."""
    found = float(triode_noise_ohm(gm * 1e-3))
    assert found == pytest.approx(ohm, rel=tolerance["exact"])
    density = math.sqrt(johnson_v2_per_hz(found, kelvin=290.0))
    assert density * 1e9 == pytest.approx(nanovolts, rel=tolerance["exact"])
    assert density * math.sqrt(20e3) * 1e6 == pytest.approx(microvolts, rel=tolerance["exact"])


def test_space_charge_quiets_the_cathode(tolerance: dict[str, Any]) -> None:
    """D-6: at 1.2 mA and 1.6 mA/V the plate's noise power is 0.167 of full shot noise; that would be 12.3 nV."""
    gm, amps, charge = 1.6e-3, 1.2e-3, 1.602177e-19
    plate = johnson_v2_per_hz(triode_noise_ohm(gm), kelvin=290.0) * gm**2
    assert plate / (2 * charge * amps) == pytest.approx(0.167, rel=tolerance["exact"])
    assert math.sqrt(2 * charge * amps) / gm * 1e9 == pytest.approx(12.3, rel=tolerance["exact"])


def test_partition_of_a_pentode(tolerance: dict[str, Any]) -> None:
    """D-7: 3.0 and 0.6 mA, 2.0 mA/V: 3.54k."""
    assert float(pentode_noise_ohm(3e-3, 0.6e-3, 2e-3)) == pytest.approx(3540.0, rel=tolerance["exact"])


def _stage_hiss() -> tuple[Hiss, float, float]:
    """Return the hiss of a 12AX7 stage with a source of 390 ohm, its gain, and its plate current.

    The bench's plate resistor is not given; 75k gives a gain near its 60.
    """
    law = tube_type("12AX7").law
    assert isinstance(law, TriodeLaw)
    elements: list[Element] = [
        VoltageSource("B", "B+", "ground", 300.0, 0.0, 1e-3), TriodeTube("V1", "plate", "grid", "cathode", law),
        resistor("R1", "B+", "plate", 75e3), resistor("R2", "cathode", "ground", 900.0),
        capacitor("C1", "cathode", "ground", 1.0), resistor("R3", "grid", "ground", 390.0),
    ]  # fmt: skip
    circuit = Circuit(tuple(elements))
    system = System(circuit)
    solved = solve_column(system, system.values([Edit("as built")]))
    signal = linearized(circuit, solved)
    network = signal.at(decade_steps_hz(low=30.0, high=8e3))
    grid, plate = port_of(signal.system, "grid"), port_of(signal.system, "plate")
    volts = network.driven([grid])[:, 0, 0]
    gain = across(volts, plate) / across(volts, grid)
    hiss = hiss_at(network, plate, "plate", gain=gain)
    return hiss, float(abs(gain[10])), float(signal.tubes.triode_a[0][0, 0])


def test_measured_noise_of_a_12ax7(tolerance: dict[str, Any]) -> None:
    """D-9: 0.587 to 0.768 microvolt at the input, source 390 ohm, 1.45 mA, 30 Hz to 8 kHz, gains near 60."""
    hiss, gain, amps = _stage_hiss()
    assert amps == pytest.approx(1.45e-3, rel=0.05)
    assert gain == pytest.approx(60.0, rel=0.08)
    assert tolerance["measured_low_v"] <= hiss.volts / gain <= tolerance["measured_high_v"]


@pytest.mark.parametrize(("volts", "printed"), [(0.588e-6, 8.3), (0.768e-6, 10.6)])
def test_noise_figure_arithmetic_of_that_bench(volts: float, printed: float, tolerance: dict[str, Any]) -> None:
    """D-11: against the source's own noise in 7970 Hz at 300 K."""
    own = math.sqrt(4 * BOLTZMANN * 300.0 * 390.0 * 7970.0)
    assert 20 * math.log10(volts / own) == pytest.approx(printed, abs=tolerance["noise_figure_db"])
    assert math.sqrt(johnson_v2_per_hz(390.0) * 7970.0) == pytest.approx(own, rel=tolerance["exact"])


@pytest.mark.parametrize(
    ("leak", "cathode", "bypass", "volts"),
    [(1e6, 1500.0, 1e-15, 2.38e-3), (1e6, 1500.0, 25e-6, 0.395e-3), (100e6, 1e12, 1e-15, 48e-6)],
)
def test_heater_leakage_at_a_cathode(
    leak: float, cathode: float, bypass: float, volts: float, tolerance: dict[str, Any]
) -> None:
    """D-13: 3.15 V of heater through 1M into 755 ohm; with 25 uF at 50 Hz; through 100M into 1519 ohm.

    The source divides by the magnitude of the bypass alone, 126 ohm; beside 755 ohm it is 124.
    """
    elements: list[Element] = [
        triode("V1", "plate", "ground", "cathode"), resistor("R1", "plate", "ground", 1.0 / (1e-5 + 1e-6)),
        resistor("R2", "cathode", "ground", cathode), capacitor("C1", "cathode", "ground", bypass),
        resistor("R3", "heater", "cathode", leak), resistor("R4", "heater", "ground", 1e6),
    ]  # fmt: skip
    signal = signal_of(elements, {"V1": (100.0, 62.5e3)})
    found = 3.15 * abs(gains(signal, "heater", "cathode", [50.0])[0])
    assert found == pytest.approx(volts, rel=tolerance["hum"])
    if bypass < 1e-12 and cathode < 1e6:
        assert output_ohm(signal, "heater", "cathode", 50.0) == pytest.approx(755.0, rel=tolerance["hum"])
