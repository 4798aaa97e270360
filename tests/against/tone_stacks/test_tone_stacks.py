"""Three-knob stacks against their transfer function and its tables; ladder controls against theirs."""

from __future__ import annotations

import itertools
from typing import Any

import numpy as np
import pytest
import scipy.signal

from lugwright.circuit.elements import Element
from lugwright.solve.poles import all_poles
from lugwright.solve.small_signal import SmallSignal

from ...given_slopes import capacitor, gains, resistor, signal_of

# treble pot, bass rheostat, middle pot, slope resistor; treble, bass and middle capacitor
SETS = {
    "1": (250e3, 1e6, 25e3, 56e3, 250e-12, 20e-9, 20e-9),
    "2": (220e3, 1e6, 25e3, 33e3, 470e-12, 22e-9, 22e-9),
    "3": (250e3, 250e3, 10e3, 100e3, 250e-12, 100e-9, 47e-9),
}
LEAST = 1e-6  # a wiper at its end
LADDER_HZ = (10, 20, 50, 100, 200, 500, 1000, 2000, 5000, 10000, 20000)


def _stack(parts: tuple[float, ...], treble: float, middle: float, bass: float) -> SmallSignal:
    r1, r2, r3, r4, c1, c2, c3 = parts
    t, m, b = (min(max(share, LEAST), 1.0 - LEAST) for share in (treble, middle, bass))
    elements: list[Element] = [
        capacitor("C1", "in", "top", c1), resistor("R1.2-3", "top", "out", (1 - t) * r1),
        resistor("R1.1-2", "out", "low", t * r1), resistor("R4", "in", "slope", r4),
        capacitor("C2", "slope", "low", c2), resistor("R2", "low", "middle", b * r2),
        resistor("R3.2-3", "middle", "wiper", (1 - m) * r3), resistor("R3.1-2", "wiper", "ground", m * r3),
        capacitor("C3", "slope", "wiper", c3),
    ]  # fmt: skip
    return signal_of(elements, {})


def _db(signal: SmallSignal, hertz: tuple[float, ...], source: str = "in", output: str = "out") -> np.ndarray:
    return 20 * np.log10(np.abs(gains(signal, source, output, hertz)))


def _coefficients(parts: tuple[float, ...], t: float, m: float, b: float) -> tuple[list[float], list[float]]:
    """Return numerator and denominator as published, highest power first."""
    r1, r2, r3, r4, c1, c2, c3 = parts
    ccc = c1 * c2 * c3
    b1 = t * c1 * r1 + m * c3 * r3 + b * (c1 + c2) * r2 + (c1 + c2) * r3
    b2 = (
        t * (c1 * c2 + c1 * c3) * r1 * r4 - m * m * (c1 + c2) * c3 * r3**2
        + m * (c1 * c3 * r1 * r3 + (c1 + c2) * c3 * r3**2)
        + b * (c1 * c2 * r1 * r2 + c1 * c2 * r2 * r4 + c1 * c3 * r2 * r4) + b * m * (c1 + c2) * c3 * r2 * r3
        + (c1 * c2 * r1 * r3 + c1 * c2 * r3 * r4 + c1 * c3 * r3 * r4)
    )  # fmt: skip
    b3 = (
        b * m * ccc * r2 * r3 * (r1 + r4) - m * m * ccc * r3**2 * (r1 + r4) + m * ccc * r3**2 * (r1 + r4)
        + t * ccc * r1 * r3 * r4 - t * m * ccc * r1 * r3 * r4 + t * b * ccc * r1 * r2 * r4
    )  # fmt: skip
    a1 = c1 * r1 + c1 * r3 + c2 * r3 + c2 * r4 + c3 * r4 + m * c3 * r3 + b * (c1 + c2) * r2
    a2 = (
        m * (c1 * c3 * r1 * r3 - c2 * c3 * r3 * r4 + (c1 + c2) * c3 * r3**2) + b * m * (c1 + c2) * c3 * r2 * r3
        - m * m * (c1 + c2) * c3 * r3**2
        + b * (c1 * c2 * r2 * r4 + c1 * c2 * r1 * r2 + c1 * c3 * r2 * r4 + c2 * c3 * r2 * r4)
        + (c1 * c2 * r1 * r4 + c1 * c3 * r1 * r4 + c1 * c2 * r3 * r4 + c1 * c2 * r1 * r3 + c1 * c3 * r3 * r4
           + c2 * c3 * r3 * r4)
    )  # fmt: skip
    a3 = (
        b * m * ccc * r2 * r3 * (r1 + r4) - m * m * ccc * r3**2 * (r1 + r4)
        + m * (ccc * r3**2 * (r1 + r4) - ccc * r1 * r3 * r4) + b * ccc * r1 * r2 * r4 + ccc * r1 * r3 * r4
    )  # fmt: skip
    return [b3, b2, b1, 0.0], [a3, a2, a1, 1.0]


def test_tables_of_the_stack(rows: list[dict[str, str]], tolerance: dict[str, Any]) -> None:
    assert len(rows) == 5
    for row in rows:
        hertz = [float(name) for name in row if name.isdigit()]
        signal = _stack(SETS[row["set"]], float(row["treble"]), float(row["middle"]), float(row["bass"]))
        printed = [float(row[f"{int(f)}"]) for f in hertz]
        assert np.max(np.abs(_db(signal, tuple(hertz)) - printed)) <= tolerance["printed_db"], row["id"]


def test_published_coefficients_of_one_setting(tolerance: dict[str, Any]) -> None:
    """B-39c: printed to seven figures."""
    (b3, b2, b1, _), (a3, a2, a1, _) = _coefficients(SETS["1"], 0.5, 0.5, 0.5)
    printed = (1.091250e-2, 3.630406e-6, 5.547813e-10, 1.318375e-2, 1.518041e-5, 9.135313e-10)
    assert (b1, b2, b3, a1, a2, a3) == pytest.approx(printed, rel=tolerance["exact"])


@pytest.mark.parametrize("name", sorted(SETS))
def test_stack_is_its_transfer_function_at_every_setting(name: str, tolerance: dict[str, Any]) -> None:
    """Gain and phase over five decades, 27 settings of each set."""
    hertz = np.geomspace(1.0, 1e5, 41)
    for t, m, b in itertools.product((0.02, 0.5, 0.97), repeat=3):
        _, exact = scipy.signal.freqs(*_coefficients(SETS[name], t, m, b), worN=2 * np.pi * hertz)
        found = gains(_stack(SETS[name], t, m, b), "in", "out", tuple(hertz))
        assert np.max(np.abs(found / exact - 1.0)) <= tolerance["exact"]


@pytest.mark.parametrize("name", sorted(SETS))
def test_poles_of_the_stack_are_the_roots_of_its_denominator(name: str, tolerance: dict[str, Any]) -> None:
    signal = _stack(SETS[name], 0.5, 0.5, 0.5)
    low_ohm_source = [*signal.system.circuit.elements, resistor("R9", "in", "ground", 1e-6)]
    found = np.sort(all_poles(signal_of(low_ohm_source, {}).matrices()).real)
    exact = np.sort(np.roots(_coefficients(SETS[name], 0.5, 0.5, 0.5)[1]).real)
    assert found[-3:] == pytest.approx(exact, rel=tolerance["exact"])


@pytest.mark.parametrize(
    ("setting", "hertz", "depth"), [((0.5, 0.5, 0.5), 723.0, -12.4), ((1.0, 0.0, 1.0), 606.0, -21.9)]
)
def test_notch(setting: tuple[float, float, float], hertz: float, depth: float, tolerance: dict[str, Any]) -> None:
    """B-39a: where the middle is lowest."""
    around = np.linspace(100.0, 2000.0, 3801)
    curve = _db(_stack(SETS["1"], *setting), tuple(around))
    assert around[np.argmin(curve)] == pytest.approx(hertz, rel=tolerance["notch_hz"])
    assert curve.min() == pytest.approx(depth, abs=tolerance["notch_db"])


def _ladder(bass: float, treble: float) -> SmallSignal:
    b, t = (min(max(share, LEAST), 1.0 - LEAST) for share in (bass, treble))
    elements: list[Element] = [
        resistor("R1", "in", "top", 100e3), resistor("R2.2-3", "top", "wiper", (1 - b) * 1e6),
        resistor("R2.1-2", "wiper", "bottom", b * 1e6), resistor("R3", "bottom", "ground", 10e3),
        capacitor("C1", "top", "wiper", 2.2e-9), capacitor("C2", "wiper", "bottom", 22e-9),
        resistor("R4", "wiper", "out", 100e3), capacitor("C3", "in", "high", 220e-12),
        resistor("R5.2-3", "high", "out", (1 - t) * 1e6), resistor("R5.1-2", "out", "low", t * 1e6),
        capacitor("C4", "low", "ground", 2.2e-9), resistor("R6", "out", "ground", 1e6),
    ]  # fmt: skip
    return signal_of(elements, {})


@pytest.mark.parametrize(
    ("share", "printed"),
    [
        (1.0, (-2.4, -2.8, -4.4, -7.4, -12.3, -20.0, -19.0, -12.8, -5.7, -2.2, -0.7)),
        (0.1, (-21.7, -21.7, -21.7, -21.7, -21.6, -21.4, -21.1, -20.9, -20.8, -20.8, -20.8)),
    ],
)
def test_ladder_control(share: float, printed: tuple[float, ...], tolerance: dict[str, Any]) -> None:
    """B-40, B-41: both knobs full up, and both at a tenth of their resistance."""
    assert np.max(np.abs(_db(_ladder(share, share), LADDER_HZ) - printed)) <= tolerance["ladder_db"]


def test_shape_of_a_printed_control(tolerance: dict[str, Any]) -> None:
    """B-44: 20 dB of loss in the middle, boost at both ends; parts unknown, so ends and middle only."""
    boosted = _db(_ladder(1.0, 1.0), (10, 500, 20000))
    assert np.max(np.abs(boosted - (-4.0, -20.0, -2.0))) <= tolerance["shape_db"]
    assert _db(_ladder(0.1, 0.1), (500,))[0] == pytest.approx(-20.0, abs=tolerance["shape_db"])
