"""Search for room alone: what has been left over for long comes to count more than what was left over since."""

from __future__ import annotations

from lugwright.layout.kernel.chance import below
from lugwright.layout.kernel.compiled import compiled, entry
from lugwright.layout.kernel.search import keep, move, price_of, recall, whole
from lugwright.layout.kernel.tables import (
    DICE,
    LEFT_OVER,
    MISSING,
    NONE,
    NOW,
    ROW,
    UNSEATED,
    Tables,
    Whole,
)
from lugwright.layout.kernel.undo import take_back


@compiled
def _over(w: Tables) -> int:
    """Return how many parts have no seat, and how many pieces joints are left in beyond one each."""
    count = 0
    for part in range(len(w.part)):
        if w.part[part, ROW] == NONE:
            count += 1
    for joint in range(len(w.joint)):
        count += w.joint[joint, MISSING]
    return int(count)


@compiled
def _raise(w: Tables, step: int) -> int:
    """Let every part without a seat count more from now on; return by how much all of them together."""
    more = 0
    for part in range(len(w.part)):
        if w.part[part, ROW] == NONE:
            w.part[part, LEFT_OVER] += step
            more += step
    w.notes[NOW, UNSEATED] += more
    return int(more)


@entry
def make_room(w: Tables, heats: Whole, chances: Whole, moves_each: int, step: int, best: Whole) -> None:
    """Search, a number of moves at each heat, until nothing is left over; ends on the plan with least left over.

    ``step`` is by how much a part counts more for each move it has no seat; ``best`` is room for a plan.
    """
    now, least = price_of(w), _over(w)
    keep(w, best)
    for heat in heats:
        for _ in range(moves_each):
            if whole(w):
                break
            move(w)
            after = price_of(w)
            if after - now < (heat * chances[below(w.notes[DICE], len(chances))]) >> 10:
                now = after
                over = _over(w)
                if over < least:
                    least = over
                    keep(w, best)
            else:
                take_back(w)
            now += _raise(w, step)
    recall(w, best)
