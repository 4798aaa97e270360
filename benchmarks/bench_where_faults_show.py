"""In how many readings of one kind a listed fault shows, weighed by how often it is made: what priors.py goes by.

Run: python benchmarks/bench_where_faults_show.py build.toml ... (the plan beside each). Of the faults that show at all:
the share of readings that they move by more than 2.5 spreads, for the narrowest tenth, the middle, the widest tenth.
"""

from __future__ import annotations

import os

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

import sys
from collections import defaultdict
from pathlib import Path

import numpy as np

from lugwright.bringup.trace.groups import GOOD
from lugwright.bringup.trace.predictions import Predictor
from lugwright.bringup.trace.records import Array, Probe
from lugwright.workflow.opened import open_build
from lugwright.workflow.tracing import fault_bench

MOVED = 2.5  # spreads of both laws together
QUANTILES = (0.1, 0.5, 0.9)


def shares_moved(predictor: Predictor, probes: list[Probe]) -> Array:
    """Return the share of the probes that each fault moves. (fault) [-]"""
    told = predictor.lumped(probes, np.arange(len(predictor.hypotheses)))
    apart = np.abs(told.mean - told.mean[GOOD]) / np.hypot(told.sd, told.sd[GOOD])
    return np.asarray(np.mean(np.where(told.known & told.known[GOOD], apart, 0.0)[1:] > MOVED, axis=1))


def main() -> None:
    """Print a line for each step and quantity of each build."""
    for path in map(Path, sys.argv[1:]):
        predictor = fault_bench(open_build(path)).predictor
        odds = np.array([h.odds for h in predictor.hypotheses[1:]])
        kinds: dict[tuple[str, str], list[Probe]] = defaultdict(list)
        for probe in predictor.probes:
            kinds[probe.step, probe.quantity].append(probe)
        for (step, quantity), probes in kinds.items():
            moved = shares_moved(predictor, probes)
            order = np.argsort(moved)[np.sum(moved == 0.0) :]
            if not len(order):
                continue  # no fault shows here
            weight = np.cumsum(odds[order]) / np.sum(odds[order])
            told = ", ".join(f"{moved[order[np.searchsorted(weight, q)]]:.3f}" for q in QUANTILES)
            seen = np.sum(odds[order]) / np.sum(odds)
            print(
                f"{path.stem} {step}, {quantity}: {len(probes)} readings show {seen:.2f} of faults, in {told} of them"
            )


if __name__ == "__main__":
    main()
