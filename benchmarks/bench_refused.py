"""What is behind each drawn amplifier that the planner refused: planned by now, proven impossible, or open.

    python benchmarks/bench_refused.py --keep rows.jsonl          # the refused of a file of `bench_generated.py`
    python benchmarks/bench_refused.py --seeds 57 367 --seconds 120

A proof is one of three: the catalogue has no wire for it; counting shows too few lugs; or OR-Tools' CP-SAT, when it is
installed, finds no way to seat the parts in a model with less in the way than the planner has (bodies may lie through
each other; every joint needs ends of wire enough, where they run is not asked). What none of these decides is open;
then is said whether the search finds a plan once volts need no distance.
"""

from __future__ import annotations

import argparse
import importlib.util
import json
import os
import sys
import tempfile
import time
from collections import Counter
from dataclasses import replace
from pathlib import Path

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
sys.path.insert(0, str(Path(__file__).parents[1]))

from bench_generated import opened_text, planned
from bench_plan import bench_of_build
from tests.generated.amplifiers import build_text

from lugwright.errors import NoWholePlan, PlanError
from lugwright.layout.room import plans_with_room
from lugwright.layout.search import Bench

PLANNED, IMPOSSIBLE, OPEN = "planned", "impossible", "open"


def verdict(seed: int, seconds: float, folder: Path) -> tuple[str, str]:
    """Return the verdict on one drawn build and what it rests on."""
    opened = opened_text(build_text(seed), folder)
    try:
        planned(opened)
        return PLANNED, ""
    except NoWholePlan as error:
        if error.what != "no whole plan found":
            return IMPOSSIBLE, f"{error.what}; {error.found}"
    except PlanError as error:
        return IMPOSSIBLE, f"{error.what}; {error.found}"
    bench = bench_of_build(opened)
    if seconds and importlib.util.find_spec("ortools") is not None:
        from seat_proof import proven_impossible

        if proven_impossible(bench, seconds):
            return IMPOSSIBLE, "no seats for all parts, by CP-SAT"
    free = replace(bench.board, neighbors=tuple(() for _ in bench.board.terminals))
    without = bool(plans_with_room(Bench(free, bench.chain)))
    return OPEN, "planned when volts need no distance" if without else "not planned when volts need no distance either"


def main() -> None:
    """Print a verdict for each build asked for, and how many there are of each."""
    asked = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    asked.add_argument("--keep", type=Path, help="file of rows of bench_generated.py: its refused builds are taken")
    asked.add_argument("--seeds", type=int, nargs="*", default=[])
    asked.add_argument("--seconds", type=float, default=60.0, help="for CP-SAT, each build; 0 leaves it out")
    wanted = asked.parse_args()
    lines = wanted.keep.read_text(encoding="utf-8").splitlines() if wanted.keep else []
    seeds = [*wanted.seeds, *(row["seed"] for row in map(json.loads, lines) if row["refused"])]
    count: Counter[str] = Counter()
    with tempfile.TemporaryDirectory() as folder:
        for seed in seeds:
            started = time.process_time()
            kind, why = verdict(seed, wanted.seconds, Path(folder))
            count[kind] += 1
            print(f"{seed:4d}  {time.process_time() - started:6.1f} s  {kind}{': ' * bool(why)}{why}", flush=True)
    left = count[IMPOSSIBLE] + count[OPEN]
    print(f"{count[PLANNED]} planned; {left} refused, {count[IMPOSSIBLE]} proven impossible, {count[OPEN]} open")


if __name__ == "__main__":
    main()
