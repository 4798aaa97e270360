"""When the usual search leaves something over: room for everything first, then a cheaper plan from there.

The usual search weighs what is left over against wire. Here wire hardly counts, and a part counts the more the longer
it has been without a seat, so that in the end others make way for it.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from lugwright.layout.anneal import SEED, STEPS, chances, fill, heats, search, starts, usual_moves
from lugwright.layout.kernel.tables import DICE
from lugwright.layout.search import Bench

DEARER = 50  # times the usual price of what is left over
HOT, COLD = 3000.0, 300.0  # temperatures, in millimeters of ordinary wire
MOVES_TO_DOUBLE = (1000, 4000, 1000, 4000)  # in which a part without a seat comes to count twice; a search for each


def plans_with_room(bench: Bench) -> list[NDArray[np.int64]]:
    """Return whole plans, cheapest first, and end on the first; none, and the bench as it was, where none is found."""
    before = bench.kept()
    bench.price_left_over(DEARER)
    whole = any(_whole_after(bench, SEED + k, moves) for k, moves in enumerate(MOVES_TO_DOUBLE))
    plans = _cheaper(bench) if whole else [before]
    bench.price_left_over(1)
    bench.lay_out(plans[0])
    return plans if whole else []


def _whole_after(bench: Bench, seed: int, moves_to_double: int) -> bool:
    """Search for room, from nothing; return whether nothing is left over."""
    from lugwright.layout.kernel import room as kernel  # brings the compiler along: only when a plan is searched

    bench.clear()
    fill(bench, range(len(bench.board.parts)))
    bench.tables.notes[DICE, 0] = 2654435761 * seed % 2**32
    moves = -(-usual_moves(bench) // STEPS)
    step = bench.price_left_over(DEARER) // moves_to_double
    kernel.make_room(bench.tables, heats(HOT, COLD), chances(), moves, step, bench.kept())
    bench.price_left_over(DEARER)
    return not bench.unplaced() and not bench.broken()


def _cheaper(bench: Bench) -> list[NDArray[np.int64]]:
    """Return what the usual searches make of a whole plan, cheapest first."""
    found = []
    room = bench.kept()
    for seed, moves in starts(bench, SEED):
        bench.lay_out(room)
        plan = search(bench, seed, moves)
        found.append((bench.cost(), seed, plan))
    return [plan for _, _, plan in sorted(found, key=lambda each: each[:2])]
