"""How many fresh good builds read inside the windows of the power-up steps, and how wide the windows are for that.

Run: python benchmarks/bench_windows.py [builds]. Each step of each example is solved whole for 400 builds, or as many
as asked for, drawn with another seed than the windows: parts, tubes, copper, lamp and mains, read with a meter that is
up to 1 percent off. Then a tenth of them: alternating volts with windings that differ, feedback and signal with the
idle set, capacitors that differ and a meter up to 3 percent off, and the same build an hour later, its copper 30 to 60
kelvin warmer and its output tubes drifted.
"""

from __future__ import annotations

import os
import sys

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1]))

from tests.fresh_builds import fresh_builds
from tests.fresh_runs import FreshRuns

from lugwright.workflow import open_build

EXAMPLES = sorted((Path(__file__).parents[1] / "examples").glob("*.toml"))
COUNT = 400


def main() -> None:
    """Print one line for each step of each example build."""
    count = int(sys.argv[1]) if len(sys.argv) > 1 else COUNT
    print("build        step                          inside   over 3 times too wide   widest")
    for path in EXAMPLES:
        opened = open_build(path)
        runs = FreshRuns(opened, max(count // 10, 1))
        heard = ((kind, step) for kind in ("alternating", "signal", "hot") for step in getattr(runs, kind)())
        for kind, step in (*(("", step) for step in fresh_builds(opened, count=count)), *heard):
            wide, label = float((step.widths > 3.0).mean()), f"{step.key}{', ac' if kind == 'alternating' else ''}"
            print(f"{path.stem:12s} {label:28s} {step.inside:7.2%} {wide:13.1%} {step.widths.max():18.1f}", flush=True)


if __name__ == "__main__":
    main()
