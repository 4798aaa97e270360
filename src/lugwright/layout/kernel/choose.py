"""Which parts a move takes out: a few that have to do with each other."""

from __future__ import annotations

from lugwright.layout.kernel.chance import below
from lugwright.layout.kernel.compiled import compiled
from lugwright.layout.kernel.geometry import end_of, in_the_way, lay
from lugwright.layout.kernel.tables import (
    BEFORE,
    BOND,
    DICE,
    FIRST,
    FREE,
    GAP,
    HEAVY,
    INSULATION,
    JOINT,
    JOINT_A,
    LAYER,
    LEAST_LAYER,
    LENGTH,
    LOAD,
    NEAR_FROM,
    NEAR_TO,
    NONE,
    OTHER,
    PART,
    PARTS_FROM,
    PARTS_TO,
    PICKED,
    RADIUS,
    ROOM,
    ROW,
    SECOND,
    Tables,
)

MOST_TAKEN = 16
NEAR_MM = 45.0
WIDEST_WINDOW = 4


@compiled
def pick(w: Tables, part: int) -> None:
    """Add a part to those of the move, unless it is among them or they are many already."""
    count = w.notes[PICKED, 0]
    if count >= MOST_TAKEN:
        return
    for k in range(1, count + 1):
        if w.notes[PICKED, k] == part:
            return
    w.notes[PICKED, 0] = count + 1
    w.notes[PICKED, count + 1] = part


@compiled
def choose(w: Tables, first: int) -> None:
    """Pick parts for one move, beginning at a part."""
    kind = below(w.notes[DICE], 10)
    if kind < 3:
        _pick_kin(w, first, 2 + below(w.notes[DICE], 5))
    elif kind < 6:
        _pick_near(w, first, 2 + below(w.notes[DICE], 5))
    elif kind < 8:
        _pick_joint(w, first)
    else:
        _pick_window(w, first)


@compiled
def _pick_kin(w: Tables, first: int, wanted: int) -> None:
    """Walk from part to part over the joints they share."""
    part = first
    for _ in range(3 * wanted):
        pick(w, part)
        if w.notes[PICKED, 0] > wanted:
            return
        joint = w.part[part, JOINT_A + below(w.notes[DICE], 2)]
        size = w.joint[joint, PARTS_TO] - w.joint[joint, PARTS_FROM]
        if w.joint[joint, HEAVY] or size < 2:
            part = w.notes[PICKED, 1 + below(w.notes[DICE], w.notes[PICKED, 0])]
        else:
            part = w.item[w.joint[joint, PARTS_FROM] + below(w.notes[DICE], size), PART]


@compiled
def _pick_near(w: Tables, first: int, wanted: int) -> None:
    """Pick parts that lie near a part, by chance; the part itself with them."""
    pick(w, first)
    if w.part[first, ROW] == NONE:
        return
    x, y = w.line[first, 4], w.line[first, 5]
    count, start = len(w.part), below(w.notes[DICE], len(w.part))
    for k in range(count):
        part = (start + k) % count
        if w.part[part, ROW] == NONE or w.notes[PICKED, 0] > wanted:
            continue
        dx, dy = w.line[part, 4] - x, w.line[part, 5] - y
        if dx * dx + dy * dy < NEAR_MM * NEAR_MM and below(w.notes[DICE], 3):
            pick(w, part)


@compiled
def _pick_joint(w: Tables, first: int) -> None:
    """Pick every part of a joint of the part; where they are too many, those on one lug."""
    pick(w, first)
    joint = w.part[first, JOINT_A + below(w.notes[DICE], 2)]
    if w.joint[joint, HEAVY]:
        if w.part[first, ROW] != NONE:
            pick_on(w, end_of(w, w.part[first, ROW], below(w.notes[DICE], 2)))
        return
    for k in range(w.joint[joint, PARTS_FROM], w.joint[joint, PARTS_TO]):
        pick(w, w.item[k, PART])


@compiled
def pick_on(w: Tables, terminal: int) -> None:
    """Pick every part that hangs on a terminal."""
    if w.terminal[terminal, LOAD] == 0:
        return
    for part in range(len(w.part)):
        row = w.part[part, ROW]
        if row != NONE and (w.row[row, FIRST] == terminal or w.row[row, SECOND] == terminal):
            pick(w, part)


@compiled
def _pick_window(w: Tables, first: int) -> None:
    """Pick every part on a few lugs side by side, at one end of the part."""
    pick(w, first)
    if w.part[first, ROW] == NONE:
        return
    lug = end_of(w, w.part[first, ROW], below(w.notes[DICE], 2))
    side = below(w.notes[DICE], 2)
    for _ in range(1 + below(w.notes[DICE], WIDEST_WINDOW)):
        pick_on(w, lug)
        if w.terminal[lug, BEFORE + side] == NONE:
            break
        lug = w.terminal[lug, BEFORE + side]


@compiled
def pick_in_the_way(w: Tables, part: int, row: int) -> None:
    """Pick what has to leave for a part to sit on a row: from its ends, from lugs too near, from its layer."""
    for side in range(2):
        end, joint = end_of(w, row, side), w.part[part, JOINT_A + side]
        theirs = w.terminal[end, JOINT]
        if (theirs != joint and theirs != FREE) or w.terminal[end, ROOM] < 1:
            pick_on(w, end)
        for k in range(w.terminal[end, NEAR_FROM], w.terminal[end, NEAR_TO]):
            theirs = w.terminal[w.item[k, OTHER], JOINT]
            if theirs >= 0 and w.need[w.item[k, INSULATION], joint, theirs] > w.item[k, GAP]:
                pick_on(w, w.item[k, OTHER])
    if w.part[part, BOND]:
        return
    line = w.line[len(w.part)]
    line[LENGTH], line[RADIUS] = w.line[part, LENGTH], w.line[part, RADIUS]
    lay(w, row, line)
    for other in range(len(w.part)):
        lies = w.part[other, ROW] != NONE and not w.part[other, BOND] and other != part
        if lies and w.part[other, LAYER] == w.row[row, LEAST_LAYER] and in_the_way(line, w.line[other], False):
            pick(w, other)


@compiled
def loose(w: Tables) -> int:
    """Return a part that is not a bond, by chance."""
    for _ in range(8):
        part = below(w.notes[DICE], len(w.part))
        if not w.part[part, BOND]:
            return part
    return 0
