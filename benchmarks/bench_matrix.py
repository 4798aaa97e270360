"""A thousand boards' matrices on one pattern, in plain numpy, against stacked LAPACK on the same numbers.

Run: python benchmarks/bench_matrix.py. CPU milliseconds, best of three; ratios within one run.
"""

from __future__ import annotations

import os

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

import time
from collections.abc import Callable
from pathlib import Path

import numpy as np

from lugwright.solve.device_laws import tube_matrix_entries, tube_state
from lugwright.solve.sparse_lu import factor, solve_factored
from lugwright.workflow import open_build

EXAMPLES = sorted((Path(__file__).parents[1] / "examples").glob("*.toml"))
BOARDS = 1000


def best_ms(work: Callable[[], object]) -> float:
    """Return the least CPU time of three runs. [ms]"""
    found = []
    for _ in range(3):
        begin = time.process_time()
        work()
        found.append(time.process_time() - begin)
    return 1e3 * min(found)


def main() -> None:
    """Print one line for each example build."""
    print("build          joints  operations  fixed pattern ms  stacked LAPACK ms  ratio  largest difference")
    for path in EXAMPLES:
        solved = open_build(path).solved
        system = solved.system
        values = np.repeat(solved.values, BOARDS, axis=1)
        values *= np.random.default_rng(1).uniform(0.9, 1.1, values.shape)
        volts = np.repeat(solved.dc.volts, BOARDS, axis=1)
        matrix = system.matrix(np.real(system.admittances(values, 0.0)))
        matrix += system.tube_matrix_scatter(tube_matrix_entries(tube_state(system, values, volts)))
        dense = np.zeros((BOARDS, system.size, system.size))
        dense[:, system.dense_index[0], system.dense_index[1]] = matrix[:-1].T
        right = np.random.default_rng(2).normal(size=(system.size, BOARDS)) * 1e-3

        def ours(m: np.ndarray = matrix, r: np.ndarray = right, p: object = system.pattern) -> np.ndarray:
            return solve_factored(p, factor(p, m), r)

        def theirs(d: np.ndarray = dense, r: np.ndarray = right) -> np.ndarray:
            return np.linalg.solve(d, r.T[:, :, None])[:, :, 0].T

        mine, peer = best_ms(ours), best_ms(theirs)
        apart = float(np.abs(ours() - theirs()).max() / np.abs(theirs()).max())
        print(
            f"{path.stem:14} {system.size:6} {system.pattern.flops:11} {mine:17.1f} "
            f"{peer:18.1f} {peer / mine:6.1f} {apart:12.1e}"
        )


if __name__ == "__main__":
    main()
