"""Curves and stages of a small amplifier with known answers."""

from __future__ import annotations

import numpy as np
import pytest

from lugwright.circuit.edits import Edit, SetValue
from lugwright.circuit.elements import Element
from lugwright.solve.frequencies import decade_steps_hz
from lugwright.solve.response import port_of, response_curves, stage_gains

from ...given_slopes import capacitor, resistor, signal_of, triode

HERTZ = decade_steps_hz(low=10.0, high=100e3)


def _two_stages() -> list[Element]:
    return [
        resistor("R1", "in", "ground", 1e6), triode("V1a", "p1", "in", "ground"), resistor("R2", "p1", "ground", 100e3),
        capacitor("C1", "p1", "g2", 22e-9), resistor("R3", "g2", "ground", 1e6),
        triode("V1b", "ground", "g2", "out"), resistor("R4", "out", "ground", 100e3),
        resistor("R5", "elsewhere", "ground", 1e6), triode("V2a", "p3", "elsewhere", "ground"),
        triode("V2b", "p3", "elsewhere", "ground"), resistor("R6", "p3", "ground", 100e3),
    ]  # fmt: skip


TUBES = {"V1a": (100.0, 62.5e3), "V1b": (100.0, 62.5e3), "V2a": (60.0, 20e3), "V2b": (60.0, 20e3)}


def test_curve_of_two_stages() -> None:
    signal = signal_of(_two_stages(), TUBES)
    (curve,) = response_curves(signal.at(HERTZ), port_of(signal.system, "in"), port_of(signal.system, "out"))
    first, follower = 100.0 * 1.0 / (1.0 + 62.5 / (100.0 * 1000.0 / 1100.0)), 100e5 / (62.5e3 + 101e5)
    assert curve.gain_1khz_db == pytest.approx(20 * np.log10(first * follower), abs=1e-3)
    assert abs(curve.phase_deg[60]) == pytest.approx(180.0, abs=1.0)
    assert curve.input_1khz_ohm == pytest.approx(1e6)
    assert curve.output_1khz_ohm == pytest.approx(1.0 / (101.0 / 62.5e3 + 1e-5), rel=1e-6)
    assert curve.low_hz is None  # 7 Hz
    assert curve.high_hz is None
    assert curve.setting == "as built"


def test_the_corner_of_the_coupling_capacitor() -> None:
    edit = Edit("small", (SetValue("C1", "farad", 1e-9),))
    signal = signal_of(_two_stages(), TUBES, [Edit("as built"), edit])
    curves = response_curves(signal.at(HERTZ), port_of(signal.system, "in"), port_of(signal.system, "p1"))
    assert [c.setting for c in curves] == ["as built", "small"]
    through = response_curves(signal.at(HERTZ), port_of(signal.system, "in"), port_of(signal.system, "out"))[1]
    corner = 1.0 / (2 * np.pi * 1e-9 * (1e6 + 38461.5))
    assert through.low_hz == pytest.approx(corner, rel=0.03)  # against 1 kHz, where a hundredth is lost already


def test_a_load_that_is_no_part_of_the_amplifier_is_taken_away() -> None:
    parts = [*_two_stages(), resistor("R9", "out", "ground", 1000.0)]
    signal = signal_of(parts, TUBES)
    load = np.full(len(HERTZ), 1e-3 + 0j)
    (curve,) = response_curves(signal.at(HERTZ), port_of(signal.system, "in"), port_of(signal.system, "out"), load)
    assert curve.output_1khz_ohm == pytest.approx(1.0 / (101.0 / 62.5e3 + 1e-5), rel=1e-6)


def test_stages_in_their_place() -> None:
    signal = signal_of(_two_stages(), TUBES)
    first, follower, pair = stage_gains(signal.at(HERTZ), port_of(signal.system, "in"))
    assert (first.tube, first.driven_at, first.taken_at) == ("V1a", "grid", "plate")
    assert first.gain == pytest.approx(-100.0 / (1.0 + 62.5 / (100.0 * 1000.0 / 1100.0)), rel=1e-4)
    assert first.level_db == pytest.approx(0.0)
    assert (follower.tube, follower.taken_at) == ("V1b", "cathode")
    assert follower.gain == pytest.approx(100e5 / (62.5e3 + 101e5), rel=1e-6)
    assert follower.level_db == pytest.approx(20 * np.log10(-first.gain), abs=1e-3)
    assert (pair.tube, pair.level_db) == ("V2a + V2b", None)
    assert pair.gain == pytest.approx(-60.0 * 100.0 / (100.0 + 10.0), rel=1e-6)
    assert pair.output_ohm == pytest.approx(1.0 / (1e-4 + 1e-5), rel=1e-6)


def test_a_section_driven_at_its_cathode_says_so() -> None:
    parts: list[Element] = [
        resistor("R1", "in", "ground", 1e6), triode("V1a", "pa", "in", "tail"), triode("V1b", "pb", "gb", "tail"),
        resistor("R2", "pa", "ground", 100e3), resistor("R3", "pb", "ground", 100e3),
        resistor("R4", "tail", "ground", 1e9), resistor("R5", "gb", "ground", 1e3),
    ]  # fmt: skip
    signal = signal_of(parts, {"V1a": (100.0, 62.5e3), "V1b": (100.0, 62.5e3)})
    first, second = stage_gains(signal.at(HERTZ), port_of(signal.system, "in"))
    assert (first.driven_at, second.driven_at) == ("grid", "cathode")
    assert second.gain > 0.0 > first.gain
    assert second.level_db == pytest.approx(20 * np.log10(100.0 / 202.0), abs=1e-3)
