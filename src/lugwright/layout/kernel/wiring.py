"""The wires of one joint: a short tree over its used terminals that no terminal has too many ends of."""

from __future__ import annotations

import numpy as np

from lugwright.layout.kernel.compiled import compiled
from lugwright.layout.kernel.place import add_tie, may_carry
from lugwright.layout.kernel.tables import (
    BROKEN,
    BUSY,
    CAPACITY,
    CORE,
    CROWDED,
    FAR,
    FREE,
    GROUP,
    GROUPS,
    JOINT,
    MISSING,
    MOST_TIES,
    NODE_FROM,
    NODE_TO,
    NONE,
    NOW,
    P_BROKEN,
    P_BUSY,
    PRICE,
    PRICES,
    ROOM,
    TERMINAL,
    TIE,
    WEIGHT,
    WIRES,
    Tables,
    Whole,
)
from lugwright.layout.objective import BUSY_FROM

NODE, PIECE, LEFT, BEST, FROM = range(5)  # columns of a work table: one line per terminal to be joined
DONE = -2


@compiled
def rewire(w: Tables, joint: int) -> None:
    """Make the tree of a joint anew, with tie lugs where it cannot be joined without."""
    w.notes[NOW, WIRES] -= w.joint[joint, PRICE]
    w.notes[NOW, BROKEN] -= w.joint[joint, MISSING] * w.notes[PRICES, P_BROKEN]
    w.notes[NOW, BUSY] -= w.joint[joint, CROWDED]
    _grow(w, joint)
    ties = 0
    for k in range(1, w.lugs[joint, 0] + 1):
        ties += w.terminal[w.lugs[joint, k], TIE]
    while w.joint[joint, MISSING] and ties < MOST_TIES and _tie(w, joint):
        ties += 1
        _grow(w, joint)
    w.notes[NOW, WIRES] += w.joint[joint, PRICE]
    w.notes[NOW, BROKEN] += w.joint[joint, MISSING] * w.notes[PRICES, P_BROKEN]
    w.notes[NOW, BUSY] += w.joint[joint, CROWDED]


@compiled
def _tie(w: Tables, joint: int) -> bool:
    """Give the joint the free lug that is nearest to all it has."""
    best, at = FAR, NONE
    for lug in range(len(w.terminal)):
        if w.terminal[lug, JOINT] != FREE or w.terminal[lug, ROOM] < 2:
            continue
        apart = 0
        for k in range(w.joint[joint, NODE_FROM], w.joint[joint, NODE_TO]):
            if w.item[k, CORE]:
                apart += w.apart[lug, w.item[k, TERMINAL]]
        for k in range(1, w.lugs[joint, 0] + 1):
            apart += w.apart[lug, w.lugs[joint, k]]
        if apart < best and may_carry(w, lug, joint, NONE, NONE):
            best, at = apart, lug
    if at == NONE:
        return False
    add_tie(w, at, joint)
    return True


@compiled
def _nodes(w: Tables, joint: int, t: Whole) -> int:
    """List the terminals of a joint with the piece each is in; return how many, 0 when nothing is to be joined."""
    count, core = 0, 0
    for k in range(w.joint[joint, NODE_FROM], w.joint[joint, NODE_TO]):
        node = w.item[k, TERMINAL]
        core += w.item[k, CORE]
        t[count, NODE], t[count, LEFT] = node, w.terminal[node, ROOM]
        t[count, PIECE] = w.item[k, GROUP] if w.item[k, GROUP] != NONE else len(w.terminal) + count
        count += 1
    for k in range(1, w.lugs[joint, 0] + 1):
        node = w.lugs[joint, k]
        t[count, NODE], t[count, LEFT], t[count, PIECE] = node, w.terminal[node, ROOM], len(w.terminal) + count
        count += 1
    return count if core + w.lugs[joint, 0] > 1 else 0


@compiled
def _grow(w: Tables, joint: int) -> None:
    """Grow one piece by the shortest wire until all is joined, keeping a free place in it until the last."""
    edges = w.edges[joint]
    edges[0] = 0
    w.joint[joint, PRICE], w.joint[joint, MISSING], w.joint[joint, CROWDED] = 0, 0, 0
    t = np.empty((w.joint[joint, NODE_TO] - w.joint[joint, NODE_FROM] + w.lugs[joint, 0], 5), dtype=np.int64)
    count = _nodes(w, joint, t)
    if count == 0:
        w.joint[joint, CROWDED] = crowded(w, joint)
        return
    for k in range(count):
        t[k, BEST], t[k, FROM] = FAR, NONE
    pieces = w.joint[joint, GROUPS]
    for k in range(count):
        pieces += 1 if t[k, PIECE] >= len(w.terminal) else 0
    free = _join(w, t, count, t[0, PIECE])
    while pieces > 1:
        k = _nearest(t, count, free, pieces, len(w.terminal))
        if k == NONE:
            break
        near = t[k, FROM]
        w.joint[joint, PRICE] += t[k, BEST] * w.joint[joint, WEIGHT]
        edges[1 + 2 * edges[0]], edges[2 + 2 * edges[0]] = t[near, NODE], t[k, NODE]
        edges[0] += 1
        t[near, LEFT] -= 1
        t[k, LEFT] -= 1
        free += _join(w, t, count, t[k, PIECE]) - 1
        if t[near, LEFT] == 0:
            _look_again(w, t, count, near)
        pieces -= 1
    w.joint[joint, MISSING] = pieces - 1
    w.joint[joint, CROWDED] = crowded(w, joint)


@compiled
def crowded(w: Tables, joint: int) -> int:
    """Return the price of what is too many on the terminals of a joint."""
    price = 0
    for k in range(w.joint[joint, NODE_FROM], w.joint[joint, NODE_TO]):
        price += _crowd(w, joint, w.item[k, TERMINAL])
    for k in range(1, w.lugs[joint, 0] + 1):
        price += _crowd(w, joint, w.lugs[joint, k])
    return price


@compiled
def _crowd(w: Tables, joint: int, terminal: int) -> int:
    most = w.terminal[terminal, CAPACITY]
    leads = most - w.terminal[terminal, ROOM]
    if most > BUSY_FROM:
        for k in range(1, 2 * w.edges[joint, 0] + 1):
            leads += 1 if w.edges[joint, k] == terminal else 0
    return int(w.notes[PRICES, P_BUSY] * max(0, leads - BUSY_FROM))


@compiled
def _join(w: Tables, t: Whole, count: int, piece: int) -> int:
    """Count a piece among the joined, offer its terminals to the others; return the wires it can still take."""
    free = 0
    for k in range(count):
        if t[k, PIECE] != piece:
            continue
        t[k, PIECE] = DONE
        free += t[k, LEFT]
        if t[k, LEFT] > 0:
            _offer(w, t, count, k)
    return free


@compiled
def _offer(w: Tables, t: Whole, count: int, near: int) -> None:
    """Let every terminal that is not joined yet know of one that is."""
    for k in range(count):
        if t[k, PIECE] != DONE:
            apart = w.apart[t[near, NODE], t[k, NODE]]
            if apart < t[k, BEST]:
                t[k, BEST], t[k, FROM] = apart, near


@compiled
def _look_again(w: Tables, t: Whole, count: int, full: int) -> None:
    """Find another nearest terminal for those whose nearest has become full."""
    for k in range(count):
        if t[k, PIECE] == DONE or t[k, FROM] != full:
            continue
        t[k, BEST], t[k, FROM] = FAR, NONE
        for i in range(count):
            if t[i, PIECE] == DONE and t[i, LEFT] > 0:
                apart = w.apart[t[i, NODE], t[k, NODE]]
                if apart < t[k, BEST]:
                    t[k, BEST], t[k, FROM] = apart, i


@compiled
def _nearest(t: Whole, count: int, free: int, pieces: int, single: int) -> int:
    """Return the terminal to be joined next; pieces numbered from ``single`` on are one terminal each."""
    best, at = FAR, NONE
    for k in range(count):
        if t[k, PIECE] == DONE or t[k, LEFT] <= 0 or t[k, BEST] >= best:
            continue
        own = t[k, LEFT] if t[k, PIECE] >= single else _free_of(t, count, t[k, PIECE])
        if pieces == 2 or free + own > 2:
            best, at = t[k, BEST], k
    return at


@compiled
def _free_of(t: Whole, count: int, piece: int) -> int:
    free = 0
    for k in range(count):
        if t[k, PIECE] == piece:
            free += t[k, LEFT]
    return free
