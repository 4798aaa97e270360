"""How long to search, how hot to begin, what a chance is: the search as planned, nothing left to the clock."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from lugwright.layout.kernel.tables import DICE, NONE, PER_MM
from lugwright.layout.search import Bench

SEED = 1
MOVES_PER_PART = 600
LEAST_MOVES = 4000
REPAIR_ROUNDS = 4  # times the moves of a plain search, while a part is left over
# Each from nothing, each with a plan of its own: which is best shows when the wires are routed.
STARTS = 3
START_MOVES_PER_PART = 400
LEAST_START_MOVES = 24000
HOT, COLD = 200.0, 3.0  # temperatures, in millimeters of ordinary wire
STEPS = 64  # from hot to cold
CHANCES = 4096


def fill(bench: Bench, parts: Sequence[int]) -> None:
    """Seat parts one after the other, those with fewest seats first, and wire everything."""
    from lugwright.layout.kernel import search as kernel  # brings the compiler along: only when a plan is searched

    seats = bench.board.seats
    order = sorted(parts, key=lambda p: (len(seats[p].first), p))
    kernel.fill(bench.tables, np.array(order, dtype=np.int64))


def improve(bench: Bench, share: float) -> None:
    """Search on for a share of the usual moves, to compare builds by; ends on the best met."""
    search(bench, SEED, round(share * usual_moves(bench)))


def whole_plans(bench: Bench, seed: int = SEED) -> list[NDArray[np.int64]]:
    """Search several times; return the plans that leave nothing over, cheapest first.

    Each search begins from nothing, but where something is left over the next one goes on from there. The bench ends
    on the first plan; where every search leaves something over, on the cheapest of those.
    """
    found: list[tuple[bool, float, int, NDArray[np.int64]]] = []
    over = False
    for start, moves in starts(bench, seed):
        if not over:
            bench.clear()
            fill(bench, range(len(bench.board.parts)))
        kept = search(bench, start, moves)
        over = bool(bench.unplaced() or bench.broken())
        found.append((over, bench.cost(), len(found), kept))
    found.sort(key=lambda plan: plan[:3])
    bench.lay_out(found[0][3])
    return [kept for left, _, _, kept in found if not left]


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


def search(bench: Bench, seed: int, moves: int, *, until_whole: bool = False) -> NDArray[np.int64]:
    """Search on from what stands, as many moves as asked or a few more; end on the best plan met, return it."""
    from lugwright.layout.kernel import search as kernel

    parts = len(bench.board.parts)
    best = np.full((parts + len(bench.board.terminals), 2), NONE, dtype=np.int64)
    if parts:
        bench.tables.notes[DICE, 0] = 2654435761 * seed % 2**32
        kernel.anneal(bench.tables, heats(HOT, COLD), chances(), -(-moves // STEPS), until_whole, best)
    return best


def heats(hot: float, cold: float) -> NDArray[np.int64]:
    """Return the temperatures from hot to cold, given in millimeters of ordinary wire, as prices."""
    return np.array([round(hot * (cold / hot) ** (k / (STEPS - 1)) * PER_MM) for k in range(STEPS)], dtype=np.int64)


def chances() -> NDArray[np.int64]:
    """Return how many temperatures above the last price a plan may be, by chance, in parts of 1024."""
    return np.array([round(-math.log((k + 0.5) / CHANCES) * 1024) for k in range(CHANCES)], dtype=np.int64)
