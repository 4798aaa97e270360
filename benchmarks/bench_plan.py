"""How good the search of the lug plan is, and how its time grows with the build.

Run: python benchmarks/bench_plan.py [example ...]. For each example build, CPU seconds and price (the objective of
`layout/objective.py` without what follows from routes) of the usual search from four seeds, against the best that a
search with four times the moves and the four together have found. The best known is no bound: no method here proves
one. The last line fits seconds ~ parts ** exponent, over the builds asked for.
"""

from __future__ import annotations

import os

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

import math
import sys
import time
from pathlib import Path

from lugwright.layout.anneal import SEED, fill, search, starts, whole_plans
from lugwright.layout.board import make_board
from lugwright.layout.charging_loop import charging_wires
from lugwright.layout.chassis import fixed_terminals
from lugwright.layout.heater_chain import heater_chains
from lugwright.layout.joint_classes import joint_facts
from lugwright.layout.lug_plan import decided_wires
from lugwright.layout.search import Bench
from lugwright.workflow import open_build
from lugwright.workflow.opened import Opened

EXAMPLES = Path(__file__).parents[1] / "examples"
SEEDS = range(SEED, SEED + 4)
LONGER = 4


def main() -> None:
    """Print one line for each example build, and how the time grows."""
    paths = [EXAMPLES / f"{name}.toml" for name in sys.argv[1:]] or sorted(EXAMPLES.glob("*.toml"))
    print("build         parts  moves   CPU s  us a move  price of four seeds       best known  worst gap  left over")
    points = []
    for path in paths:
        empty = bench_of(path)
        searched(empty, moves=64)  # whatever has to be compiled is compiled here
        moves = sum(each for _, each in starts(empty, SEED))
        runs = [searched(empty, seed) for seed in SEEDS]
        longest = searched(empty, SEED + len(SEEDS), moves=LONGER * moves)
        prices = [bench.cost() for bench, _ in runs]
        best, seconds = min(*prices, longest[0].cost()), sum(s for _, s in runs) / len(runs)
        over = sum(len(bench.unplaced()) + len(bench.broken()) for bench, _ in runs)
        parts = len(empty.board.parts)
        points.append((math.log(parts), math.log(seconds)))
        print(
            f"{path.stem:13} {parts:5} {moves:6} {seconds:7.2f} {1e6 * seconds / moves:10.1f}  "
            f"{' '.join(f'{price:6.0f}' for price in prices)} {best:11.0f} "
            f"{100 * (max(prices) / best - 1):9.1f}% {over:6}",
            flush=True,
        )
    if len(points) > 1:
        print(f"seconds grow with parts to the power of {slope(points):.2f}")


def bench_of(path: Path) -> Bench:
    """Return the planner's bench for an example, with nothing on it."""
    return bench_of_build(open_build(path))


def bench_of_build(opened: Opened) -> Bench:
    """Return the planner's bench for a build, with nothing on it."""
    build, hardware = opened.build, opened.hardware
    terminals = fixed_terminals(build, hardware)
    board = make_board(build, hardware, terminals, joint_facts(build, opened.joint_volts))
    return Bench(board, decided_wires(board, [*heater_chains(build, terminals), *charging_wires(build, terminals)]))


def searched(empty: Bench, seed: int = SEED, *, moves: int = 0) -> tuple[Bench, float]:
    """Return the bench after the usual searches, or after one of so many moves, and its CPU seconds."""
    bench = Bench(empty.board, empty.chain)
    start = time.process_time()
    if moves:
        fill(bench, range(len(bench.board.parts)))
        search(bench, seed, moves)
    else:
        whole_plans(bench, seed)
    return bench, time.process_time() - start


def slope(points: list[tuple[float, float]]) -> float:
    """Return the slope of the line of least squares."""
    x0, y0 = (sum(p[k] for p in points) / len(points) for k in (0, 1))
    return sum((x - x0) * (y - y0) for x, y in points) / sum((x - x0) ** 2 for x, _ in points)


if __name__ == "__main__":
    main()
