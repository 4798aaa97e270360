"""The wires of one joint: a short tree over its used terminals that no terminal has too many ends of."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

NEAREST_ON_BUNDLE = 4


@dataclass(frozen=True)
class Tree:
    """Wires as terminal pairs, their length, and how many pieces the joint is left in beyond one."""

    edges: tuple[tuple[int, int], ...]
    length_mm: float
    missing: int


def wire_tree(
    nodes: Sequence[int],
    groups: Sequence[Sequence[int]],
    room: Sequence[int],
    distance: Sequence[Sequence[float]],
) -> Tree:
    """Join nodes by short wires, shortest first, keeping a free place in every piece until the last.

    Parameters
    ----------
    nodes : sequence of int
        Terminals that must be joined; members of a group that nothing else needs may be among them.
    groups : sequence of sequences of int
        Terminals already joined (a bus, a heater chain).
    room : sequence of int
        Wire ends each terminal can still take, by terminal. [-]
    distance : sequence of sequences of float
        Wire length between terminals. [mm]

    Returns
    -------
    Tree
        The wires.
    """
    piece = {node: node for node in nodes}
    for group in groups:
        for member in group:
            piece[member] = group[0]
    left = {node: room[node] for node in piece}
    free: dict[int, int] = {}
    for node, root in piece.items():
        free[root] = free.get(root, 0) + left[node]
    members: dict[int, list[int]] = {}
    for node, root in piece.items():
        members.setdefault(root, []).append(node)
    pieces = len(free)
    edges: list[tuple[int, int]] = []
    length = 0.0
    for apart, a, b in _by_length(list(piece), groups, left, distance):
        if pieces == 1:
            break
        ra, rb = piece[a], piece[b]
        if ra == rb or left[a] <= 0 or left[b] <= 0:
            continue
        after = free[ra] + free[rb] - 2
        if after <= 0 and pieces > 2:
            continue
        left[a] -= 1
        left[b] -= 1
        if len(members[ra]) < len(members[rb]):
            ra, rb = rb, ra
        for node in members[rb]:
            piece[node] = ra
        members[ra] += members.pop(rb)
        free[ra] = after
        del free[rb]
        pieces -= 1
        length += apart
        edges.append((a, b))
    return Tree(tuple(edges), length, pieces - 1)


def _by_length(
    nodes: list[int], groups: Sequence[Sequence[int]], left: dict[int, int], distance: Sequence[Sequence[float]]
) -> list[tuple[float, int, int]]:
    """Return the possible wires, shortest first; of a long bundle only the nearest points of each node."""
    large = [group for group in groups if len(group) > 2 * NEAREST_ON_BUNDLE]
    bundled = {member for group in large for member in group}
    single = [node for node in nodes if node not in bundled and left[node] > 0]
    edges = [(distance[a][b], a, b) for i, a in enumerate(single) for b in single[i + 1 :]]
    for group in large:
        open_points = [member for member in group if left[member] > 0]
        for node in single:
            row = distance[node]
            edges += [(row[p], node, p) for p in sorted(open_points, key=row.__getitem__)[:NEAREST_ON_BUNDLE]]
    for i, one in enumerate(large):
        for two in large[i + 1 :]:
            edges += [(distance[a][b], a, b) for a in one for b in two if left[a] > 0 and left[b] > 0]
    edges.sort()
    return edges
