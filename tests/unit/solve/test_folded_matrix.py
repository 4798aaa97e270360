"""A Newton step on the joints that tubes and diodes touch is the step of the whole matrix."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from lugwright.buildfile.read import read_build
from lugwright.circuit.from_build import circuit_from_build
from lugwright.solve.dc import DcProblem, FoldedMatrix
from lugwright.solve.idle import static_law
from lugwright.solve.system import System

EXAMPLES = sorted((Path(__file__).parents[3] / "examples").glob("*.toml"))


@pytest.mark.parametrize("path", EXAMPLES, ids=lambda p: p.stem)
def test_folded_step_agrees_with_the_dense_matrix(path: Path) -> None:
    build = read_build(path).build
    assert build is not None
    system = System(circuit_from_build(build))
    values = system.values(())
    problem = DcProblem(system, values, static_law(system, values))
    random = np.random.default_rng(7)
    device = random.uniform(1e-6, 1e-3, (len(system.device_slots), 1))
    dense = np.zeros((system.size, system.size))
    dense[system.dense_index] = (problem.linear + system.device_matrix_scatter(device))[:-1, 0]
    left = random.normal(size=(system.size, 1)) * 1e-3
    step = FoldedMatrix(system, problem.linear).step(device, left)
    assert np.abs(dense @ step - left).max() < 1e-9 * np.abs(dense).max() * np.abs(step).max()
