"""How long a thousand good builds take: idle of the build as drawn, the draws, the batch, and the whole study.

Run: python benchmarks/bench_spread.py. Figures are CPU milliseconds, best of three.
"""

from __future__ import annotations

import os

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

import time
from collections.abc import Callable
from pathlib import Path

from lugwright.bringup.good_builds import running_factors
from lugwright.bringup.spread import spread
from lugwright.bringup.spread_readings import spread_readings
from lugwright.solve.idle import solve_column
from lugwright.solve.many import solve_many
from lugwright.solve.system import System
from lugwright.workflow import Opened, open_build

EXAMPLES = sorted((Path(__file__).parents[1] / "examples").glob("*.toml"))
DRAWS = 1000


def best_ms(work: Callable[[], object], times: int = 3) -> float:
    """Return the least CPU time of some runs. [ms]"""
    found = []
    for _ in range(times):
        start = time.process_time()
        work()
        found.append(time.process_time() - start)
    return 1e3 * min(found)


def thousand(opened: Opened) -> None:
    """Solve the build as drawn and a thousand others, and read them all."""
    system = System(opened.circuit)
    base = solve_column(system, system.values(()))
    many = solve_many(base, running_factors(opened.build, opened.circuit, count=DRAWS))
    for reading in spread_readings(system):
        reading.of(many)


def main() -> None:
    """Print one line for each example build."""
    print("build          1000 builds ms   whole study ms (with 100 rated builds and worst corners)")
    for path in EXAMPLES:
        opened = open_build(path)
        study = (opened.build, opened.circuit, opened.solved, opened.cold_idle)
        builds = best_ms(lambda o=opened: thousand(o))
        whole = best_ms(lambda s=study: spread(*s), 1)
        print(f"{path.stem:14} {builds:14.0f} {whole:16.0f}")


if __name__ == "__main__":
    main()
