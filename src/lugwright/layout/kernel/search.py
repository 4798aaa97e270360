"""Ruin and recreate inside annealing: take a few related parts out, put them back better, keep what pays."""

from __future__ import annotations

from typing import cast

import numpy as np

from lugwright.layout.kernel.chance import below
from lugwright.layout.kernel.choose import choose, loose, pick, pick_in_the_way
from lugwright.layout.kernel.compiled import compiled, entry
from lugwright.layout.kernel.geometry import lay
from lugwright.layout.kernel.insert import NEVER, OF, seat_part
from lugwright.layout.kernel.place import add_tie, allowed, drop_ties, free_layer, put, take
from lugwright.layout.kernel.relabel import follow, send_lugs
from lugwright.layout.kernel.tables import (
    BROKEN,
    DICE,
    JOINT,
    JOINTS,
    LAYER,
    MISSING,
    NONE,
    NOW,
    PICKED,
    ROW,
    SENT,
    START,
    STOP,
    TERMS,
    TIE,
    UNSEATED,
    Tables,
    Whole,
)
from lugwright.layout.kernel.undo import begin, take_back, touch, touch_joint
from lugwright.layout.kernel.wiring import rewire

BLINK = cast(int, np.int64(61))  # of OF: a seat overlooked now and then keeps the search from repeating itself
ALONE = 200  # of OF: one part alone looks for a seat, boldly, so that what it blocks can come free
BOLD = cast(int, np.int64(512))  # of OF: the chance to overlook a seat then
FORCED = 512  # of OF, while a part is left over: seat it, and let what is in its way move on
SENDING = 300  # of OF: move lugs with all that hangs on them, instead of taking parts out
FORCED_TRIES = 6
MOST_WAITING = 8  # parts left over that one move tries to seat


@compiled
def price_of(w: Tables) -> int:
    """Return the whole price."""
    total = 0
    for k in range(TERMS):
        total += w.notes[NOW, k]
    return total


@compiled
def whole(w: Tables) -> bool:
    """Return whether every part is seated and every joint in one piece."""
    return bool(w.notes[NOW, UNSEATED] == 0 and w.notes[NOW, BROKEN] == 0)


@entry
def anneal(w: Tables, heats: Whole, chances: Whole, moves_each: int, until_whole: bool, best: Whole) -> int:
    """Search on, a number of moves at each heat; ends on the best plan met. Return its price.

    ``best`` is room for it: a line per part (row, layer), then a line per terminal (joint of a tie, or NONE).
    """
    now = price_of(w)
    least = now
    keep(w, best)
    for heat in heats:
        for _ in range(moves_each):
            if until_whole and whole(w):
                return now
            move(w)
            after = price_of(w)
            if after - now < (heat * chances[below(w.notes[DICE], len(chances))]) >> 10:
                now = after
                if now < least:
                    least = now
                    keep(w, best)
            else:
                take_back(w)
    recall(w, best)
    return least


@entry
def fill(w: Tables, parts: Whole) -> None:
    """Seat parts one after the other and wire everything."""
    for part in parts:
        seat_part(w, part, NEVER)
    for joint in range(len(w.joint)):
        rewire(w, joint)


@compiled
def keep(w: Tables, best: Whole) -> None:
    """Copy the plan."""
    parts = len(w.part)
    for part in range(parts):
        best[part, 0], best[part, 1] = w.part[part, ROW], w.part[part, LAYER]
    for t in range(len(w.terminal)):
        best[parts + t, 0] = w.terminal[t, JOINT] if w.terminal[t, TIE] else NONE


@compiled
def recall(w: Tables, best: Whole) -> None:
    """Make the plan the copy again."""
    parts = len(w.part)
    for part in range(parts):
        if w.part[part, ROW] != NONE:
            take(w, part)
    for joint in range(len(w.joint)):
        drop_ties(w, joint)
    for part in range(parts):
        if best[part, 0] != NONE:
            put(w, part, best[part, 0], best[part, 1])
    for t in range(len(w.terminal)):
        if best[parts + t, 0] != NONE:
            add_tie(w, t, best[parts + t, 0])
    for joint in range(len(w.joint)):
        rewire(w, joint)


@compiled
def move(w: Tables) -> None:
    begin(w)
    w.notes[PICKED, 0] = 0
    waiting = _waiting(w)
    forced, row, blink = NONE, NONE, BLINK
    if waiting != NONE and below(w.notes[DICE], OF) < FORCED:
        forced, row = waiting, _easiest_row(w, waiting)
        w.notes[PICKED, 0] = 0
        pick(w, forced)
        pick_in_the_way(w, forced, row)
    elif below(w.notes[DICE], OF) < SENDING:
        send_lugs(w, loose(w))
    elif waiting == NONE and below(w.notes[DICE], OF) < ALONE:
        pick(w, below(w.notes[DICE], len(w.part)))
        blink = BOLD
    else:
        choose(w, waiting if waiting != NONE and below(w.notes[DICE], 2) else loose(w))
        if waiting != NONE:
            pick(w, waiting)
    for k in range(1, w.notes[PICKED, 0] + 1):
        touch(w, w.notes[PICKED, k])
        if w.part[w.notes[PICKED, k], ROW] != NONE:
            take(w, w.notes[PICKED, k])
    _touch_broken(w)
    if w.notes[SENT, 0]:
        follow(w)
    _shuffle(w)
    if forced != NONE:
        _force(w, forced, row)
    for k in range(1, w.notes[PICKED, 0] + 1):
        if w.part[w.notes[PICKED, k], ROW] == NONE:
            seat_part(w, w.notes[PICKED, k], blink)
    for k in range(1, w.notes[JOINTS, 0] + 1):
        rewire(w, w.notes[JOINTS, k])


@compiled
def _waiting(w: Tables) -> int:
    """Return a part that is left over, by chance, or NONE."""
    count, at = 0, NONE
    for part in range(len(w.part)):
        if w.part[part, ROW] == NONE:
            count += 1
            if below(w.notes[DICE], count) == 0:
                at = part
    return at


@compiled
def _touch_broken(w: Tables) -> None:
    for joint in range(len(w.joint)):
        if w.joint[joint, MISSING]:
            touch_joint(w, joint)


@compiled
def _shuffle(w: Tables) -> None:
    """Bring the picked parts in a random order, or half of the time those with fewest seats first."""
    count = w.notes[PICKED, 0]
    for k in range(count, 1, -1):
        i = 1 + below(w.notes[DICE], k)
        w.notes[PICKED, k], w.notes[PICKED, i] = w.notes[PICKED, i], w.notes[PICKED, k]
    if below(w.notes[DICE], 2):
        for k in range(2, count + 1):
            part, i = w.notes[PICKED, k], k
            while i > 1 and _choice(w, w.notes[PICKED, i - 1]) > _choice(w, part):
                w.notes[PICKED, i] = w.notes[PICKED, i - 1]
                i -= 1
            w.notes[PICKED, i] = part


@compiled
def _choice(w: Tables, part: int) -> int:
    return int(w.part[part, STOP] - w.part[part, START])


@compiled
def _easiest_row(w: Tables, part: int) -> int:
    """Return the one of some random rows of a part that fewest parts would have to leave."""
    best, least = NONE, 1 << 20
    for _ in range(FORCED_TRIES):
        row = w.part[part, START] + below(w.notes[DICE], _choice(w, part))
        w.notes[PICKED, 0] = 0
        pick_in_the_way(w, part, row)
        if w.notes[PICKED, 0] < least:
            best, least = row, w.notes[PICKED, 0]
    return best


@compiled
def _force(w: Tables, part: int, row: int) -> None:
    """Seat a part on a row if that is allowed now."""
    if not allowed(w, part, row):
        return
    lay(w, row, w.line[part])
    layer = free_layer(w, part, row, w.line[part])
    if layer:
        put(w, part, row, layer)
