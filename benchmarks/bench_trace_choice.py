"""How long tracing takes on a list of 3000 faults and 600 probes: weighing readings, grouping, choosing the next.

Run: python benchmarks/bench_trace_choice.py. Figures are CPU milliseconds, best of three. The choice is to stay below
300 ms: nobody holding a probe should wait for it.
"""

from __future__ import annotations

import os

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

import time
from collections.abc import Callable

import numpy as np

from lugwright.bringup.trace.evidence import Readings
from lugwright.bringup.trace.groups import seen_by
from lugwright.bringup.trace.next_reading import next_readings
from lugwright.bringup.trace.pairs import likely_pairs
from lugwright.bringup.trace.records import Predictions, Probe
from lugwright.bringup.trace.verdict import verdict_of, weigh

HYPOTHESES, PROBES = 3000, 600
SEED = 20261126


def best_ms(work: Callable[[], object], times: int = 3) -> float:
    """Return the least CPU time of some runs. [ms]"""
    found = []
    for _ in range(times):
        start = time.process_time()
        work()
        found.append(time.process_time() - start)
    return 1e3 * min(found)


def made_up(causes: int) -> tuple[Predictions, np.ndarray]:
    """Return predictions in which every fault moves a twentieth to a half of the probes, and what one would show."""
    rng = np.random.default_rng(SEED)
    expected = np.zeros((HYPOTHESES, PROBES))
    for row in expected[1:]:
        moved = rng.random(PROBES) < rng.uniform(0.05, 0.5)
        row[moved] = rng.normal(size=np.sum(moved)) * 10.0
    shared = rng.normal(size=(PROBES, causes)) * (rng.random((PROBES, causes)) < 0.2) * 0.6
    loading = np.broadcast_to(shared, (HYPOTHESES, PROBES, causes))
    probes = tuple(Probe("all tubes", f"p{k}", "ground", "V dc", f"p{k}", 10.0, 5.0) for k in range(PROBES))
    noise, known = np.full(expected.shape, 0.3), np.ones(expected.shape, dtype=bool)
    shown = expected[1234] + shared @ rng.normal(size=causes) + 0.3 * rng.normal(size=PROBES)
    return Predictions(probes, expected, loading, noise, known), shown


def main() -> None:
    """Print one line for each number of causes and of readings."""
    keys, odds = tuple(f"f{h}" for h in range(1, HYPOTHESES)), np.ones(HYPOTHESES - 1)
    every = np.arange(PROBES)
    print("causes readings   weigh ms  next ms  whole verdict ms  pairs ms")
    for causes in (10, 40, 120):
        predictions, shown = made_up(causes)
        for count in (0, 3, 8, 30):
            at = np.arange(count) * (PROBES // 30)
            readings = Readings(at, shown[at], np.full(count, 0.05))
            weighed = weigh(predictions, readings, keys, odds)
            found = weighed.found
            row = (
                best_ms(lambda r=readings, p=predictions: weigh(p, r, keys, odds)),
                best_ms(lambda r=readings, p=predictions, f=found: next_readings(p, r, f, every)),
                best_ms(lambda w=weighed: verdict_of(w, every, lambda _, value: value)),
                best_ms(lambda r=readings, p=predictions: likely_pairs(p, r, odds, seen_by(p, r))),
            )
            print(f"{causes:6} {count:8} {row[0]:10.0f} {row[1]:8.0f} {row[2]:17.0f} {row[3]:9.0f}")


if __name__ == "__main__":
    main()
