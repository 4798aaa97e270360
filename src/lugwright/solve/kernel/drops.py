"""Trees of drops of volts, wiring by wiring, and what stamps on joints are on these.

`lugwright.solve.rewired_layout` says what they are good for.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from lugwright.solve.kernel.compiled import compiled, entry

Table = NDArray[np.float64]
Rows = NDArray[np.int64]
Flags = NDArray[np.bool_]

LEVEL = -1  # what a joint is told against that has a level of its own


class Stamped(NamedTuple):
    """What some wirings stamp anew, one column's behind the other's, their bridges, and what holds joints.

    Branches in pairs that are coupled, with four ends each: before and after.
    """

    first: Rows  # (column + 1): where a column's pairs begin
    pairs: Rows  # (stamp): which pair of branches
    ends: Rows  # (stamp, 8): rows
    strength: Table  # (stamp, 2): how strongly the two branches join their old ends [S]
    bridge_ends: Rows  # (2, bridge, column)
    bridge_s: Table  # (bridge, column), 0 for none
    first_hold: Rows  # (column + 1)
    holds: Rows  # (hold): row
    hold_s: Table  # (hold): to ground
    in_base: Flags  # (hold): the base's inverse holds the row already


class Trees(NamedTuple):
    """The rows that each column touches, each with the one its volts are told against."""

    first: Rows  # (column): where its rows begin; there is room for all that it may touch
    touched: Rows  # (column): how many rows
    rows: Rows
    up: Rows  # which of the same column's, or LEVEL
    depth: Rows  # from the level: 1 and more; 0 for ground itself
    strong: Flags  # something strong joins it to what it is told against
    cells: Rows  # (column): how many cells its stamps go into


@compiled
def _number(row: int, place: Rows, rows: Rows, count: int) -> int:
    """Give a row a place among those touched, unless it has one; return how many there are then."""
    if place[row] < 0:
        place[row], rows[count] = count, row
        return count + 1
    return count


@compiled
def _touched(stamped: Stamped, c: int, place: Rows, rows: Rows) -> int:
    """Number the rows that a column touches; return how many there are."""
    count = 0
    for stamp in range(stamped.first[c], stamped.first[c + 1]):
        for end in range(8):
            count = _number(stamped.ends[stamp, end], place, rows, count)
    for bridge in range(len(stamped.bridge_s)):
        if stamped.bridge_s[bridge, c] != 0.0:
            for end in range(2):
                count = _number(stamped.bridge_ends[end, bridge, c], place, rows, count)
    for hold in range(stamped.first_hold[c], stamped.first_hold[c + 1]):
        count = _number(stamped.holds[hold], place, rows, count)
    return count


@compiled
def _links(stamped: Stamped, c: int, place: Rows, siemens: Table, ends: Rows) -> int:
    """Write what joins the rows of a column, the strongest first, ties by their ends; return how many there are."""
    count = 0
    for stamp in range(stamped.first[c], stamped.first[c + 1]):
        for branch in range(2):
            s = stamped.strength[stamp, branch]
            a, b = place[stamped.ends[stamp, 2 * branch]], place[stamped.ends[stamp, 2 * branch + 1]]
            k = count
            while k > 0 and (siemens[k - 1], ends[k - 1, 0], ends[k - 1, 1]) < (s, a, b):
                siemens[k], ends[k, 0], ends[k, 1] = siemens[k - 1], ends[k - 1, 0], ends[k - 1, 1]
                k -= 1
            siemens[k], ends[k, 0], ends[k, 1] = s, a, b
            count += 1
    return count


@compiled
def _top(root: Rows, k: int) -> int:
    while root[k] != k:
        k = root[k]
    return k


@compiled
def _without_loops(firm: Flags, count: int, links: int, siemens: Table, ends: Rows) -> int:
    """Leave only links that close no loop and join no two firm joints, in place; return how many there are."""
    root, held, kept = np.arange(count), firm[:count].copy(), 0
    for k in range(links):
        one, other = _top(root, ends[k, 0]), _top(root, ends[k, 1])
        if one != other and not (held[one] and held[other]):
            root[other] = one
            held[one] = held[one] or held[other]
            siemens[kept], ends[kept, 0], ends[kept, 1] = siemens[k], ends[k, 0], ends[k, 1]
            kept += 1
    return kept


@compiled
def _hang(root: int, ground: int, links: int, siemens: Table, ends: Rows, strong_s: float, seen: Flags,
          rows: Rows, up: Rows, depth: Rows, strong: Flags) -> None:  # fmt: skip
    """Tell everything that links lead to from a root against its neighbor on the way there."""
    waiting, count = np.empty(len(rows), dtype=np.int64), 1
    waiting[0], seen[root], up[root], strong[root] = root, True, LEVEL, False
    depth[root] = 0 if rows[root] == ground else 1
    while count > 0:
        count -= 1
        one = waiting[count]
        for k in range(links):
            if ends[k, 0] != one and ends[k, 1] != one:
                continue
            other = ends[k, 1] if ends[k, 0] == one else ends[k, 0]
            if not seen[other]:
                at_ground = rows[one] == ground
                waiting[count], seen[other], depth[other] = other, True, depth[one] + 1
                up[other] = LEVEL if at_ground else one
                strong[other] = siemens[k] > strong_s and not at_ground
                count += 1


@compiled
def _between(up: Rows, depth: Rows, a: int, b: int, drops: Rows, signs: Table) -> int:
    """Write the drops that add up to the volts between two joints; return how many there are."""
    count = 0
    a, b = a if a < 0 or depth[a] > 0 else LEVEL, b if b < 0 or depth[b] > 0 else LEVEL
    while a != b:
        if b < 0 or (a >= 0 and depth[a] >= depth[b]):
            drops[count], signs[count] = a, 1.0
            a = up[a]
        else:
            drops[count], signs[count] = b, -1.0
            b = up[b]
        count += 1
    return count


@compiled
def _across(ends: Rows, place: Rows, up: Rows, depth: Rows, drops: Rows, signs: Table) -> int:
    """Write the drops that add up to the volts between two rows; return how many there are."""
    return _between(up, depth, place[ends[0]], place[ends[1]], drops, signs)


@compiled
def _room(stamped: Stamped) -> int:
    """Return how many links a column has at the most."""
    most = 0
    for c in range(len(stamped.first) - 1):
        most = max(most, 2 * (stamped.first[c + 1] - stamped.first[c]))
    return most


@entry
def grow(stamped: Stamped, ground: int, strong_s: float, trees: Trees) -> None:
    """Write the tree of every column: the strongest parts first; joints that are held, and ground, are roots."""
    place, room = np.full(ground + 1, -1), _room(stamped)
    siemens, ends = np.empty(room), np.empty((room, 2), dtype=np.int64)
    drops, signs = np.empty((2, ground + 1), dtype=np.int64), np.empty((2, ground + 1))
    for c in range(len(trees.touched)):
        start = trees.first[c]
        rows, up, depth, strong = trees.rows[start:], trees.up[start:], trees.depth[start:], trees.strong[start:]
        count = _touched(stamped, c, place, rows)
        firm, seen = np.zeros(count, dtype=np.bool_), np.zeros(count, dtype=np.bool_)
        for hold in range(stamped.first_hold[c], stamped.first_hold[c + 1]):
            firm[place[stamped.holds[hold]]] = True
        if place[ground] >= 0:
            firm[place[ground]] = True
        links = _links(stamped, c, place, siemens, ends)
        links = _without_loops(firm, count, links, siemens, ends)
        for first_firm in (True, False):
            for root in range(count):
                if not seen[root] and firm[root] == first_firm:
                    _hang(root, ground, links, siemens, ends, strong_s, seen, rows[:count], up, depth, strong)
        trees.touched[c], trees.cells[c] = count, 0
        for stamp in range(stamped.first[c], stamped.first[c + 1]):
            for now in range(2):
                both = stamped.ends[stamp, 4 * now : 4 * now + 4]
                into = _across(both[:2], place, up, depth, drops[0], signs[0])
                trees.cells[c] += into * _across(both[2:], place, up, depth, drops[1], signs[1])
        for k in range(count):
            place[rows[k]] = -1


class Block(NamedTuple):
    """What some columns stamp on their drops, to be filled."""

    stamps: Rows  # (cell, 5): place in the block, two drops, pair of branches, whether it is what these are now
    signs: Table  # (cell)
    steady: Table  # (n, drop, drop)
    release: Table  # (n, drop)


@compiled
def _conduct(steady: Table, siemens: float, count: int, drops: Rows, signs: Table) -> None:
    """Add a conductance that some drops lie across."""
    for i in range(count):
        for j in range(count):
            steady[drops[i], drops[j]] += siemens * signs[i] * signs[j]


@entry
def fill(stamped: Stamped, ground: int, trees: Trees, columns: Rows, held_s: float, block: Block) -> None:
    """Write what some columns stamp: where stamps go, and what no frequency changes."""
    place, cell = np.full(ground + 1, -1), 0
    drops, signs = np.empty((2, ground + 1), dtype=np.int64), np.empty((2, ground + 1))
    for n in range(len(columns)):
        c = columns[n]
        start, stop = trees.first[c], trees.first[c] + trees.touched[c]
        rows, up, depth = trees.rows[start:stop], trees.up[start:stop], trees.depth[start:stop]
        for k in range(len(rows)):
            place[rows[k]] = k
        for stamp in range(stamped.first[c], stamped.first[c + 1]):
            for now in range(2):
                both = stamped.ends[stamp, 4 * now : 4 * now + 4]
                one = _across(both[:2], place, up, depth, drops[0], signs[0])
                other = _across(both[2:], place, up, depth, drops[1], signs[1])
                for i in range(one):
                    for j in range(other):
                        into = block.stamps[cell]
                        into[0], into[1], into[2] = n, drops[0, i], drops[1, j]
                        into[3], into[4] = stamped.pairs[stamp], now
                        sign = 1.0 if now == 1 else -1.0
                        block.signs[cell] = sign * signs[0, i] * signs[1, j]
                        cell += 1
        for bridge in range(len(stamped.bridge_s)):
            siemens = stamped.bridge_s[bridge, c]
            if siemens != 0.0:
                count = _across(stamped.bridge_ends[:, bridge, c], place, up, depth, drops[0], signs[0])
                _conduct(block.steady[n], siemens, count, drops[0], signs[0])
        for hold in range(stamped.first_hold[c], stamped.first_hold[c + 1]):
            k = place[stamped.holds[hold]]
            if not stamped.in_base[hold]:
                count = _between(up, depth, k, LEVEL, drops[0], signs[0])
                _conduct(block.steady[n], held_s, count, drops[0], signs[0])
            block.release[n, k] += stamped.hold_s[hold] - held_s
        for row in rows:
            place[row] = -1
