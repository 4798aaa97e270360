"""Wires of an earlier plan kept: of two ways to join the same lugs, the one that is there already."""

from __future__ import annotations

import itertools
from collections import Counter, deque
from collections.abc import Iterable, Mapping, Sequence

from lugwright.layout.board import Board
from lugwright.layout.results import Plan
from lugwright.layout.search import Bench

Edge = tuple[int, int]


def kept_wires(bench: Bench, previous: Plan | None) -> list[tuple[Edge, ...]]:
    """Return the wires of every joint: as searched, but each old wire that still joins two of its ends in place of one.

    Taking an old wire closes a ring; the longest new wire of the ring that leaves room for it is left out.
    """
    trees = [tuple(tree.edges) for tree in bench.trees]
    if previous is None:
        return trees
    old = _old_edges(bench, previous)
    room = _room(bench, trees)
    return [
        _exchanged(bench.board, edges, old.get(joint, []), _joined_anyway(bench, joint), room)
        for joint, edges in enumerate(trees)
    ]


def _old_edges(bench: Bench, previous: Plan) -> Mapping[int, list[Edge]]:
    """Return the old wires whose ends still carry one joint, by joint."""
    place = {t.key: index for index, t in enumerate(bench.board.terminals)}
    found: dict[int, list[Edge]] = {}
    for wire in previous.wires:
        one, two = (place.get(key, -1) for key in wire.terminals)
        if not wire.bond and one >= 0 and two >= 0 and bench.joint_at[one] == bench.joint_at[two] >= 0:
            found.setdefault(int(bench.joint_at[one]), []).append((one, two))
    return found


def _room(bench: Bench, trees: Iterable[Sequence[Edge]]) -> Counter[int]:
    """Return the leads each terminal still takes."""
    room = Counter({index: int(capacity) for index, capacity in enumerate(bench.board.capacity)})
    for seat in bench.seats:
        room.subtract(seat.lying.ends if seat is not None else ())
    room.subtract(end for _, *ends in bench.chain for end in ends)
    room.subtract(end for edges in trees for edge in edges for end in edge)
    return room


def _joined_anyway(bench: Bench, joint: int) -> list[Edge]:
    """Return what joins terminals of a joint whatever is wired: metal, and wires decided beforehand."""
    metal = [pair for bundle in bench.board.bundles for pair in itertools.pairwise(bundle)]
    return [pair for pair in metal if bench.joint_at[pair[0]] == joint] + [
        (a, b) for j, a, b in bench.chain if j == joint
    ]


def _exchanged(
    board: Board, edges: Sequence[Edge], old: Iterable[Edge], anyway: Iterable[Edge], room: Counter[int]
) -> tuple[Edge, ...]:
    """Return the wires of one joint with old ones in place of new ones; ``room`` is kept up to date."""
    wires = [(min(edge), max(edge)) for edge in edges]
    there = {(min(edge), max(edge)) for edge in old}
    fixed = [*anyway]
    order = {(min(edge), max(edge)): edge for edge in (*edges, *old)}
    for edge in sorted(there - set(wires)):
        ring = [w for w in _way(edge[0], edge[1], wires, fixed) if w in wires and w not in there]
        ring.sort(key=lambda w: (-float(board.distance[w[0], w[1]]), w))
        for gone in ring:
            if all(room[end] + (end in gone) >= 1 for end in edge):
                wires[wires.index(gone)] = edge
                room.update(gone)
                room.subtract(edge)
                break
    return tuple(order[wire] for wire in wires)


def _way(start: int, goal: int, wires: Sequence[Edge], fixed: Sequence[Edge]) -> list[Edge]:
    """Return the wires on a way from one terminal to another; none when there is no way."""
    beside: dict[int, list[Edge]] = {}
    for edge in (*fixed, *wires):
        for end in edge:
            beside.setdefault(end, []).append(edge)
    came: dict[int, tuple[int, Edge]] = {start: (start, (start, start))}
    queue = deque([start])
    while queue and goal not in came:
        here = queue.popleft()
        for edge in beside.get(here, ()):
            there = edge[1] if edge[0] == here else edge[0]
            if there not in came:
                came[there] = here, edge
                queue.append(there)
    found = []
    here = goal
    while here in came and here != start:
        here, edge = came[here]
        found.append(edge)
    return found
