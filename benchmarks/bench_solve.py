"""How fast the idle is found: one, a batch of a thousand, and scipy on the same equations.

Run: python benchmarks/bench_solve.py. Figures are CPU seconds, best of five; ratios are within one run. Direct current
from cold is measured as any process solves it and by machine code; scipy gets the same equations from the arrays.
"""

from __future__ import annotations

import os

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

import functools
import sys
import time
from collections.abc import Callable
from pathlib import Path

import numpy as np
from scipy.optimize import root

sys.path.insert(0, str(Path(__file__).parents[1] / "tests" / "against" / "independent_solver"))

from lugwright.buildfile.read import read_build
from lugwright.circuit.edits import Edit, ScaleValue
from lugwright.circuit.elements import Resistor
from lugwright.circuit.from_build import circuit_from_build
from lugwright.solve import by_machine
from lugwright.solve.dc import DcPoint, DcProblem, solve_dc
from lugwright.solve.idle import solve_column, tangent_law
from lugwright.solve.many import many_at
from lugwright.solve.port_laws import Plane
from lugwright.solve.readout import read_idle
from lugwright.solve.system import System

EXAMPLES = sorted((Path(__file__).parents[1] / "examples").glob("*.toml"))


def best_s(work: Callable[[], object], times: int = 5) -> float:
    """Return the least CPU time of some runs. [s]"""
    found = []
    for _ in range(times):
        start = time.process_time()
        work()
        found.append(time.process_time() - start)
    return min(found)


def _from_cold(system: System, values: np.ndarray, law: Plane, start: np.ndarray) -> DcPoint:
    return solve_dc(DcProblem(system, values, law), start)


def main() -> None:
    """Print one line for each example build."""
    print("build          joints  idle ms  1000 edits ms  scipy root ms   dc ms  ratio  by machine ms  ratio"
          "  ratio in batch  peer off by V")  # fmt: skip
    for path in EXAMPLES:
        build = read_build(path).build
        assert build is not None
        circuit = circuit_from_build(build)
        system = System(circuit)
        base = system.values(())
        solved = solve_column(system, base)
        random = np.random.default_rng(1)
        names = [e.name for e in circuit.elements if isinstance(e, Resistor) and e.name.startswith("R")]
        edits = [
            Edit(str(k), tuple(ScaleValue(n, "ohm", float(random.uniform(0.9, 1.1))) for n in names))
            for k in range(1000)
        ]
        one = best_s(lambda s=system, b=base: read_idle(solve_column(s, b)))
        batch = best_s(lambda s=solved, e=edits: many_at(s, s.system.values(e)), 3)
        problem = DcProblem(system, base, tangent_law(solved.cycle))
        start = np.zeros_like(solved.dc.volts)
        law = tangent_law(solved.cycle)
        from_cold = functools.partial(_from_cold, system, base, law, start)
        dc = best_s(from_cold, 20)
        by_machine.load()
        quick = best_s(from_cold, 20)
        by_machine.unload()

        def residual(x: np.ndarray, p: DcProblem = problem) -> np.ndarray:
            return p.left_over_a(np.append(x, 0.0)[:, None])[:, 0]

        peer = best_s(lambda f=residual, v=start: root(f, v[:-1, 0], method="hybr"), 3)
        answer = root(residual, start[:-1, 0], method="hybr").x
        found = solve_dc(problem, start).volts[:-1, 0]
        gap = float(np.abs(answer - found).max())
        print(
            f"{path.stem:14} {system.size:6} {one * 1e3:8.1f} {batch * 1e3:14.0f} {peer * 1e3:14.0f} {dc * 1e3:7.2f}"
            f" {peer / dc:6.0f} {quick * 1e3:14.2f} {peer / quick:6.0f} {peer / (batch / 1000):15.0f} {gap:13.1e}"
        )


if __name__ == "__main__":
    main()
