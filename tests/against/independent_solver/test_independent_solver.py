"""Every demo build handed to SUNDIALS and scipy as plain equations: same levels, same waveforms."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from scipy.optimize import root
from sksundae.ida import IDA

sys.path.insert(0, str(Path(__file__).parent))
from equations import Equations, Vector

from lugwright.buildfile.read import read_build
from lugwright.circuit.from_build import circuit_from_build
from lugwright.solve.idle import solve_column
from lugwright.solve.readout import solved_waves
from lugwright.solve.solved import Solved
from lugwright.solve.system import System

EXAMPLES = sorted((Path(__file__).parents[3] / "examples").glob("*.toml"))
INSTANTS = 945
FINER = {"redshank_50": 1323}  # its rectifier tube charges in the shortest pulses


def _solved(path: Path, instants: int = INSTANTS) -> tuple[Equations, Solved]:
    build = read_build(path).build
    assert build is not None
    circuit = circuit_from_build(build)
    system = System(circuit)
    return Equations(circuit), solve_column(system, system.values(()), instants=instants)


@pytest.mark.parametrize("path", EXAMPLES, ids=lambda p: p.stem)
def test_dc_levels_agree_with_scipy_root(path: Path, tolerance: dict[str, Any]) -> None:
    """All tubes and dividers, from levels 3 % off, given the rectifiers' mean currents."""
    equations, solved = _solved(path)
    assert solved.cycle is not None
    diodes = {d.name: float(a) for d, a in zip(solved.system.diodes, solved.cycle.mean_a, strict=True)}
    ours = np.array([solved.dc.volts[solved.system.row[j], 0] for j in equations.joints])
    answer = root(equations.dc, 1.03 * ours + 0.01, args=(diodes,), method="hybr", tol=1e-13)
    assert np.abs(equations.dc(answer.x, diodes)).max() < 1e-9
    assert np.abs(answer.x - ours).max() <= tolerance["dc_v"]


def _start(equations: Equations, solved: Solved) -> tuple[Vector, Vector, Vector]:
    """Return our joint waveforms, and all unknowns with their slopes at the first instant."""
    joint_v, branch_a = solved_waves(solved)
    system = solved.system
    joints = np.array([joint_v[system.row[j]] for j in equations.joints])
    coils = {coil.name: branch_a[system.branch_row[coil.name]] for _, coil in equations.coils}
    flux = [
        sum(coil.turns * coils[coil.name] for coil in core.coils) * core.magnetizing_h / core.coils[0].turns ** 2
        for core in equations.cores
    ]
    whole = np.vstack([joints, *coils.values(), *flux])
    step = 1.0 / (system.circuit.mains_hz * whole.shape[1])
    slopes = (3.0 * whole[:, 0] - 4.0 * whole[:, -1] + whole[:, -2]) / (2.0 * step)
    return joints, whole[:, 0], slopes


def _ida(equations: Equations, times: Vector, start: Vector, slopes: Vector) -> Vector:
    """Return IDA's joint waveforms, at the tightest tolerance at which it gets going from this start."""
    for rtol in (1e-7, 1e-6):
        solver = IDA(equations.residual, rtol=rtol, atol=1e-6, first_step=1e-8, max_num_steps=200000)
        found = solver.solve(times, start, slopes)
        if found.success:
            return np.asarray(found.y[:, : len(equations.joints)].T)
    raise AssertionError(found.message)


@pytest.mark.parametrize("path", EXAMPLES, ids=lambda p: p.stem)
def test_one_mains_cycle_agrees_with_ida(path: Path, tolerance: dict[str, Any]) -> None:
    """Started at one instant of our cycle, IDA follows it all the way round, tubes and all, and comes back to it."""
    equations, solved = _solved(path, FINER.get(path.stem, INSTANTS))
    joints, start, slopes = _start(equations, solved)
    times = np.linspace(0.0, 1.0 / solved.system.circuit.mains_hz, joints.shape[1] + 1)
    theirs = _ida(equations, times, start, slopes)
    ours = np.hstack([joints, joints[:, :1]])
    allowed = np.maximum(tolerance["dc_v"], tolerance["waveform"] * np.ptp(ours, axis=1))
    off = np.abs(theirs - ours)[:, 1:].max(axis=1)
    worst = int(np.argmax(off / allowed))
    assert np.all(off <= allowed), f"{equations.joints[worst]}: {off[worst]:.3g} V off, {allowed[worst]:.3g} V allowed"
    largest = np.maximum(np.abs(ours).max(axis=1), tolerance["dc_v"] / tolerance["waveform_of_peak"])
    worst = int(np.argmax(off / largest))
    assert off[worst] <= tolerance["waveform_of_peak"] * largest[worst], (equations.joints[worst], off[worst])
    assert np.abs(theirs[:, :-1].mean(axis=1) - joints.mean(axis=1)).max() <= tolerance["dc_v"]
