"""The whole fault list of a build in every step of its power-up: processor time, and whether two versions agree.

Run: python benchmarks/bench_fault_list.py build.toml [--keep FILE] [--against FILE] [--two [COUNT]]

The build needs its plan beside it. ``--two`` gives seconds of the clock instead, in two processes that have their
machine code loaded, for all faults or for so many hypotheses drawn from them. ``--keep`` writes all answers down;
``--against`` compares with answers that another version wrote: volts of every joint of every wiring that both certify,
relative to the joint's volts or to a volt.
"""

from __future__ import annotations

import os

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

import argparse
import gc
import pickle
import time
from pathlib import Path
from typing import Any

import numpy as np

from lugwright.bringup.trace.bench import OHMS, SIGNAL
from lugwright.bringup.trace.beside import solve_beside
from lugwright.bringup.trace.predictions import Predictor
from lugwright.second_process import Helper, second_process
from lugwright.solve.rewired_many import ManyRewired
from lugwright.solve.rewired_ready import load
from lugwright.workflow.opened import open_build
from lugwright.workflow.tracing import FaultBench, fault_bench

SELDOM = 50_000  # objects made between two looks for rings of dead ones, as the command line has it
READY_S = 2.0  # until the second process has everything loaded


def solved_steps(bench: FaultBench) -> dict[str, ManyRewired]:
    """Return every step in which the circuit is another, solved by this process alone; say what each cost."""
    found: dict[str, ManyRewired] = {}
    predictor, whole = bench.predictor, 0.0
    print(f"{bench.opened.path.stem}: {len(bench.faults)} faults, {len(predictor.hypotheses)} hypotheses")
    for key in (k for k in predictor.bench.steps if k not in (OHMS, SIGNAL)):
        step = predictor._answers(key)
        if step.is_solved:
            continue
        predictor.bench.solved_at(step.key)
        start = time.process_time()
        many = step.many
        cost = time.process_time() - start
        whole += cost
        found[key] = many
        own, none = int(many.exact.sum()), int((~many.solved).sum())
        print(
            f"  {key:16} {cost:5.2f} s, {many.columns.count} wirings, {own} with a cycle of their own, {none} without"
        )
    print(f"  {'together':16} {whole:5.2f} s")
    return found


def solved_beside(bench: FaultBench, count: int, helper: Helper | None) -> None:
    """Solve so many hypotheses (0: all) in every step with a second process; say how long that takes."""
    every = bench.predictor.hypotheses
    drawn = np.sort(np.random.default_rng(5).choice(len(every), count or len(every), replace=False))
    own = Predictor(bench.bench, bench.predictor.probes, tuple(every[k] for k in drawn))
    steps = {step.key: step for step in (own._answers(k) for k in bench.bench.steps if k not in (OHMS, SIGNAL))}
    for key in steps:
        bench.bench.solved_at(key)
    load()
    time.sleep(READY_S)
    start = time.perf_counter()
    solve_beside(list(steps.values()), helper)
    faults = sum(len(h.faults) for h in own.hypotheses)
    print(f"  {faults} faults, {len(steps)} steps, two processes: {time.perf_counter() - start:.2f} s of the clock")


def answers(steps: dict[str, ManyRewired]) -> dict[str, dict[str, Any]]:
    """Return what is compared of every step."""
    return {key: {"volts": many.volts, "solved": many.solved} for key, many in steps.items()}


def compare(now: dict[str, dict[str, Any]], before: dict[str, dict[str, Any]]) -> None:
    """Say how far two versions are apart."""
    for key in now.keys() & before.keys():
        new, old = now[key], before[key]
        both = new["solved"] & old["solved"]
        apart = np.abs(new["volts"] - old["volts"])[:, both] / np.maximum(np.abs(old["volts"][:, both]), 1.0)
        lost, won = int((old["solved"] & ~new["solved"]).sum()), int((new["solved"] & ~old["solved"]).sum())
        most = np.max(apart, axis=0, initial=0.0)
        print(f"  {key:16} apart {most.max():.1e} at most, over 1e-6 in {int((most > 1e-6).sum())} wirings; "
              f"certified before only {lost}, now only {won}")  # fmt: skip


def main() -> None:
    """Print the lines of one build."""
    gc.set_threshold(SELDOM)
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("build", type=Path)
    parser.add_argument("--keep", type=Path)
    parser.add_argument("--against", type=Path)
    parser.add_argument("--two", type=int, nargs="?", const=0, metavar="COUNT")
    asked = parser.parse_args()
    if asked.two is not None:
        with second_process("lugwright.bringup.trace.beside", "lugwright.solve.rewired_ready:load") as helper:
            solved_beside(fault_bench(open_build(asked.build)), asked.two, helper)
        return
    found = answers(solved_steps(fault_bench(open_build(asked.build))))
    if asked.keep:
        asked.keep.write_bytes(pickle.dumps(found))
    if asked.against:
        compare(found, pickle.loads(asked.against.read_bytes()))


if __name__ == "__main__":
    main()
