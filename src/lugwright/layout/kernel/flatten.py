"""From the planning problem to the tables of the search."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from lugwright.layout.board import FREE, Board
from lugwright.layout.kernel.tables import (
    AFTER,
    BEFORE,
    BUNDLED,
    CAPACITY,
    CORE,
    COUPLES,
    COUPLING,
    DISTANCE_PER_MM,
    FAR,
    FIXED,
    GAP_PER_MM,
    GOES_TO,
    GROUP,
    GROUPS,
    HEAVY,
    JOINT,
    LEFT_OVER,
    LEFT_OVER_PRICE,
    LENGTH,
    NEAR_FROM,
    NEAR_TO,
    NODE_FROM,
    NODE_TO,
    NONE,
    NOW,
    PARTS_FROM,
    PARTS_TO,
    PER_MM,
    PRICES,
    RADIUS,
    ROOM,
    ROW,
    TERMINAL,
    UNSEATED,
    WEIGHT,
    WEIGHT_PER_ONE,
    Real,
    Short,
    Tables,
    Whole,
)
from lugwright.layout.objective import (
    BROKEN_LIMIT,
    BUSY_LUG,
    HOT_NEAR_COLD,
    NEW_LUG,
    SECOND_LAYER,
    THIRD_LAYER,
    TIE_LUG,
)

DEAREST = 2**30  # most a row may cost, so that four bytes hold it
PRICES_OF_TERMS = (
    ("lugs", NEW_LUG), ("lugs", TIE_LUG), ("layers", SECOND_LAYER), ("layers", THIRD_LAYER), ("heat", HOT_NEAR_COLD),
    ("broken joints", BROKEN_LIMIT), ("busy", BUSY_LUG),
)  # fmt: skip
COMMON_JOINT = 12  # a joint with more parts than this makes no kin
Chain = Sequence[tuple[int, int, int]]
Group = tuple[int, ...]


def flatten(board: Board, chain: Chain) -> Tables:
    """Return the tables of a problem, with no part seated."""
    apart = np.rint(board.distance * DISTANCE_PER_MM).astype(np.int64)
    weight = np.rint(board.weight * WEIGHT_PER_ONE).astype(np.int64)
    groups = [_groups(board, chain, joint) for joint in range(len(board.joints))]
    nodes = [_nodes(board, joint, groups[joint]) for joint in range(len(board.joints))]
    parts_at, near = _parts_at(board), _near(board)
    prices = [price * board.dislikes.get(term, 1.0) for term, price in PRICES_OF_TERMS]
    widest = int(max((len(n) for n in nodes), default=0)) + int((board.joint_at == FREE).sum())
    notes = np.zeros((8, max(len(board.parts), len(board.joints), 15) + 1), dtype=np.int64)
    notes[PRICES, : len(prices)] = _whole(np.array(prices))
    notes[NOW, UNSEATED] = len(board.parts) * LEFT_OVER_PRICE
    couples = _whole(board.penalty)
    notes[NOW, COUPLING] = sum(couples[board.joint_at[a], board.joint_at[b]] for a, b in _given(board))
    need = np.ceil(np.array(list(board.needed_mm.values())) * GAP_PER_MM - 1e-3).astype(np.int64)
    return Tables(
        row=_rows(board),
        line=_line(board),
        part=_part(board),
        terminal=_terminal(board, chain, groups),
        joint=_joint(weight, nodes, groups, parts_at, first=len(near)),
        apart=np.concatenate([apart, _wire_from(apart, weight, nodes), _barred(board)]),
        need=np.concatenate([couples[None], need]),
        item=np.array(near + [line for n in nodes for line in n] + [(k, 0, 0) for p in parts_at for k in p]).reshape(
            -1, 3
        ),
        lugs=np.zeros((2 * len(board.joints), widest + 1), dtype=np.int64),
        edges=np.zeros((2 * len(board.joints), 2 * widest + 1), dtype=np.int64),
        notes=notes,
    )


def _whole(price: Real) -> Whole:
    return np.rint(price * PER_MM).astype(np.int64)


def _starts(lengths: Sequence[int]) -> Whole:
    return np.concatenate([[0], np.cumsum(lengths, dtype=np.int64)]).astype(np.int64)


def _rows(board: Board) -> Short:
    found, start = [], 0
    for seats in board.seats:
        price = np.minimum(_whole(seats.cost), DEAREST)
        following = start + np.searchsorted(seats.first, seats.first, side="right")
        columns = [seats.first, seats.second, seats.min_layer, np.rint(seats.span_mm * 10.0), price, following]
        found.append(np.stack(columns, axis=1))
        start += len(seats.first)
    return np.concatenate(found or [np.zeros((0, 6))]).astype(np.int32)


def _part(board: Board) -> Whole:
    starts = _starts([len(seats.first) for seats in board.seats])
    table = np.zeros((len(board.parts), 13), dtype=np.int64)
    table[:, LEFT_OVER] = LEFT_OVER_PRICE
    for k, part in enumerate(board.parts):
        table[k, : ROW + 1] = (
            starts[k], starts[k + 1], *part.joints, part.is_bond, part.is_hot, part.fears_heat, NONE,
        )  # fmt: skip
    return table


def _line(board: Board) -> Real:
    table = np.zeros((len(board.parts) + 1 + len(board.terminals), 10))
    table[len(board.parts) + 1 :, :2] = [(t.x_mm, t.y_mm) for t in board.terminals]
    for k, part in enumerate(board.parts):
        table[k, LENGTH], table[k, RADIUS] = part.length_mm, part.diameter_mm / 2.0
    return table


def _terminal(board: Board, chain: Chain, groups: Sequence[Sequence[Group]]) -> Whole:
    table = np.zeros((len(board.terminals), 14), dtype=np.int64)
    table[:, JOINT] = board.joint_at
    table[:, ROOM] = table[:, CAPACITY] = board.capacity
    table[:, FIXED] = board.joint_at != FREE
    for _, a, b in chain:
        table[a, ROOM] -= 1
        table[b, ROOM] -= 1
    for node in (node for of_joint in groups for group in of_joint for node in group):
        table[node, BUNDLED] = 1
    starts = _starts([len(n) for n in board.neighbors])
    table[:, NEAR_FROM], table[:, NEAR_TO] = starts[:-1], starts[1:]
    table[:, BEFORE] = table[:, AFTER] = table[:, GOES_TO] = NONE
    for one, two in board.beside:
        table[one, AFTER], table[two, BEFORE] = two, one
    return table


def _near(board: Board) -> list[tuple[int, int, int]]:
    kinds = {name: index for index, name in enumerate(board.needed_mm, start=COUPLES + 1)}
    return [
        (other, kinds[group], round(gap * GAP_PER_MM))
        for of_terminal in board.neighbors
        for other, gap, group in of_terminal
    ]


def _barred(board: Board) -> Whole:
    found = np.zeros((len(board.joints), len(board.terminals)), dtype=np.int64)
    for joint, terminal in sorted(board.barred):
        found[joint, terminal] = 1
    return found


def _given(board: Board) -> list[tuple[int, int]]:
    """Return the neighboring lugs that both carry what the build file says."""
    return [(a, b) for a, b in board.beside if board.joint_at[a] >= 0 and board.joint_at[b] >= 0]


def _parts_at(board: Board) -> list[list[int]]:
    found: list[list[int]] = [[] for _ in board.joints]
    for index, part in enumerate(board.parts):
        for joint in sorted(set(part.joints)):
            found[joint].append(index)
    return found


def _joint(
    weight: Whole,
    nodes: Sequence[Sequence[tuple[int, int, int]]],
    groups: Sequence[Sequence[Group]],
    parts_at: Sequence[Sequence[int]],
    first: int,
) -> Whole:
    table = np.zeros((len(weight), 14), dtype=np.int64)
    table[:, WEIGHT] = weight
    node_starts = first + _starts([len(n) for n in nodes])
    part_starts = node_starts[-1] + _starts([len(p) for p in parts_at])
    table[:, NODE_FROM], table[:, NODE_TO] = node_starts[:-1], node_starts[1:]
    table[:, PARTS_FROM], table[:, PARTS_TO] = part_starts[:-1], part_starts[1:]
    table[:, GROUPS] = [len(g) for g in groups]
    table[:, HEAVY] = [len(p) > COMMON_JOINT for p in parts_at]
    return table


def _wire_from(apart: Whole, weight: Whole, nodes: Sequence[Sequence[tuple[int, int, int]]]) -> Whole:
    found = np.full((len(nodes), len(apart)), FAR, dtype=np.int64)
    for joint, lines in enumerate(nodes):
        core = [line[TERMINAL] for line in lines if line[CORE]]
        if core:
            found[joint] = apart[core].min(axis=0) * weight[joint]
    return found


def _nodes(board: Board, joint: int, groups: list[Group]) -> list[tuple[int, int, int]]:
    """Return (terminal, group or NONE, 1 when it must be joined) of the fixed terminals of a joint, groups first."""
    core = _fixed_nodes(board, joint)
    group_of = {node: index for index, group in enumerate(groups) for node in group}
    lines = [(node, group, int(node in core)) for node, group in sorted(group_of.items(), key=lambda i: (i[1], i[0]))]
    lines += [(node, NONE, 1) for node in core if node not in group_of]
    return sorted(lines, key=lambda line: line[GROUP] == NONE)


def _fixed_nodes(board: Board, joint: int) -> list[int]:
    """Return the fixed terminals of a joint that must be joined; a bus or the metal counts as one piece."""
    mine = [int(i) for i in np.nonzero(board.joint_at == joint)[0]]
    must = [i for i in mine if board.terminals[i].kind not in ("bolt", "foot")]
    others = [i for i in mine if board.terminals[i].kind == "bolt" and board.terminals[i].key != "chassis.1"]
    return must + (others if must else [])


def _groups(board: Board, chain: Chain, joint: int) -> list[Group]:
    """Return the terminals of a joint that are joined already, by metal or by chain wires."""
    links = [(bundle[0], other) for bundle in board.bundles for other in bundle[1:]]
    links = [link for link in links if board.joint_at[link[0]] == joint]
    links += [(a, b) for j, a, b in chain if j == joint]
    groups: list[set[int]] = []
    for a, b in links:
        touching = [group for group in groups if a in group or b in group]
        merged = {a, b}.union(*touching)
        groups = [group for group in groups if group not in touching] + [merged]
    return [tuple(sorted(group)) for group in groups]
