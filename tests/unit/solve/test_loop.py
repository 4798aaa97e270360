"""Loop gain found in the closed amplifier, against a loop that is broken by hand."""

from __future__ import annotations

import numpy as np
import pytest

from lugwright.circuit.elements import Coil, Element, Resistor, Windings
from lugwright.solve.frequencies import band_hz, crossings_hz, decade_steps_hz
from lugwright.solve.loop import LoopGain, feedback_paths, loop_gain, output_joints, worst_margins
from lugwright.solve.response_results import Margin
from lugwright.solve.small_signal import SmallSignal

from ...given_slopes import capacitor, gains, resistor, signal_of, triode

TUBES = {"V1": (100.0, 60e3), "V2": (40.0, 20e3)}
BACK_OHM, BACK_F = 47e3, 100e-12


def _amplifier(feedback: list[Element]) -> SmallSignal:
    """Two stages; what comes back goes to the first cathode."""
    parts: list[Element] = [
        resistor("R0", "in", "ground", 1e6), triode("V1", "p1", "in", "back"), triode("V2", "out", "g2", "ground"),
        resistor("R1", "p1", "ground", 100e3), capacitor("C1", "p1", "g2", 22e-9),
        resistor("R2", "g2", "ground", 470e3), capacitor("C2", "g2", "out", 3e-12),
        resistor("R3", "out", "ground", 33e3), resistor("R4", "back", "ground", 1500.0),
        *feedback,
    ]  # fmt: skip
    return signal_of(parts, TUBES)


def _broken(hertz: np.ndarray) -> np.ndarray:
    """Break the loop at the feedback parts: each end keeps its load, and a probe takes the output's place.

    What the cathode sends forward through the parts is no part of the break; it is put back by hand.
    """
    parts: list[Element] = [
        resistor("R5", "probe", "back", BACK_OHM), capacitor("C5", "probe", "back", BACK_F),
        resistor("R6", "out", "ground", BACK_OHM), capacitor("C6", "out", "ground", BACK_F),
        resistor("R7", "probe", "ground", 1e-3),
    ]  # fmt: skip
    signal = _amplifier(parts)
    forward = gains(signal, "probe", "out", list(hertz))
    cathode = gains(signal, "probe", "back", list(hertz))
    siemens = 1.0 / BACK_OHM + 2j * np.pi * hertz * BACK_F
    row = signal.system.row
    from_output = signal.at(hertz).driven([(row["out"], signal.system.size)])[:, 0, 0]
    cathode = cathode / (1.0 - siemens * from_output[row["back"]])
    return -(forward + siemens * from_output[row["out"]] * cathode)


def _closed(hertz: np.ndarray) -> LoopGain:
    signal = _amplifier([resistor("R5", "out", "back", BACK_OHM), capacitor("C5", "out", "back", BACK_F)])
    paths = feedback_paths(signal.system.circuit.elements, frozenset({"out"}), "ground")
    found = loop_gain(signal.at(hertz), [path for path in paths if path.joint == "back"])
    assert found is not None
    return found


def test_loop_gain_of_the_closed_amplifier_is_that_of_the_broken_loop() -> None:
    hertz = decade_steps_hz(low=1.0, high=1e6, per_decade=10)
    loop, broken = _closed(hertz), _broken(hertz)
    ratio = 10 ** (np.array(loop.gain_db) / 20) * np.exp(1j * np.radians(loop.phase_deg))
    assert loop.parts == ("R5", "C5")
    assert np.max(np.abs(ratio / broken - 1.0)) < 1e-6


def test_gain_falls_by_the_return_difference() -> None:
    """Against the amplifier whose output no longer reaches the cathode, loads kept on both ends."""
    loop = _closed(decade_steps_hz(low=1.0, high=1e6, per_decade=10))
    closed = _amplifier([resistor("R5", "out", "back", BACK_OHM), capacitor("C5", "out", "back", BACK_F)])
    ratio = gains(closed, "in", "out", [1000.0])[0]
    open_ = _amplifier([
        resistor("R5", "still", "back", BACK_OHM), capacitor("C5", "still", "back", BACK_F),
        resistor("R7", "still", "ground", 1e-3),
        resistor("R6", "out", "ground", BACK_OHM), capacitor("C6", "out", "ground", BACK_F),
    ])  # fmt: skip
    without = gains(open_, "in", "out", [1000.0])[0]
    # the cathode's own signal through the feedback parts is the only difference: a part in ten thousand here
    assert 20 * np.log10(abs(without / ratio)) == pytest.approx(loop.reduction_db, abs=0.02)


def test_margins_are_where_the_curves_say() -> None:
    hertz = decade_steps_hz(low=0.1, high=1e8, per_decade=30)
    loop = _closed(hertz)
    phases = [m for m in loop.margins if m.phase_deg is not None]
    assert phases
    for margin in phases:
        assert np.interp(np.log(margin.hertz), np.log(hertz), loop.gain_db) == pytest.approx(0.0, abs=1e-9)
    assert worst_margins(loop)["phase"].phase_deg == min(m.phase_deg for m in phases if m.phase_deg is not None)


def test_an_amplifier_without_a_path_back_has_no_loop() -> None:
    signal = _amplifier([])
    assert loop_gain(signal.at(np.array([1000.0])), []) is None
    weak = _amplifier([resistor("R5", "out", "back", 1e9)])
    paths = feedback_paths(weak.system.circuit.elements, frozenset({"out"}), "ground")
    assert loop_gain(weak.at(np.array([1000.0])), [p for p in paths if p.joint == "back"]) is None


def test_feedback_to_the_wrong_end_adds() -> None:
    signal = _amplifier([resistor("R5", "out", "in", 10e6)])
    paths = feedback_paths(signal.system.circuit.elements, frozenset({"out"}), "ground")
    loop = loop_gain(signal.at(decade_steps_hz(low=100.0, high=10e3)), [p for p in paths if p.joint == "in"])
    assert loop is not None
    assert loop.positive


def test_joints_of_the_output_reach_through_closed_contacts() -> None:
    coils = (Coil("T2.primary.1-2", "plate", "B+1", 30.0, 100.0), Coil("T2.speaker.1-2", "ground", "tap", 1.0, 0.3))
    parts: list[Element] = [
        Windings("T2", coils, 20.0), Resistor("S1.c-1", "tap", "jack", 0.02, "contact"),
        Resistor("S1.c-2", "tap", "other", 1e12, "contact"), resistor("R1", "jack", "back", 1e3),
    ]  # fmt: skip
    assert output_joints(parts, ["T2"], "ground") == {"tap", "jack"}
    (path,) = feedback_paths(parts, output_joints(parts, ["T2"], "ground"), "ground")
    assert (path.joint, path.parts, path.origins) == ("back", ("R1",), ("jack",))


def test_worst_margins_of_each_kind() -> None:
    margins = (Margin(5.0, gain_db=20.0), Margin(80.0, phase_deg=100.0), Margin(9e4, phase_deg=40.0))
    loop = LoopGain(("R1",), "out", "back", False, 6.0, (), (), (), margins)
    assert worst_margins(loop) == {"phase": margins[2], "gain": margins[0]}


def test_a_crossing_lies_between_its_steps() -> None:
    hertz = np.array([10.0, 100.0, 1000.0])
    assert crossings_hz(hertz, np.array([-1.0, 1.0, 1.0]), 0.0) == [pytest.approx(10.0 * 10**0.5)]


def test_a_dip_inside_the_band_does_not_end_it() -> None:
    hertz = decade_steps_hz(low=10.0, high=100e3)
    corner = 1.0 / (1.0 + 30.0 / (1j * hertz)) / (1.0 + 1j * hertz / 20e3)
    dip = 1.0 - 0.7 / (1.0 + (np.log10(hertz / 400.0) * 40) ** 2)
    low, high = band_hz(hertz, 20 * np.log10(np.abs(corner) * dip))
    assert low == pytest.approx(30.0, rel=0.1)
    assert high == pytest.approx(20e3, rel=0.1)
    assert band_hz(hertz, np.zeros(len(hertz))) == (None, None)
