"""Whether the chances that tracing gives are honest, in a thousand made-up builds for each way the truth may differ.

Run: python benchmarks/bench_trace_calibration.py [builds]. Prints chance said and share that was so, and how often the
first suspect was the fault; docs/why/tracing.md quotes it.
"""

from __future__ import annotations

import os

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

import sys
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).parents[1]))

from tests.unit.bringup.trace.calibration import Answer, Kind, answers, table

SEED, BUILDS = 23, 1000
KINDS = {
    "as believed": Kind(),
    "tolerances even, rounded": Kind(uniform=True, step=0.2),
    "the same, models off by a tenth": Kind(uniform=True, step=0.2, model=0.1),
    "rounded coarsely": Kind(step=0.5),
    "over range from 3 up": Kind(top=3.0),
}


def found_first(given: list[Answer], truth: str) -> str:
    """Return how often the first suspect was the fault, or one of the two."""
    mine = [answer for answer in given if answer.truth == truth]
    return f"{np.mean([answer.first for answer in mine]):.2f} of {len(mine)}"


def main() -> None:
    """Print a block for each way the truth differs."""
    builds = int(sys.argv[1]) if len(sys.argv) > 1 else BUILDS
    for name, kind in KINDS.items():
        given = answers(SEED, kind, cases=builds)
        print(f"{name}: said -> was so (answers)")
        print("  " + ", ".join(f"{said:.2f} -> {right:.2f} ({count:.0f})" for said, right, count in table(given)))
        called = [answer for answer in given if answer.found]
        good = [answer for answer in given if answer.truth == "good"]
        print(f"  first suspect right: one fault {found_first(given, 'one')}, one of two {found_first(given, 'two')}")
        print(f"  called found: {len(called)}, wrongly {np.mean([not answer.first for answer in called]):.3f}")
        print(f"  good builds: {len(good)}, called faulty {np.mean([answer.found for answer in good]):.4f}", flush=True)


if __name__ == "__main__":
    main()
