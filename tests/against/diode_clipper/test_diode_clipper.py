"""G-10, G-11: a sine through 2.2 k into 10 nF and two opposed diodes."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest

from lugwright.circuit.elements import Capacitor, Element, Junction, Resistor, VoltageSource
from lugwright.circuit.network import Circuit
from lugwright.solve.idle import solve_column
from lugwright.solve.power_readout import Reading
from lugwright.solve.sustained import Sustained, Tone
from lugwright.solve.system import System

from ...given_slopes import capacitor, gains, resistor, signal_of

OHM, FARAD, SATURATION_A, THERMAL_V = 2200.0, 10e-9, 2.52e-9, 45.3e-3
HZ, PEAK_V = 110.0, 4.5
THRESHOLD_V = 2.0  # far above the swing, where the law of a junction is a plain exponential


def _diode(name: str, anode: str, cathode: str) -> Junction:
    """Return the junction that carries Is (exp(v / Vt) - 1) at volts well below its threshold."""
    bulk_ohm = THERMAL_V * math.exp(-THRESHOLD_V / THERMAL_V) / SATURATION_A
    return Junction(name, anode, cathode, threshold_v=THRESHOLD_V, bulk_ohm=bulk_ohm, smooth_v=THERMAL_V, leak_s=1e-15)


def test_corner(tolerance: dict[str, Any]) -> None:
    """G-10: 1 / (2 pi R C) = 7234 Hz, the diodes left out."""
    parts: list[Element] = [
        resistor("R1", "in", "out", OHM), capacitor("C1", "out", "ground", FARAD), resistor("R2", "in", "ground", 1e6),
    ]  # fmt: skip
    gain = gains(signal_of(parts, {}), "in", "out", [7234.0])[0]
    assert abs(gain) == pytest.approx(math.sqrt(0.5), rel=tolerance["exact"])
    assert math.degrees(np.angle(gain)) == pytest.approx(-45.0, rel=tolerance["exact"])


def test_harmonics_of_a_clipped_sine(tolerance: dict[str, Any]) -> None:
    """G-11: peak 0.60980 V, RMS 0.56436 V, first harmonic 0.75308 V, third -10.91 dB, fifth -16.34 dB."""
    parts: list[Element] = [
        VoltageSource("generator", "in", "ground", 0.0, 0.0, 1e-3), Resistor("R1", "in", "out", OHM),
        Capacitor("C1", "out", "ground", FARAD), _diode("CR1", "out", "ground"), _diode("CR2", "ground", "out"),
    ]  # fmt: skip
    system = System(Circuit(tuple(parts), "ground", 60.0))
    bench = Sustained(solve_column(system, system.values(())), "generator", hz=HZ, harmonics=200)
    point = None
    for peak_v in (0.5, 1.5, PEAK_V):
        point = bench.drive([Tone(1, peak_v)], point)
        assert point.closed
    assert point is not None
    spectrum = Reading(bench, point).joint_v[system.row["out"]]
    wave = np.fft.irfft(spectrum * 2000, n=2000)
    assert np.max(np.abs(wave)) == pytest.approx(0.60980, rel=tolerance["volts"])
    assert math.sqrt(float(np.mean(wave**2))) == pytest.approx(0.56436, rel=tolerance["volts"])
    peaks = 2.0 * np.abs(spectrum)
    assert peaks[1] == pytest.approx(0.75308, rel=tolerance["volts"])
    assert 20 * math.log10(peaks[3] / peaks[1]) == pytest.approx(-10.91, abs=tolerance["db"])
    assert 20 * math.log10(peaks[5] / peaks[1]) == pytest.approx(-16.34, abs=tolerance["db"])
