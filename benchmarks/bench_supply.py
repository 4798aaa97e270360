"""The supply's steady state closed on itself against stepping through mains cycles until nothing changes.

Run: python benchmarks/bench_supply.py. The same circuit with cold tubes and the same elements; CPU seconds, ratios
within one run. Stepping stops when no joint's mean moves by more than a millionth of the highest volts in a cycle, or
after 2000 cycles; the last column says how far it still is from the closed cycle then.
"""

from __future__ import annotations

import os

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

import time
from pathlib import Path

import numpy as np

from lugwright.circuit.edits import pulled
from lugwright.circuit.elements import PentodeTube, TriodeTube
from lugwright.solve.first_cycles import FirstCycles
from lugwright.solve.idle import solve_column
from lugwright.solve.system import System
from lugwright.workflow import open_build

EXAMPLES = sorted((Path(__file__).parents[1] / "examples").glob("*.toml"))
STILL, MOST = 1e-6, 2000


def main() -> None:
    """Print one line for each example build."""
    print("build          closed ms  stepped s  cycles   ratio   still apart, of the highest volts")
    for path in EXAMPLES:
        circuit = open_build(path).circuit
        tubes = tuple(e.name for e in circuit.elements if isinstance(e, TriodeTube | PentodeTube))
        system = System(circuit)
        values = system.values([pulled("cold", tubes)])
        closed_s = np.inf
        for _ in range(5):
            begin = time.process_time()
            solved = solve_column(system, values)
            closed_s = min(closed_s, time.process_time() - begin)
        begin = time.process_time()
        stepping, before, cycles = FirstCycles(system, values, np.zeros(1)), None, 0
        highest = float(np.abs(solved.dc.volts).max())
        while cycles < MOST:
            mean = stepping.cycle(values).volts[:, 0].mean(axis=1)
            cycles += 1
            if before is not None and float(np.abs(mean - before).max()) < STILL * highest:
                break
            before = mean
        stepped_s = time.process_time() - begin
        apart = float(np.abs(mean - solved.dc.volts[:, 0]).max()) / highest
        print(
            f"{path.stem:14} {1e3 * closed_s:9.1f} {stepped_s:10.2f} {cycles:7} "
            f"{stepped_s / closed_s:7.0f} {apart:10.1e}"
        )


if __name__ == "__main__":
    main()
