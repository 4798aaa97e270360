"""Feedback takes distortion down as it takes gain down, on a driven stage of the catalogue's 12AX7."""

from __future__ import annotations

from typing import Any

import pytest

from lugwright.catalogue.load import tube_type
from lugwright.circuit.elements import Capacitor, Element, Resistor, TriodeTube, VoltageSource
from lugwright.circuit.network import Circuit
from lugwright.solve.idle import solve_column
from lugwright.solve.power_readout import Reading, load_of, power_point
from lugwright.solve.sustained import Sustained, Tone
from lugwright.solve.system import System

FEEDBACK_OHM = 100e6  # next to no load on the plate
OUT_RMS_V = 0.5


def _stage(*, closed: bool, input_ohm: float) -> Sustained:
    """Return a stage whose output goes back to its grid, or to ground in place of it."""
    parts: list[Element] = [
        VoltageSource("supply", "b", "ground", 300.0, 0.0, 1e-3), VoltageSource("generator", "in", "ground", 0, 0, 1.0),
        Resistor("R1", "in", "g", input_ohm), TriodeTube("V1", "p", "g", "k", tube_type("12AX7").law),
        Resistor("R2", "b", "p", 100e3), VoltageSource("bias", "k", "ground", 2.0, 0.0, 1e-3),
        Capacitor("C1", "p", "out", 1e-3), Resistor("LS1", "out", "ground", 1e6),
        Resistor("R3", "out", "g" if closed else "ground", FEEDBACK_OHM),
    ]  # fmt: skip
    if not closed:
        parts.append(Resistor("R4", "g", "ground", FEEDBACK_OHM))
    system = System(Circuit(tuple(parts), "ground", 60.0))
    return Sustained(solve_column(system, system.values(())), "generator", hz=1000.0, harmonics=16)


def _at_output(bench: Sustained) -> tuple[float, float]:
    """Return drive and distortion at the stated output."""
    peak_v = 0.01
    for _ in range(4):
        point = bench.drive([Tone(1, peak_v)])
        found = power_point(Reading(bench, point), load_of(bench, "LS1", "out", "ground"))
        assert found.certificate.passed
        peak_v *= OUT_RMS_V / found.speaker_rms_v
    assert found.speaker_rms_v == pytest.approx(OUT_RMS_V, rel=1e-6)
    return found.drive_rms_v, found.distortion


def test_nine_of_loop_gain_leaves_a_tenth_of_the_distortion(tolerance: dict[str, Any]) -> None:
    """B-24: A beta 9: a tenth of the gain and, at the same output, a tenth of the distortion."""
    bare_v, _ = _at_output(_stage(closed=False, input_ohm=1.0))
    gain = OUT_RMS_V / bare_v
    share = 9.0 / gain  # of the output that comes back: R1 / (R1 + R3)
    input_ohm = FEEDBACK_OHM * share / (1.0 - share)
    open_v, open_distortion = _at_output(_stage(closed=False, input_ohm=input_ohm))
    closed_v, closed_distortion = _at_output(_stage(closed=True, input_ohm=input_ohm))
    assert closed_v / open_v == pytest.approx(10.0, rel=tolerance["exact"])
    assert open_distortion / closed_distortion == pytest.approx(10.0, rel=tolerance["exact"])
