"""How many fresh good builds read inside the windows of the power-up steps, and how wide the windows are for that.

Run: python benchmarks/bench_windows.py [builds]. Each step of each example is solved whole for 400 builds, or as many
as asked for, drawn with another seed than the windows: parts, tubes, copper, lamp and mains, read with a meter that is
up to 1 percent off.
"""

from __future__ import annotations

import os
import sys

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1] / "tests"))

from fresh_builds import fresh_builds
from lugwright.workflow import open_build

EXAMPLES = sorted((Path(__file__).parents[1] / "examples").glob("*.toml"))
COUNT = 400


def main() -> None:
    """Print one line for each step of each example build."""
    count = int(sys.argv[1]) if len(sys.argv) > 1 else COUNT
    print("build        step                      inside   over 3 times too wide   widest")
    for path in EXAMPLES:
        for step in fresh_builds(open_build(path), count=count):
            wide = float((step.widths > 3.0).mean())
            print(
                f"{path.stem:12s} {step.key:24s} {step.inside:7.2%} {wide:13.1%} {step.widths.max():18.1f}", flush=True
            )


if __name__ == "__main__":
    main()
