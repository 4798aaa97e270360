"""How long to search, how hot to begin, what a chance is: the search as planned, nothing left to the clock."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from lugwright.layout.kernel.tables import DICE, PER_MM
from lugwright.layout.search import Bench

SEED = 22
MOVES_PER_PART = 600
LEAST_MOVES = 4000
REPAIR_ROUNDS = 4  # times the moves of a plain search, while a part is left over
# Of builds of 26 to 86 parts, three searches a third as long end nearer to the best known than a single one.
STARTS = 3
START_MOVES_PER_PART = 280
LEAST_START_MOVES = 16000
HOT, COLD = 200.0, 3.0  # temperatures, in millimeters of ordinary wire
STEPS = 64  # from hot to cold
CHANCES = 4096


def fill(bench: Bench, parts: Sequence[int]) -> None:
    """Seat parts one after the other, those with fewest seats first, and wire everything."""
    from lugwright.layout.kernel import search as kernel  # brings the compiler along: only when a plan is searched

    seats = bench.board.seats
    order = sorted(parts, key=lambda p: (len(seats[p].first), p))
    kernel.fill(bench.tables, np.array(order, dtype=np.int64))


def improve(bench: Bench, share: float = 1.0) -> None:
    """Search for a cheaper plan; ends on the best met. A share below 1: one short search, to compare builds by."""
    if share < 1.0:
        search(bench, SEED, round(share * usual_moves(bench)))
        return
    for seed, moves in starts(bench, SEED):
        search(bench, seed, moves)


def starts(bench: Bench, seed: int) -> list[tuple[int, int]]:
    """Return seed and moves of the searches that a plan is made with: a matter of size alone."""
    moves = max(LEAST_START_MOVES, START_MOVES_PER_PART * len(bench.board.parts))
    return [(seed + 1000 * k, moves) for k in range(STARTS)]


def repair(bench: Bench, rounds: int = REPAIR_ROUNDS) -> None:
    """Search only until every part has a seat and every joint is whole."""
    for attempt in range(rounds):
        if not bench.unplaced() and not bench.broken():
            return
        search(bench, SEED + 1 + attempt, usual_moves(bench), until_whole=True)


def usual_moves(bench: Bench) -> int:
    """Return how many moves one search makes: a matter of size alone, so that every machine plans alike."""
    return max(LEAST_MOVES, MOVES_PER_PART * len(bench.board.parts))


def search(bench: Bench, seed: int, moves: int, *, until_whole: bool = False) -> None:
    """Search on from what stands, as many moves as asked or a few more; ends on the best plan met."""
    from lugwright.layout.kernel import search as kernel

    parts = len(bench.board.parts)
    if not parts:
        return
    bench.tables.notes[DICE, 0] = 2654435761 * seed % 2**32
    best = np.zeros((parts + len(bench.board.terminals), 2), dtype=np.int64)
    kernel.anneal(bench.tables, _heats(), _chances(), -(-moves // STEPS), until_whole, best)


def _heats() -> NDArray[np.int64]:
    """Return the temperatures, hottest first, as prices."""
    return np.array([round(HOT * (COLD / HOT) ** (k / (STEPS - 1)) * PER_MM) for k in range(STEPS)], dtype=np.int64)


def _chances() -> NDArray[np.int64]:
    """Return how many temperatures above the last price a plan may be, by chance, in parts of 1024."""
    return np.array([round(-math.log((k + 0.5) / CHANCES) * 1024) for k in range(CHANCES)], dtype=np.int64)
