"""Choke-input filters and small worked supplies against formulas and exact figures."""

from __future__ import annotations

import math
from typing import Any

import pytest

from lugwright.circuit.elements import Capacitor, Coil, Element, Junction, Resistor, VoltageSource, Windings
from lugwright.circuit.network import Circuit
from lugwright.circuit.operating import Idle
from lugwright.solve.idle import solve_idle


def _diode(name: str, anode: str, cathode: str) -> Junction:
    return Junction(name, anode, cathode, threshold_v=0.1, bulk_ohm=0.01, smooth_v=0.004, leak_s=1e-9)


def _full_wave(*, rms_v: float, hertz: float, ohm: float, behind: list[Element]) -> Circuit:
    source = [
        VoltageSource("S1", "a", "ground", 0.0, rms_v, ohm), VoltageSource("S2", "ground", "b", 0.0, rms_v, ohm),
        _diode("CR1", "a", "raw"), _diode("CR2", "b", "raw"),
    ]  # fmt: skip
    return Circuit((*source, *behind), mains_hz=hertz)


def _choke(*, henry: float, farad: float, load_ohm: float) -> list[Element]:
    # The small resistor keeps the joint before the choke defined while both diodes are off.
    return [
        Windings("L1", (Coil("L1", "raw", "out", 1.0, 0.01),), henry),
        Capacitor("C1", "out", "ground", farad),
        Resistor("R1", "out", "ground", load_ohm),
        Resistor("R2", "raw", "ground", 1e7),
    ]


def _ripple_rms_v(idle: Idle, joint: str) -> float:
    return idle.joints[joint].ripple_rms_v


def test_choke_input_gives_nine_tenths_of_the_rms_voltage(tolerance: dict[str, Any]) -> None:
    """A-11: Edc = (2 sqrt 2 / pi) Erms, above the critical inductance."""
    circuit = _full_wave(rms_v=400.0, hertz=60.0, ohm=0.1, behind=_choke(henry=20.0, farad=50e-6, load_ohm=5000.0))
    idle = solve_idle(circuit)[0]
    assert idle.joints["out"].volts / 400.0 == pytest.approx(0.9003, rel=tolerance["dc"])


@pytest.mark.parametrize(("share", "expected"), [(1.0, 0.637), (0.5, 0.720), (0.2, 0.810), (0.1, 0.861)])
@pytest.mark.parametrize("hertz", [50.0, 60.0])
def test_below_critical_inductance_the_output_rises(
    share: float, expected: float, hertz: float, tolerance: dict[str, Any]
) -> None:
    """A-12 and A-14: critical L = R / (6 pi f); Edc / Em below it, ideal capacitor."""
    load = 5000.0
    henry = share * load / (6 * math.pi * hertz)
    circuit = _full_wave(rms_v=100.0, hertz=hertz, ohm=0.1, behind=_choke(henry=henry, farad=1e-3, load_ohm=load))
    idle = solve_idle(circuit)[0]
    assert abs(idle.joints["out"].volts / (100.0 * math.sqrt(2.0)) - expected) <= tolerance["mean"]


def test_ripple_behind_one_choke_section(tolerance: dict[str, Any]) -> None:
    """A-16: (sqrt 2 / 3) / (4 w^2 L C - 1): 60 Hz, 10 H, 20 uF give 0.418 %."""
    circuit = _full_wave(rms_v=300.0, hertz=60.0, ohm=0.1, behind=_choke(henry=10.0, farad=20e-6, load_ohm=3000.0))
    idle = solve_idle(circuit)[0]
    assert _ripple_rms_v(idle, "out") / idle.joints["out"].volts == pytest.approx(0.00418, rel=tolerance["ripple"])


def test_ripple_of_a_choke_alone_into_a_resistor(tolerance: dict[str, Any]) -> None:
    """A-18: 0.483 R / XL with all harmonics, XL at mains frequency ... = R / (3 sqrt 2 w L) to first order."""
    load, henry, hertz = 3000.0, 40.0, 50.0
    behind: list[Element] = [
        Windings("L1", (Coil("L1", "raw", "out", 1.0, 0.01),), henry), Resistor("R1", "out", "ground", load),
        Resistor("R2", "raw", "ground", 1e7),
    ]  # fmt: skip
    idle = solve_idle(_full_wave(rms_v=300.0, hertz=hertz, ohm=0.1, behind=behind))[0]
    reactance = 2 * math.pi * 2 * hertz * henry
    expected = 0.483 * load / reactance / math.sqrt(1 + (load / reactance) ** 2)
    assert _ripple_rms_v(idle, "out") / idle.joints["out"].volts == pytest.approx(expected, rel=tolerance["ripple"])


@pytest.mark.parametrize(("hertz", "ohm", "farad", "factor"), [(50.0, 1e3, 47e-6, 0.0338), (60.0, 10e3, 10e-6, 0.0133)])
def test_resistance_capacitance_section_takes_ripple_down(
    hertz: float, ohm: float, farad: float, factor: float, tolerance: dict[str, Any]
) -> None:
    """A-19: factor 1 / sqrt(1 + (w2 R C)^2) at twice the mains frequency, for a pure sine."""
    parts: list[Element] = [
        VoltageSource("S1", "raw", "ground", 300.0, 5.0, 0.01), Resistor("R2", "raw", "node", ohm),
        Capacitor("C2", "node", "ground", farad), Resistor("R3", "node", "ground", 1e7),
    ]  # fmt: skip
    idle = solve_idle(Circuit(tuple(parts), mains_hz=2 * hertz))[0]
    found = _ripple_rms_v(idle, "node") / _ripple_rms_v(idle, "raw")
    assert found == pytest.approx(factor, rel=tolerance["dc"])


def test_worked_bridge_supply(tolerance: dict[str, Any]) -> None:
    """A-7: bridge, 250 V rms, 40 ohm in all, 100 uF, 2.5 kohm, 50 Hz, ideal diodes."""
    parts: list[Element] = [
        VoltageSource("S1", "a", "b", 0.0, 250.0, 40.0),
        _diode("CR1", "a", "out"), _diode("CR2", "b", "out"),
        _diode("CR3", "ground", "a"), _diode("CR4", "ground", "b"),
        Capacitor("C1", "out", "ground", 100e-6), Resistor("R1", "out", "ground", 2500.0),
    ]  # fmt: skip
    idle = solve_idle(Circuit(tuple(parts), mains_hz=50.0))[0]
    assert idle.joints["out"].volts == pytest.approx(323.6, abs=1.0)
    assert idle.joints["out"].ripple_rms_v == pytest.approx(2.98, rel=tolerance["ripple"])
    assert idle.joints["out"].ripple_peak_to_peak_v == pytest.approx(9.69, rel=tolerance["ripple"])
    assert idle.parts["CR1"].rms_a == pytest.approx(0.1956, rel=tolerance["ripple"])
    assert idle.parts["CR1"].peak_a == pytest.approx(0.740, rel=tolerance["ripple"])
    assert idle.parts["S1"].rms_a == pytest.approx(0.2766, rel=tolerance["ripple"])
    assert idle.parts["C1"].rms_a == pytest.approx(0.2445, rel=tolerance["ripple"])


def test_worked_bias_supply(tolerance: dict[str, Any]) -> None:
    """A-9: half-wave, 50 V rms, 470 ohm, 47 uF, 15 kohm, 50 Hz."""
    parts: list[Element] = [
        VoltageSource("S1", "a", "ground", 0.0, 50.0, 470.0), _diode("CR1", "out", "a"),
        Capacitor("C1", "ground", "out", 47e-6), Resistor("R1", "out", "ground", 15e3),
    ]  # fmt: skip
    idle = solve_idle(Circuit(tuple(parts), mains_hz=50.0))[0]
    assert idle.joints["out"].volts == pytest.approx(-57.2, rel=tolerance["dc"])
    assert idle.joints["out"].ripple_rms_v == pytest.approx(0.396, rel=tolerance["ripple"])
    assert idle.joints["out"].ripple_peak_to_peak_v == pytest.approx(1.31, rel=tolerance["ripple"])
    assert idle.parts["CR1"].peak_a == pytest.approx(0.029, rel=tolerance["ripple"])


def test_one_diode_open_halves_the_ripple_frequency() -> None:
    """R2 of a reference set of faults: 250-0-250 V, 150 ohm, 47 uF, 4 kohm, 50 Hz, silicon.

    Good 302.6 V with 10.9 V peak to peak; one diode open 277.3 V with 23.5 V; tolerances 1 % and 5 %.
    """
    good: list[Element] = [
        VoltageSource("S1", "a", "ground", 0.0, 250.0, 150.0), VoltageSource("S2", "ground", "b", 0.0, 250.0, 150.0),
        Junction("CR1", "a", "raw"), Junction("CR2", "b", "raw"),
        Capacitor("C1", "raw", "ground", 47e-6), Resistor("R1", "raw", "ground", 4000.0),
    ]  # fmt: skip
    for parts, volts, ripple in ((good, 302.6, 10.9), ([p for p in good if p.name != "CR2"], 277.3, 23.5)):
        joint = solve_idle(Circuit(tuple(parts), mains_hz=50.0))[0].joints["raw"]
        assert joint.volts == pytest.approx(volts, rel=0.01)
        assert joint.ripple_peak_to_peak_v == pytest.approx(ripple, rel=0.05)
