"""Thousands of wirings at once against the same wirings one by one: CPU time, and the ratio of the two.

Run: python benchmarks/bench_rewired.py [example ...]. Every step of the first power-up is solved in every wiring of the
list; a sample of these is solved whole, DC and mains cycle, to compare.
"""

from __future__ import annotations

import os

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

import sys
import time
from collections.abc import Callable
from contextlib import suppress
from pathlib import Path
from typing import Any

sys.path.insert(0, str(Path(__file__).parents[1]))

from tests.generated.rewirings import every_rewiring

from lugwright.bringup.fitting import stages_of
from lugwright.bringup.ohms_chart import bench_circuit
from lugwright.errors import NoIdlePoint
from lugwright.solve.idle import solve_column
from lugwright.solve.rewired import solve_rewired
from lugwright.solve.rewired_alternating import ac_rewired
from lugwright.solve.rewired_exact import solve_whole
from lugwright.solve.rewired_ohms import ohms_rewired
from lugwright.workflow.opened import Opened, open_build

EXAMPLES = Path(__file__).parents[1] / "examples"
BRIDGES, SAMPLE, JOINTS, CAUSES = 400, 15, 20, 150


def timed(work: Callable[[], Any]) -> tuple[float, Any]:
    """Return the CPU time of a piece of work and what it gives. [ms]"""
    start = time.process_time()
    result = work()
    return 1e3 * (time.process_time() - start), result


def one_by_one_ms(many: Any) -> float:
    """Return what one wiring costs by itself, on average over a sample. [ms]"""

    def tried(column: int) -> None:
        with suppress(NoIdlePoint):
            solve_whole(many.base, many.columns, column)

    step = max(1, many.columns.count // SAMPLE)
    columns = range(0, many.columns.count, step)
    return sum(timed(lambda c=c: tried(c))[0] for c in columns) / len(columns)


def bench(opened: Opened) -> None:
    """Print the lines of one example."""
    circuit, system = opened.circuit, opened.solved.system
    rewirings = every_rewiring(circuit, bridges=BRIDGES)
    print(f"{opened.path.stem}: {len(rewirings)} wirings")
    for stage in stages_of(opened.build, circuit, fixed_bias=True):
        base = solve_column(system, system.values([stage.edit]))
        cost, many = timed(lambda b=base: solve_rewired(b, rewirings))
        alone = one_by_one_ms(many)
        each = cost / len(rewirings)
        print(
            f"  {stage.key:16} {cost:7.0f} ms, {each:5.2f} each, one by one {alone:5.1f}: {alone / each:4.0f} times;",
            end="",
        )
        print(f" own cycle {int(many.exact.sum())}, no answer {int((~many.solved).sum())}")
    joints = list(system.joints[:JOINTS])
    causes = [(r.name, "ohm") for r in system.resistors][:CAUSES]
    bench_ = bench_circuit(opened.build, circuit)
    pairs = [(joint, circuit.ground) for joint in bench_.joints if joint != circuit.ground]
    for name, work in (
        ("sensitivities", lambda: many.sensitivities(joints, causes)),
        ("source resistance", lambda: many.source_ohm(joints)),
        ("meter", lambda: many.with_meter(joints)),
        ("signal", lambda: many.signal(joints[0], joints, 1000.0)),
        ("ripple", lambda: many.ripple(joints)),
        ("mains volts", lambda: ac_rewired(opened.solved, [(j, circuit.ground) for j in joints], rewirings)),
        (f"ohms, {len(pairs)} pairs", lambda: ohms_rewired(bench_, pairs, rewirings)),
    ):
        print(f"  {name:20} {timed(work)[0]:7.0f} ms")


def main() -> None:
    """Print the lines of the examples asked for, or of all."""
    for name in sys.argv[1:] or sorted(path.stem for path in EXAMPLES.glob("*.toml")):
        bench(open_build(EXAMPLES / f"{name}.toml"))


if __name__ == "__main__":
    main()
