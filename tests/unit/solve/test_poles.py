"""Poles against scipy's generalized eigenvalues, against encirclements, and against known oscillators."""

from __future__ import annotations

import math
from pathlib import Path

import numpy as np
import pytest
import scipy.linalg

from lugwright.buildfile.read import read_build
from lugwright.circuit.audio import audio_circuit
from lugwright.circuit.edits import Edit
from lugwright.circuit.elements import Coil, Element, Windings
from lugwright.circuit.from_build import circuit_from_build
from lugwright.solve.descriptor import tube_matrix
from lugwright.solve.device_laws import tube_matrix_entries
from lugwright.solve.idle import solve_column
from lugwright.solve.poles import all_poles, amplifier_poles
from lugwright.solve.small_signal import SmallSignal, linearized
from lugwright.solve.system import System

from ...given_slopes import capacitor, resistor, signal_of, triode

EXAMPLES = sorted((Path(__file__).parents[3] / "examples").glob("*.toml"))


@pytest.fixture(params=EXAMPLES, ids=lambda p: p.stem, scope="module")
def signal(request: pytest.FixtureRequest) -> SmallSignal:
    build = read_build(request.param).build
    assert build is not None
    circuit = circuit_from_build(build)
    system = System(circuit)
    return linearized(audio_circuit(build), solve_column(system, system.values([Edit("as built")])))


def _ladder() -> list[Element]:
    parts: list[Element] = []
    before = "ground"
    for k in (1, 2, 3):
        parts += [resistor(f"R{k}", before, f"n{k}", 1e3), capacitor(f"C{k}", f"n{k}", "ground", 1e-6)]
        before = f"n{k}"
    return parts


def test_poles_of_a_ladder_of_three_sections() -> None:
    """1k and 1 uF: -198.062, -1554.96, -3246.98 per second, from a thesis on fault analysis, recomputed."""
    found = np.sort(all_poles(signal_of(_ladder(), {}).matrices()).real)[::-1]
    assert found == pytest.approx((-198.062, -1554.96, -3246.98), rel=1e-5)


def test_poles_are_those_of_scipy(signal: SmallSignal) -> None:
    """Between a tenth of a hertz and ten megahertz, where scipy's own answers do not change with units."""
    form = signal.matrices()
    scale = np.ones(form.rows)
    scale[: form.system.size] = 1e2  # millivolts and amperes make scipy's matrices better balanced
    exact = scipy.linalg.eigvals(-form.conductance * scale, form.storage * scale)
    ours = all_poles(form)
    inside = [s for s in ours if 0.6 < abs(s) < 6e7]
    assert len(inside) > 10
    for s in inside:
        nearest = exact[np.argmin(np.abs(exact - s))]
        assert abs(nearest - s) < 2e-4 * abs(s), s


def test_refined_poles_make_the_matrices_singular(signal: SmallSignal) -> None:
    form = signal.matrices()
    for pole in amplifier_poles(signal).poles:
        s = complex(pole.growth_per_s, 2 * math.pi * pole.hertz)
        assert pole.error < 1e-8
        off = 1.001 * s
        here, beside = (_log_determinant(form.conductance + one * form.storage) for one in (s * (1 + 1e-9), off))
        assert here < beside - 8.0  # a millionfold nearer: e to the 13.8, less what a double pole takes


def _log_determinant(matrix: np.ndarray) -> float:
    return float(np.linalg.slogdet(matrix)[1])


def test_poles_that_grow_are_as_many_as_the_encirclements(signal: SmallSignal) -> None:
    """The determinant over that of the circuit with its tubes pulled, along the imaginary axis: one turn a pole."""
    form = signal.matrices()
    size = form.system.size
    passive = form.conductance.copy()
    passive[:size, :size] -= tube_matrix(form.system, tube_matrix_entries(signal.tubes)[:, [0]])
    s = 2j * np.pi * np.geomspace(1e-3, 1e10, 1041)
    turned = 0.0
    before = None
    for one in s:
        sign, _ = np.linalg.slogdet(np.stack([form.conductance + one * form.storage, passive + one * form.storage]))
        ratio = sign[0] / sign[1]
        turned += 0.0 if before is None else float(np.angle(ratio / before))
        before = ratio
    growing = sum(1 for s in all_poles(form) if s.real > 1e-3)
    assert -turned / math.pi == pytest.approx(growing, abs=0.05)


def _phase_shift(gain: float) -> SmallSignal:
    """Three sections of 10n and 1M around one stage: it needs a gain of 29."""
    parts: list[Element] = [
        triode("V1", "plate", "s3", "ground"), resistor("R0", "plate", "ground", 1.0),
        *(capacitor(f"C{k}", a, b, 1e-8) for k, (a, b) in enumerate((("plate", "s1"), ("s1", "s2"), ("s2", "s3")))),
        *(resistor(f"R{k}", f"s{k}", "ground", 1e6) for k in (1, 2, 3)),
    ]  # fmt: skip
    return signal_of(parts, {"V1": (gain * 1e9, 1e9)})


def test_a_phase_shift_oscillator_starts_above_a_gain_of_29() -> None:
    for gain, grows in ((28.99, False), (29.01, True)):
        worst = amplifier_poles(_phase_shift(gain)).poles[0]
        assert (worst.growth_per_s > 0.0) is grows
        assert worst.hertz == pytest.approx(1.0 / (2 * math.pi * math.sqrt(6.0) * 1e6 * 1e-8), rel=1e-3)
        assert worst.joints[0] in ("s1", "s2", "s3", "plate")


def test_a_circuit_of_resistors_has_no_poles() -> None:
    assert amplifier_poles(signal_of([resistor("R1", "a", "ground", 5.0)], {})).count == 0


@pytest.mark.parametrize("seed", range(12))
def test_a_network_without_tubes_only_comes_to_rest(seed: int) -> None:
    random = np.random.default_rng(seed)
    joints = ["a", "b", "c", "d", "ground"]
    parts: list[Element] = [resistor(f"R{k}", joint, "ground", 1e5) for k, joint in enumerate(joints[:-1])]
    for k in range(5):
        a, b = random.choice(joints, 2, replace=False)
        parts.append(capacitor(f"C{k}", a, b, float(10 ** random.uniform(-11, -5))))
        c, d = random.choice(joints, 2, replace=False)
        coils = (Coil(f"T{k}.p", a, b, 8.0, 100.0, 0.02), Coil(f"T{k}.s", c, d, 1.0, 1.0))
        parts.append(Windings(f"T{k}", coils, float(10 ** random.uniform(-2, 2))))
    form = signal_of(parts, {}).matrices()
    poles = all_poles(form)
    assert len(poles) >= 5
    assert np.all(poles.real < 1e-6 * np.abs(poles))
    scale = np.where(np.arange(form.rows) < form.system.size, 1e2, 1.0)
    exact = scipy.linalg.eigvals(-form.conductance * scale, form.storage * scale)
    for s in poles[np.abs(poles) < 1e8]:
        assert np.min(np.abs(exact - s)) < 1e-4 * abs(s)
