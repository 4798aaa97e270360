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
    pieces = _Pieces(nodes, groups, room)
    edges: list[tuple[int, int]] = []
    length = 0.0
    for apart, a, b in _by_length(list(pieces.piece), groups, pieces.left, distance):
        if len(pieces.free) == 1:
            break
        if pieces.may_join(a, b):
            pieces.join(a, b)
            edges.append((a, b))
            length += apart
    return Tree(tuple(edges), length, len(pieces.free) - 1)


class _Pieces:
    """The pieces a joint is in, and the wire ends each terminal and each piece can still take."""

    def __init__(self, nodes: Sequence[int], groups: Sequence[Sequence[int]], room: Sequence[int]) -> None:
        self.piece = {node: node for node in nodes}
        for group in groups:
            self.piece.update((member, group[0]) for member in group)
        self.left = {node: room[node] for node in self.piece}
        self.free: dict[int, int] = {}
        self.members: dict[int, list[int]] = {}
        for node, root in self.piece.items():
            self.free[root] = self.free.get(root, 0) + self.left[node]
            self.members.setdefault(root, []).append(node)

    def may_join(self, a: int, b: int) -> bool:
        """Return whether a wire fits, and leaves a free place in the new piece unless it is the last wire."""
        if self.piece[a] == self.piece[b] or self.left[a] <= 0 or self.left[b] <= 0:
            return False
        return len(self.free) == 2 or self.free[self.piece[a]] + self.free[self.piece[b]] > 2

    def join(self, a: int, b: int) -> None:
        """Put a wire between two terminals of different pieces."""
        one, two = self.piece[a], self.piece[b]
        if len(self.members[one]) < len(self.members[two]):
            one, two = two, one
        self.left[a] -= 1
        self.left[b] -= 1
        self.free[one] += self.free.pop(two) - 2
        moving = self.members.pop(two)
        self.members[one] += moving
        self.piece.update((node, one) for node in moving)


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
