"""Moves of joints, with all that hangs on them: two lugs change places, or a run of lugs moves up by one."""

from __future__ import annotations

from lugwright.layout.kernel.chance import below
from lugwright.layout.kernel.choose import pick_on
from lugwright.layout.kernel.compiled import compiled
from lugwright.layout.kernel.geometry import end_of, lay
from lugwright.layout.kernel.place import allowed, free_layer, put
from lugwright.layout.kernel.tables import (
    BEFORE,
    DICE,
    FIRST,
    FIXED,
    GOES_TO,
    NONE,
    OLD_ROW,
    PICKED,
    ROW,
    SECOND,
    SENT,
    START,
    STOP,
    Tables,
)

LONGEST_RUN = 6
SWAP_TRIES = 8
SWAP_REACH = 6000  # of DISTANCE_PER_MM


@compiled
def send_lugs(w: Tables, first: int) -> None:
    """Choose where the joints of some lugs near a part go, and pick the parts that hang on them."""
    row = w.part[first, ROW]
    if row == NONE:
        return
    side = below(w.notes[DICE], 2)
    lug, other = end_of(w, row, side), end_of(w, row, 1 - side)
    if w.terminal[lug, FIXED]:
        lug, other = other, lug
    if w.terminal[lug, FIXED]:
        return
    kind, way, run = below(w.notes[DICE], 3), below(w.notes[DICE], 2), 1 + below(w.notes[DICE], LONGEST_RUN)
    if kind == 0:
        _swap(w, lug)
        return
    _move_up(w, lug, way, run)
    if kind == 2 and not w.terminal[other, FIXED]:
        _move_up(w, other, _same_way(w, lug, other, way), run)


@compiled
def _send(w: Tables, terminal: int, to: int) -> None:
    if w.terminal[terminal, GOES_TO] == NONE:
        w.terminal[terminal, GOES_TO] = to
        w.notes[SENT, 0] += 1
        w.notes[SENT, w.notes[SENT, 0]] = terminal
        pick_on(w, terminal)


@compiled
def _swap(w: Tables, lug: int) -> None:
    """Exchange a lug with another one near it, free or not."""
    for _ in range(SWAP_TRIES):
        other = below(w.notes[DICE], len(w.terminal))
        if other != lug and not w.terminal[other, FIXED] and w.apart[lug, other] < SWAP_REACH:
            _send(w, lug, other)
            _send(w, other, lug)
            return


@compiled
def _move_up(w: Tables, lug: int, way: int, run: int) -> None:
    """Move a run of lugs up by one, the last to where the first was; feet are stepped over."""
    here = lug
    for _ in range(run):
        there = w.terminal[here, BEFORE + way]
        while there != NONE and w.terminal[there, FIXED]:
            there = w.terminal[there, BEFORE + way]
        if there == NONE:
            break
        _send(w, here, there)
        here = there
    if here != lug:
        _send(w, here, lug)


@compiled
def _same_way(w: Tables, lug: int, other: int, way: int) -> int:
    """Return the way along the strip of another lug that leads in the same direction."""
    one, two = w.terminal[lug, BEFORE + way], w.terminal[other, BEFORE + way]
    if one == NONE or two == NONE:
        return way
    at, dot = len(w.part) + 1, 0.0
    for axis in range(2):
        dot += (w.line[at + one, axis] - w.line[at + lug, axis]) * (w.line[at + two, axis] - w.line[at + other, axis])
    return way if dot >= 0.0 else 1 - way


@compiled
def follow(w: Tables) -> None:
    """Seat the picked parts where their lugs went, as far as they fit there."""
    for k in range(1, w.notes[PICKED, 0] + 1):
        part = w.notes[PICKED, k]
        if w.part[part, ROW] == NONE and w.part[part, OLD_ROW] != NONE:
            row = _row_between(w, part, _gone(w, part, 0), _gone(w, part, 1))
            if row != NONE and allowed(w, part, row):
                lay(w, row, w.line[part])
                layer = free_layer(w, part, row, w.line[part])
                if layer:
                    put(w, part, row, layer)
    for k in range(1, w.notes[SENT, 0] + 1):
        w.terminal[w.notes[SENT, k], GOES_TO] = NONE
    w.notes[SENT, 0] = 0


@compiled
def _gone(w: Tables, part: int, side: int) -> int:
    end = end_of(w, w.part[part, OLD_ROW], side)
    to = w.terminal[end, GOES_TO]
    return int(end if to == NONE else to)


@compiled
def _row_between(w: Tables, part: int, first: int, second: int) -> int:
    """Return the row of a part between two terminals, NONE where it does not fit."""
    low, high = w.part[part, START], w.part[part, STOP]
    while low < high:
        middle = (low + high) // 2
        a, c = w.row[middle, FIRST], w.row[middle, SECOND]
        if a < first or (a == first and c < second):
            low = middle + 1
        else:
            high = middle
    if low < w.part[part, STOP] and w.row[low, FIRST] == first and w.row[low, SECOND] == second:
        return int(low)
    return NONE
