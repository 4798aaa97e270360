"""How long the first minute after switch-on takes to compute, against the idle of the same build.

Run: python benchmarks/bench_start.py. Figures are CPU seconds, best of five; ratios are within one run.
"""

from __future__ import annotations

import os

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

import time
from collections.abc import Callable
from pathlib import Path

from lugwright.circuit.heated import heated_parts
from lugwright.solve.cold_start import solve_start
from lugwright.solve.idle import solve_columns
from lugwright.workflow import open_build

EXAMPLES = sorted((Path(__file__).parents[1] / "examples").glob("*.toml"))


def best_s(work: Callable[[], object], times: int = 5) -> float:
    """Return the least CPU time of some runs. [s]"""
    found = []
    for _ in range(times):
        start = time.process_time()
        work()
        found.append(time.process_time() - start)
    return min(found)


def main() -> None:
    """Print one line for each example build."""
    print("build          idle ms  start ms  ratio  steps  off idle after a minute, V")
    for path in EXAMPLES:
        opened = open_build(path)
        circuit, idle, cold = opened.circuit, opened.idle, opened.cold_idle
        heated = heated_parts(opened.build, circuit)
        start = solve_start(circuit, heated, idle, cold)
        idle_s = best_s(lambda: solve_columns(circuit))  # noqa: B023 - called at once
        start_s = best_s(lambda: solve_start(circuit, heated, idle, cold))  # noqa: B023 - called at once
        print(
            f"{path.stem:14} {1e3 * idle_s:7.0f}  {1e3 * start_s:8.0f}  {start_s / idle_s:5.1f}  {start.steps:5d}  "
            f"{start.off_idle_v:.3f} at {start.off_idle_joint}"
        )


if __name__ == "__main__":
    main()
