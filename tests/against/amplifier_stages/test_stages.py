"""Gain, output impedance and corners of single stages, each as its own small circuit."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest

from lugwright.circuit.elements import Coil, Element, Windings
from lugwright.solve.frequencies import decade_steps_hz
from lugwright.solve.loop import FeedbackPath, loop_gain
from lugwright.solve.poles import all_poles
from lugwright.solve.small_signal import SmallSignal

from ...given_slopes import HUGE_F, capacitor, gains, output_ohm, resistor, signal_of, triode

LOW_HZ = 1000.0


def _common_cathode(
    *, mu: float, rp: float, plate: float, load: float = 1e12, cathode: float = 1e-6, bypass: float = 1e-15
) -> SmallSignal:
    parts: list[Element] = [
        triode("V1", "plate", "grid", "cathode"), resistor("R1", "plate", "ground", plate),
        capacitor("C1", "plate", "out", HUGE_F), resistor("R2", "out", "ground", load),
        resistor("R3", "cathode", "ground", cathode), capacitor("C2", "cathode", "ground", bypass),
        resistor("R4", "grid", "ground", 1e6),
    ]  # fmt: skip
    return signal_of(parts, {"V1": (mu, rp)})


def _gain(signal: SmallSignal, output: str = "out", hertz: float = LOW_HZ) -> complex:
    return complex(gains(signal, "grid", output, [hertz])[0])


def test_gain_of_a_loaded_stage(tolerance: dict[str, Any]) -> None:
    """B-1: mu 100, rp 80k, plate 220k beside the next grid's 470k: 65.2."""
    signal = _common_cathode(mu=100.0, rp=80e3, plate=220e3, load=470e3)
    assert _gain(signal).real == pytest.approx(-65.2, rel=tolerance["exact"])


@pytest.mark.parametrize(
    ("mu", "rp", "gain"), [(60, 10.9e3, 12.9), (17, 7.7e3, 4.77), (41, 4.8e3, 15.8), (100, 80e3, 3.61)]
)
def test_gain_into_three_kilohms(mu: float, rp: float, gain: float, tolerance: dict[str, Any]) -> None:
    """B-2: four types with a plate load of 3k."""
    assert _gain(_common_cathode(mu=mu, rp=rp, plate=3e3), "plate").real == pytest.approx(-gain, rel=tolerance["exact"])


def test_bypassed_stage(tolerance: dict[str, Any]) -> None:
    """B-4: mu 100, rp 62.5k, 100k: 61.5 unloaded, 59.3 into 1M; output 38.5k."""
    open_, loaded = (_common_cathode(mu=100.0, rp=62.5e3, plate=100e3, load=r) for r in (1e12, 1e6))
    assert _gain(open_).real == pytest.approx(-61.5, rel=tolerance["exact"])
    assert _gain(loaded).real == pytest.approx(-59.3, rel=tolerance["exact"])
    assert output_ohm(open_, "grid", "plate", LOW_HZ) == pytest.approx(38.5e3, rel=tolerance["exact"])


def test_unbypassed_stage(tolerance: dict[str, Any]) -> None:
    """B-5: the same with 1k5 in the cathode: 31.8 and 29.8; output 68.2k; a step of 5.97 dB when loaded."""
    open_, loaded = (_common_cathode(mu=100.0, rp=62.5e3, plate=100e3, load=r, cathode=1500.0) for r in (1e12, 1e6))
    assert _gain(open_).real == pytest.approx(-31.8, rel=tolerance["exact"])
    assert _gain(loaded).real == pytest.approx(-29.8, rel=tolerance["exact"])
    assert output_ohm(open_, "grid", "plate", LOW_HZ) == pytest.approx(68.2e3, rel=tolerance["exact"])
    bypassed = _common_cathode(mu=100.0, rp=62.5e3, plate=100e3, load=1e6)
    step = 20 * math.log10(abs(_gain(bypassed) / _gain(loaded)))
    assert step == pytest.approx(5.97, rel=tolerance["exact"])


@pytest.mark.parametrize(("bypass", "zero", "pole"), [(22e-6, 4.82, 9.59), (0.68e-6, 156.0, 310.0)])
def test_cathode_impedance_and_shelf(bypass: float, zero: float, pole: float, tolerance: dict[str, Any]) -> None:
    """B-6: (rp + RL) / (mu + 1) = 1519 ohm with the plate at 90.9k; with 1k5 755 ohm; zero and pole of the shelf."""
    open_cathode = _common_cathode(mu=100.0, rp=62.5e3, plate=100e3, load=1e6, cathode=1e9)
    assert output_ohm(open_cathode, "grid", "cathode", LOW_HZ) == pytest.approx(1519.0, rel=tolerance["corner"])
    with_resistor = _common_cathode(mu=100.0, rp=62.5e3, plate=100e3, load=1e6, cathode=1500.0)
    assert output_ohm(with_resistor, "grid", "cathode", LOW_HZ) == pytest.approx(755.0, rel=tolerance["corner"])
    signal = _common_cathode(mu=100.0, rp=62.5e3, plate=100e3, load=1e6, cathode=1500.0, bypass=bypass)
    assert pole in [pytest.approx(-s.real / (2 * math.pi), rel=tolerance["corner"]) for s in _poles(signal)]
    # The zero is where gain = low x (1 + j f / zero) / (1 + j f / pole).
    low, middle = _gain(signal, hertz=zero * 1e-3), _gain(signal, hertz=zero)
    shape = middle / low * (1 + 1j * zero / pole)
    assert shape.imag == pytest.approx(1.0, rel=2 * tolerance["corner"])


def _poles(signal: SmallSignal) -> list[complex]:
    return [complex(s) for s in all_poles(signal.matrices())]


@pytest.mark.parametrize(("stopper", "corner"), [(68e3, 21.9e3), (34e3, 43.7e3)])
def test_miller_capacitance_and_its_corner(stopper: float, corner: float, tolerance: dict[str, Any]) -> None:
    """B-8: 1.7 pF grid to plate, 1.6 pF grid to cathode, gain 61: 107 pF; corners behind 68k and 34k."""
    load = 61.0 * 62.5e3 / (100.0 - 61.0)
    parts: list[Element] = [
        triode("V1", "plate", "pin", "ground"), resistor("R1", "plate", "ground", load),
        resistor("R2", "grid", "pin", stopper), resistor("R3", "grid", "ground", 1e6),
        capacitor("C1", "pin", "plate", 1.7e-12), capacitor("C2", "pin", "ground", 1.6e-12),
    ]  # fmt: skip
    signal = signal_of(parts, {"V1": (100.0, 62.5e3)})
    network = signal.at(np.array([1000.0]))
    volts = network.driven([(signal.system.row["pin"], signal.system.size)])[signal.system.row["pin"], 0, 0, 0]
    farad = (1.0 / volts - 1.0 / (stopper + 1e6)).imag / (2 * math.pi * 1000.0)
    assert farad == pytest.approx(107e-12, rel=tolerance["miller"])
    ratio = gains(signal, "grid", "pin", [corner])[0]
    assert abs(ratio) == pytest.approx(math.sqrt(0.5), rel=tolerance["miller"])


@pytest.mark.parametrize(("farad", "leak", "corner"), [(22e-9, 1e6, 6.97), (100e-9, 220e3, 6.16)])
def test_coupling_corner(farad: float, leak: float, corner: float, tolerance: dict[str, Any]) -> None:
    """B-10: 1 / (2 pi C (Zout + Rg)) behind 38.5k."""
    parts: list[Element] = [
        triode("V1", "plate", "grid", "ground"), resistor("R1", "plate", "ground", 100e3),
        resistor("R2", "grid", "ground", 1e6), capacitor("C1", "plate", "out", farad),
        resistor("R3", "out", "ground", leak),
    ]  # fmt: skip
    signal = signal_of(parts, {"V1": (100.0, 62.5e3)})
    slow = [-s.real / (2 * math.pi) for s in _poles(signal)]
    assert slow == [pytest.approx(corner, rel=tolerance["corner"])]
    high, low = gains(signal, "grid", "out", [1e5, corner])
    assert abs(low / high) == pytest.approx(math.sqrt(0.5), rel=tolerance["corner"])


@pytest.mark.parametrize(
    ("mu", "rp", "load", "gain", "ohm"), [(100, 62.5e3, 100e3, 0.984, 615), (20, 7.7e3, 22e3, 0.937, 361)]
)
def test_cathode_follower(
    mu: float, rp: float, load: float, gain: float, ohm: float, tolerance: dict[str, Any]
) -> None:
    """B-12: mu R / (rp + (mu + 1) R), impedance rp / (mu + 1) beside R."""
    signal = _common_cathode(mu=mu, rp=rp, plate=1e-6, cathode=load)
    assert _gain(signal, "cathode").real == pytest.approx(gain, rel=tolerance["corner"])
    assert output_ohm(signal, "grid", "cathode", LOW_HZ) == pytest.approx(ohm, rel=tolerance["corner"])


@pytest.mark.parametrize(("mu", "rp", "load", "gain"), [(100, 62.5e3, 100e3, 0.974), (20, 7.7e3, 47e3, 0.902)])
def test_split_load_inverter(mu: float, rp: float, load: float, gain: float, tolerance: dict[str, Any]) -> None:
    """B-14: mu R / (rp + (mu + 2) R) at both ends."""
    signal = _common_cathode(mu=mu, rp=rp, plate=load, cathode=load)
    assert _gain(signal, "cathode").real == pytest.approx(gain, rel=tolerance["exact"])
    assert _gain(signal, "plate").real == pytest.approx(-gain, rel=tolerance["exact"])


def test_split_load_output_impedances(tolerance: dict[str, Any]) -> None:
    """B-15: one side alone 1583 ohm and 99.0k; loaded alike on both sides each behaves as 609 ohm."""
    signal = _common_cathode(mu=100.0, rp=62.5e3, plate=100e3, cathode=100e3)
    assert output_ohm(signal, "grid", "cathode", LOW_HZ) == pytest.approx(1583.0, rel=tolerance["corner"])
    assert output_ohm(signal, "grid", "plate", LOW_HZ) == pytest.approx(99.0e3, rel=tolerance["corner"])
    load = 10e3
    bare = abs(_gain(signal, "cathode"))
    both = 1.0 / (1.0 / 100e3 + 1.0 / load)
    loaded = abs(_gain(_common_cathode(mu=100.0, rp=62.5e3, plate=both, cathode=both), "cathode"))
    assert load * (bare / loaded - 1.0) == pytest.approx(609.0, rel=tolerance["corner"])


def _long_tailed(*, driven: float, other: float, tail: float = 10e3, grid_leak: float = 1e6) -> SmallSignal:
    parts: list[Element] = [
        triode("V1", "plate a", "grid", "tail"), triode("V2", "plate b", "ground", "tail"),
        resistor("R1", "plate a", "ground", driven), resistor("R2", "plate b", "ground", other),
        resistor("R3", "tail", "ground", tail), resistor("R4", "grid", "ground", 1e6),
        resistor("R5", "plate a", "ground", grid_leak), resistor("R6", "plate b", "ground", grid_leak),
    ]  # fmt: skip
    return signal_of(parts, {"V1": (100.0, 62.5e3), "V2": (100.0, 62.5e3)})


@pytest.mark.parametrize(("driven", "inverting", "upright"), [(100e3, -31.72, 27.54), (82e3, -27.92, 29.07)])
def test_long_tailed_pair(driven: float, inverting: float, upright: float, tolerance: dict[str, Any]) -> None:
    """B-17, B-18: one grid driven, tail 10k, 1M behind each plate."""
    signal = _long_tailed(driven=driven, other=100e3)
    assert _gain(signal, "plate a").real == pytest.approx(inverting, rel=tolerance["exact"])
    assert _gain(signal, "plate b").real == pytest.approx(upright, rel=tolerance["exact"])


def test_balanced_long_tailed_pair(tolerance: dict[str, Any]) -> None:
    """B-19: 86.1k against 100k makes both halves alike."""
    signal = _long_tailed(driven=86.1e3, other=100e3, grid_leak=1e12)
    assert -_gain(signal, "plate a").real == pytest.approx(_gain(signal, "plate b").real, rel=tolerance["exact"])


@pytest.mark.parametrize("rp", [80e3, 100e3])
def test_measured_pair_over_a_current_sink(rp: float, tolerance: dict[str, Any]) -> None:
    """B-21: a 12AX7 pair, 100k plates, 1M behind each, a sink for a tail: 23.8 measured per side."""
    load = 1.0 / (1e-5 + 1e-6)
    parts: list[Element] = [
        triode("V1", "plate a", "grid", "tail"), triode("V2", "plate b", "ground", "tail"),
        resistor("R1", "plate a", "ground", load), resistor("R2", "plate b", "ground", load),
        resistor("R3", "tail", "ground", 1e9), resistor("R4", "grid", "ground", 1e6),
    ]  # fmt: skip
    signal = signal_of(parts, {"V1": (100.0, rp), "V2": (100.0, rp)})
    assert _gain(signal, "plate a").real == pytest.approx(-23.8, rel=tolerance["measured"])
    assert _gain(signal, "plate b").real == pytest.approx(23.8, rel=tolerance["measured"])


def _fed_back(closed: bool) -> SmallSignal:
    """Two stages with a gain of 1000 and one pole; 9 of 1000 ohm bring the output back to the first cathode."""
    back = 991.0 if closed else 1e12
    parts: list[Element] = [
        triode("V1", "plate", "grid", "back"), triode("V2", "out", "plate", "ground"),
        resistor("R1", "plate", "ground", 1e8), capacitor("C1", "plate", "ground", 1e-12),
        resistor("R2", "out", "ground", 1.0 / (0.1 - 1e-3)), resistor("R3", "out", "back", back),
        resistor("R4", "back", "ground", 9.0), resistor("R5", "grid", "ground", 1e6),
    ]  # fmt: skip
    if not closed:
        parts.append(resistor("R6", "out", "ground", 1000.0))
    return signal_of(parts, {"V1": (1e6, 1e12), "V2": (1e9, 1e9)})


def test_negative_feedback(tolerance: dict[str, Any]) -> None:
    """B-24: A 1000 with A beta 9 gives 100, 20.0 dB less, a tenth of the output impedance, ten times the band."""
    open_, closed = _fed_back(False), _fed_back(True)
    assert _gain(open_, hertz=1.0).real == pytest.approx(1000.0, rel=tolerance["exact"])
    assert _gain(closed, hertz=1.0).real == pytest.approx(100.0, rel=tolerance["exact"])
    ratio = output_ohm(open_, "grid", "out", 1.0) / output_ohm(closed, "grid", "out", 1.0)
    assert ratio == pytest.approx(10.0, rel=tolerance["exact"])
    corner = 1.0 / (2 * math.pi * 1e8 * 1e-12)
    at_corner = gains(closed, "grid", "out", [corner * 10.0])[0]
    assert abs(at_corner) == pytest.approx(100.0 * math.sqrt(0.5), rel=tolerance["exact"])


def test_loop_gain_of_that_feedback(tolerance: dict[str, Any]) -> None:
    """B-24, the loop by itself: 9, found in the closed amplifier; 90 degrees of margin behind one pole."""
    signal = _fed_back(True)
    network = signal.at(decade_steps_hz(low=0.1, high=1e6))
    loop = loop_gain(network, [FeedbackPath("back", ("R3",), ("out",))])
    assert loop is not None
    assert not loop.positive
    assert 10 ** (loop.gain_db[0] / 20) == pytest.approx(9.0, rel=tolerance["exact"])
    (margin,) = loop.margins
    assert margin.phase_deg == pytest.approx(180.0 - math.degrees(math.atan(math.sqrt(80.0))), rel=tolerance["corner"])


def test_transformer_shows_its_load_times_the_square_of_its_turns(tolerance: dict[str, Any]) -> None:
    """B-66: 31.6 to 1 shows 8 ohm as 8k, and 4 ohm as 4k."""
    for load, seen in ((8.0, 8000.0), (4.0, 4000.0)):
        coils = (Coil("T1.p", "a", "ground", 31.6, 1e-3), Coil("T1.s", "b", "ground", 1.0, 1e-6))
        parts: list[Element] = [Windings("T1", coils, 1e4), resistor("R1", "b", "ground", load)]
        signal = signal_of(parts, {})
        row = signal.system.row["a"]
        volts = signal.at(np.array([1000.0])).driven([(row, signal.system.size)])[row, 0, 0, 0]
        assert abs(volts) == pytest.approx(seen, rel=tolerance["exact"])
