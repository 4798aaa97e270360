"""What a held signal does to the supply behind it, against stepping through both."""

from __future__ import annotations

import math
import sys
from pathlib import Path
from typing import Any

import numpy as np
from sksundae.cvode import CVODE

sys.path.insert(0, str(Path(__file__).parents[1] / "independent_solver"))
from equations import diode_a, triode_a

from lugwright.catalogue.load import tube_type
from lugwright.catalogue.records import TriodeLaw
from lugwright.circuit.elements import Capacitor, Element, Junction, Resistor, TriodeTube, VoltageSource
from lugwright.circuit.network import Circuit
from lugwright.solve.idle import solve_column
from lugwright.solve.power_readout import Reading, certificate
from lugwright.solve.sustained import Sustained, Tone
from lugwright.solve.system import System

MAINS_V, MAINS_OHM, RESERVOIR_F, DROP_OHM, FILTER_F = 190.0, 220.0, 4e-6, 4.7e3, 4e-6
PLATE_OHM, STRAY_F, COUPLING_F, LOAD_OHM, CATHODE_OHM, CATHODE_F = 22e3, 1e-9, 220e-9, 100e3, 820.0, 10e-6
MAINS_HZ, TONE_HZ, PEAK_V = 50.0, 1000.0, 9.0
SETTLED_S, SAMPLES = 1.6, 4000
DIODE = Junction("CR1", "a", "B+1", bulk_ohm=5.0, smooth_v=0.3)


def _law() -> TriodeLaw:
    law = tube_type("12AU7").law
    assert isinstance(law, TriodeLaw)
    return law


def stepped(peak_v: float) -> tuple[float, np.ndarray]:
    """Return the mean of B+1 and the peak of the first harmonics at the output, from the last mains cycle."""
    law = _law()

    def rate(t: float, y: np.ndarray, yp: np.ndarray) -> None:
        anode, first, second, plate, cathode, coupled = y
        source = math.sqrt(2.0) * MAINS_V * math.sin(2 * math.pi * MAINS_HZ * t)
        charge = diode_a(DIODE, anode - first) + DIODE.leak_s * (anode - first)
        grid = peak_v * math.sin(2 * math.pi * TONE_HZ * t)
        plate_a, grid_a = triode_a(law, plate - cathode, grid - cathode)
        out_a = (plate - coupled) / LOAD_OHM
        drop_a = (first - second) / DROP_OHM
        feed_a = (second - plate) / PLATE_OHM
        yp[0] = ((source - anode) / MAINS_OHM - charge) / STRAY_F
        yp[1] = (charge - drop_a) / RESERVOIR_F
        yp[2] = (drop_a - feed_a) / FILTER_F
        yp[3] = (feed_a - plate_a - out_a) / STRAY_F
        yp[4] = (plate_a + grid_a - cathode / CATHODE_OHM) / CATHODE_F
        yp[5] = out_a / COUPLING_F

    solver = CVODE(rate, rtol=1e-7, atol=1e-7, max_num_steps=10**7, max_step=2e-5)
    start = np.array([0.0, 230.0, 200.0, 120.0, 4.0, 120.0])
    times = np.concatenate([[0.0], SETTLED_S + np.linspace(0.0, 1.0 / MAINS_HZ, SAMPLES + 1)])
    found = solver.solve(times, start)
    assert found.success, found.message
    y = np.asarray(found.y[1:-1])
    output = np.fft.rfft(y[:, 3] - y[:, 5]) / SAMPLES
    step = round(TONE_HZ / MAINS_HZ)
    return float(y[:, 1].mean()), 2.0 * np.abs(output[step : 8 * step : step])


def ours(peak_v: float) -> tuple[float, np.ndarray]:
    parts: list[Element] = [
        VoltageSource("mains", "a", "ground", 0.0, MAINS_V, MAINS_OHM), DIODE,
        Capacitor("C0", "a", "ground", STRAY_F), Capacitor("C1", "B+1", "ground", RESERVOIR_F, 0.0),
        Resistor("R1", "B+1", "B+2", DROP_OHM), Capacitor("C2", "B+2", "ground", FILTER_F, 0.0),
        Resistor("R2", "B+2", "p", PLATE_OHM), TriodeTube("V1", "p", "g", "k", _law()),
        Capacitor("C3", "p", "ground", STRAY_F), Resistor("R3", "k", "ground", CATHODE_OHM),
        Capacitor("C4", "k", "ground", CATHODE_F), VoltageSource("generator", "g", "ground", 0.0, 0.0, 1.0),
        Capacitor("C5", "p", "out", COUPLING_F, 0.0), Resistor("LS1", "out", "ground", LOAD_OHM),
    ]  # fmt: skip
    system = System(Circuit(tuple(parts), "ground", MAINS_HZ))
    bench = Sustained(solve_column(system, system.values(())), "generator", hz=TONE_HZ, harmonics=48)
    point = bench.drive([Tone(1, peak_v)])
    reading = Reading(bench, point)
    assert certificate(reading).passed
    return reading.dc_level("B+1"), 2.0 * np.abs(reading.joint_v[system.row["out"], 1:8])


def test_level_sag_and_output_agree(tolerance: dict[str, Any]) -> None:
    """Quiet and driven past cut-off: the supply's level, the difference the signal makes, and what comes out."""
    quiet, driven = stepped(1e-3), stepped(PEAK_V)
    our_quiet, our_driven = ours(1e-3), ours(PEAK_V)
    assert abs(our_driven[0] - driven[0]) < tolerance["supply_v"]
    sag, our_sag = quiet[0] - driven[0], our_quiet[0] - our_driven[0]
    assert abs(sag) > 5 * tolerance["sag_v"]
    assert abs(our_sag - sag) < tolerance["sag_v"]
    assert np.abs(our_driven[1] - driven[1]).max() < tolerance["output"] * driven[1][0]
