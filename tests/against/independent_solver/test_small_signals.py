"""Small signals of every demo build against slopes of the independently written equations, taken by differences."""

from __future__ import annotations

import sys
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import scipy.linalg

sys.path.insert(0, str(Path(__file__).parent))
from equations import Equations, Vector

from lugwright.buildfile.build import Build
from lugwright.buildfile.read import read_build
from lugwright.circuit.audio import audio_circuit
from lugwright.circuit.elements import Junction, VacuumDiode
from lugwright.circuit.from_build import circuit_from_build
from lugwright.circuit.network import Circuit
from lugwright.circuit.points import input_jack, plugged, speaker
from lugwright.solve.idle import solve_column
from lugwright.solve.poles import all_poles
from lugwright.solve.small_signal import SmallSignal, linearized
from lugwright.solve.system import System

EXAMPLES = sorted((Path(__file__).parents[3] / "examples").glob("*.toml"))
HERTZ = np.geomspace(10.0, 100e3, 25)
STEP_V = 1e-4


def _signal(path: Path) -> tuple[Build, SmallSignal]:
    """Return the circuit for signals without its rectifiers, with a plug in the first input."""
    build = read_build(path).build
    assert build is not None
    plain = circuit_from_build(build)
    system = System(plain)
    jack = input_jack(build)
    assert jack is not None
    signal = linearized(
        audio_circuit(build), solve_column(system, system.values(())), [plugged(build, jack.terminal("tip").joint)]
    )
    return build, replace(signal, diode_slopes=np.zeros_like(signal.diode_slopes))


def _equations(build: Build, signal: SmallSignal) -> Equations:
    circuit = audio_circuit(build)
    jack = input_jack(build)
    assert jack is not None
    opened = {change.element: change for change in plugged(build, jack.terminal("tip").joint).changes}
    elements = tuple(
        replace(e, on=0.0) if isinstance(e, Junction | VacuumDiode)
        else replace(e, ohm=opened[e.name].value) if e.name in opened
        else e
        for e in circuit.elements
    )  # fmt: skip
    return Equations(Circuit(elements, circuit.ground, circuit.mains_hz))


def _by_differences(equations: Equations, signal: SmallSignal) -> tuple[np.ndarray, np.ndarray]:
    """Return the slopes of the residual over the unknowns and over their rates, at the idle."""
    size = equations.size
    rest = np.zeros(size)
    for joint, row in equations.row.items():
        rest[row] = signal.volts[signal.system.row[joint], 0]

    def residual(y: Vector, rates: Vector) -> Vector:
        out = np.zeros(size)
        equations.residual(0.0, y, rates, out)
        return out

    still = np.zeros(size)
    by_value, by_rate = np.zeros((size, size)), np.zeros((size, size))
    base = residual(rest, still)
    for k in range(size):
        nudge = np.zeros(size)
        nudge[k] = STEP_V
        by_value[:, k] = (residual(rest + nudge, still) - residual(rest - nudge, still)) / (2.0 * STEP_V)
        nudge[k] = 1.0
        by_rate[:, k] = residual(rest, nudge) - base
    return by_value, by_rate


@pytest.mark.parametrize("path", EXAMPLES, ids=lambda p: p.stem)
def test_gain_and_impedances_agree_with_the_other_equations(path: Path, tolerance: dict[str, Any]) -> None:
    build, signal = _signal(path)
    equations = _equations(build, signal)
    by_value, by_rate = _by_differences(equations, signal)
    jack, loud = input_jack(build), speaker(build)
    assert jack is not None
    assert loud is not None
    ports = jack.terminal("tip").joint, loud.terminal("plus").joint
    drive = np.zeros((equations.size, 2))
    for column, joint in enumerate(ports):
        drive[equations.row[joint], column] = 1.0
    ours = signal.at(HERTZ).driven([(signal.system.row[joint], signal.system.size) for joint in ports])[:, :, 0]
    for k, hertz in enumerate(HERTZ):
        theirs = np.linalg.solve(by_value + 2j * np.pi * hertz * by_rate, drive)
        for column in range(2):
            for joint in ports:
                a, b = ours[signal.system.row[joint], column, k], theirs[equations.row[joint], column]
                if abs(b) > 1e-6:  # ohm; what comes back from the speaker to the jack is less
                    assert abs(a / b - 1.0) <= tolerance["small_signal"], (joint, hertz)


@pytest.mark.parametrize("path", EXAMPLES, ids=lambda p: p.stem)
def test_swings_agree_with_the_poles_of_the_other_equations(path: Path, tolerance: dict[str, Any]) -> None:
    """Their generalized eigenvalues by scipy's QZ, ours from stored energies: the least damped ten of each."""
    build, signal = _signal(path)
    by_value, by_rate = _by_differences(_equations(build, signal), signal)
    exact = scipy.linalg.eigvals(-by_value, by_rate)
    ours = [s for s in all_poles(signal.matrices()) if s.imag > 0.0 and 10.0 < abs(s) < 3e6]
    worst = sorted(ours, key=lambda s: -s.real / abs(s))[:10]
    assert worst
    for s in worst:
        nearest = exact[np.argmin(np.abs(exact - s))]
        assert abs(nearest / s - 1.0) <= tolerance["pole"], s
