"""B-21: a long-tailed pair of 12AX7s as a public page measured it, driven, with the catalogue's own tube."""

from __future__ import annotations

import math
from typing import Any

import pytest

from lugwright.catalogue.load import tube_type
from lugwright.circuit.elements import Capacitor, Element, Resistor, TriodeTube, VoltageSource
from lugwright.circuit.network import Circuit
from lugwright.solve.idle import solve_column
from lugwright.solve.power_readout import Reading, load_of, power_point
from lugwright.solve.power_results import PowerPoint
from lugwright.solve.sustained import Sustained, Tone
from lugwright.solve.system import System

# The page's sink is a 6BH6 with 70 V of screen and 240 ohm; from its published 7.4 and 2.9 mA at 150 V and -1 V and
# the three-halves law it carries 1.9 mA of plate current.
TAIL_A = 1.9e-3


def _pair() -> Sustained:
    law = tube_type("12AX7").law
    parts: list[Element] = [
        VoltageSource("supply", "b", "ground", 300.0, 0.0, 1e-3), VoltageSource("generator", "in", "ground", 0, 0, 1.0),
        TriodeTube("V1", "pa", "in", "k", law), TriodeTube("V2", "pb", "ground", "k", law),
        Resistor("R1", "b", "pa", 100e3), Resistor("R2", "b", "pb", 100e3),
        VoltageSource("sink", "low", "ground", -1e7 * TAIL_A, 0.0, 1e-3), Resistor("R4", "k", "low", 1e7),
        Capacitor("C1", "pa", "out", 0.1e-6),
        Capacitor("C2", "pb", "other", 0.1e-6), Resistor("LS1", "out", "ground", 1e6),
        Resistor("R3", "other", "ground", 1e6),
    ]  # fmt: skip
    system = System(Circuit(tuple(parts), "ground", 60.0))
    return Sustained(solve_column(system, system.values(())), "generator", hz=1000.0, harmonics=24)


def _at(bench: Sustained, output_rms_v: float) -> PowerPoint:
    peak_v, near = 0.2, None
    for _ in range(5):
        near = bench.drive([Tone(1, peak_v)], near)
        found = power_point(Reading(bench, near), load_of(bench, "LS1", "out", "ground"))
        assert found.certificate.passed
        peak_v *= output_rms_v / found.speaker_rms_v
    assert found.speaker_rms_v == pytest.approx(output_rms_v, rel=1e-4)
    return found


@pytest.mark.xfail(strict=True, reason="28.9: the sink is an estimate, and the measured tubes have 100k")
def test_gain_of_the_measured_pair(tolerance: dict[str, Any]) -> None:
    """23.8 per side."""
    found = _at(_pair(), 17.0)
    assert 17.0 / found.drive_rms_v == pytest.approx(23.8, rel=tolerance["measured"])


@pytest.mark.xfail(strict=True, reason="0.22 % and 0.50 %; were the volts meant from plate to plate, 0.05 % and 0.12 %")
@pytest.mark.parametrize(("output_rms_v", "distortion"), [(17.0, 0.00065), (25.0, 0.0011)])
def test_distortion_of_the_measured_pair(output_rms_v: float, distortion: float, tolerance: dict[str, Any]) -> None:
    """0.065 % at 17 V and 0.11 % at 25 V."""
    found = _at(_pair(), output_rms_v)
    assert abs(math.log(found.distortion / distortion)) <= math.log(tolerance["measured_distortion_times"])
