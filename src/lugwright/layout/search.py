"""The state of a plan being searched: seats, lugs in use, tie lugs, trees; put in, take out, price."""

from __future__ import annotations

import random
from collections.abc import Iterable
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from lugwright.layout.board import FREE, MAX_LAYERS, Board
from lugwright.layout.bodies import Lying, in_the_way, line_distance_mm
from lugwright.layout.objective import (
    BROKEN_LIMIT,
    HOT_AIR_MM,
    HOT_NEAR_COLD,
    LEAD_AIR_MM,
    NEW_LUG,
    TIE_LUG,
    UNPLACED,
    layer_cost,
)
from lugwright.layout.trees import Tree, wire_tree

BEST_TRIED = 24  # seats looked at closely, cheapest first
MOST_TIES = 2
INSULATION_SLACK_MM = 1e-6
_EMPTY = Tree((), 0.0, 0)


class Seat(NamedTuple):
    """Row in the part's seats, and the layer it lies on."""

    row: int
    layer: int
    lying: Lying


class Bench:
    """A plan under work. ``chain`` are wires already decided: (joint, terminal, terminal)."""

    def __init__(self, board: Board, chain: Iterable[tuple[int, int, int]]) -> None:
        self.board = board
        self.chain = tuple(chain)
        self.joint_at = board.joint_at.copy()
        self.room = board.capacity.copy()
        for _, a, b in self.chain:
            self.room[a] -= 1
            self.room[b] -= 1
        self.seats: list[Seat | None] = [None] * len(board.parts)
        self.load = [0] * len(board.terminals)
        self.lugs: list[set[int]] = [set() for _ in board.joints]
        self.ties: list[list[int]] = [[] for _ in board.joints]
        self.trees: list[Tree] = [_EMPTY] * len(board.joints)
        self.fixed = [_fixed_nodes(board, joint) for joint in range(len(board.joints))]
        self.groups = [_groups(board, self.chain, joint) for joint in range(len(board.joints))]
        self.bundled = {node for groups in self.groups for group in groups for node in group}
        self._weight: list[float] = board.weight.tolist()
        self._penalty: list[list[float]] = board.penalty.tolist()
        self._seat_cost: list[list[float]] = [seats.cost.tolist() for seats in board.seats]
        self._distance: list[list[float]] = board.distance.tolist()
        self._clash: dict[tuple[int, int, int, int], bool] = {}  # answers already found
        self._warm: dict[tuple[int, int, int, int], bool] = {}
        self._hot = [index for index, part in enumerate(board.parts) if part.is_hot]
        self._cold = [index for index, part in enumerate(board.parts) if part.fears_heat]
        self._boxes = np.full((len(board.parts), 4), np.nan)  # least x, least y, largest x, largest y
        self._near: dict[int, tuple[NDArray[np.float64], NDArray[np.int64]]] = {}

    # -- lugs ---------------------------------------------------------------------------------
    def _claim(self, terminal: int, joint: int) -> None:
        if self.joint_at[terminal] == FREE:
            self.joint_at[terminal] = joint
            self.lugs[joint].add(terminal)

    def _release(self, terminal: int) -> None:
        joint = int(self.joint_at[terminal])
        if self.board.joint_at[terminal] == FREE and not self.load[terminal] and terminal not in self.ties[joint]:
            self.joint_at[terminal] = FREE
            self.lugs[joint].discard(terminal)

    def may_carry(self, terminal: int, joint: int, also: tuple[int, int] | None = None) -> bool:
        """Return whether insulation lets a terminal carry a joint, ``also`` being (terminal, joint) set with it.

        A strip the builder keeps the joint off is refused as well.
        """
        if (joint, terminal) in self.board.barred:
            return False
        needed = self.board.needed_mm
        for other, gap, group in self.board.neighbors[terminal]:
            theirs = also[1] if also is not None and other == also[0] else int(self.joint_at[other])
            if theirs >= 0 and needed[group][joint, theirs] > gap + INSULATION_SLACK_MM:
                return False
        return True

    # -- seats --------------------------------------------------------------------------------
    def lay(self, part: int, row: int) -> Lying:
        """Return how a part lies on a row of its seats."""
        seats = self.board.seats[part]
        full, body = seats.full[row].tolist(), seats.body[row].tolist()
        ends = (int(seats.first[row]), int(seats.second[row]))
        return Lying(tuple(full), tuple(body), self.board.parts[part].diameter_mm / 2.0, ends)

    def free_layer(self, part: int, row: int, lying: Lying) -> int:
        """Return the lowest layer with room, 0 when there is none."""
        if self.board.parts[part].is_bond:
            return 1
        taken = {seat.layer for _, seat in self.overlapped(part, row, lying)}
        least = int(self.board.seats[part].min_layer[row])
        return next((layer for layer in range(least, MAX_LAYERS + 1) if layer not in taken), 0)

    def overlapped(self, part: int, row: int, lying: Lying) -> list[tuple[int, Seat]]:
        """Return the seated parts that could not lie on the same layer."""
        x0, y0, x1, y1 = _box(lying)
        boxes = self._boxes
        near = (boxes[:, 0] <= x1) & (boxes[:, 2] >= x0) & (boxes[:, 1] <= y1) & (boxes[:, 3] >= y0)
        found = []
        for other in np.flatnonzero(near).tolist():
            seat = self.seats[other]
            if seat is not None and self._in_the_way(part, row, lying, other, seat):
                found.append((other, seat))
        return found

    def _in_the_way(self, part: int, row: int, lying: Lying, other: int, seat: Seat) -> bool:
        key = (part, row, other, seat.row) if part < other else (other, seat.row, part, row)
        known = self._clash.get(key)
        if known is None:
            known = self._clash[key] = in_the_way(lying, seat.lying)
        return known

    def put(self, part: int, seat: Seat) -> None:
        """Seat a part; the caller has checked that it may."""
        for end, joint in zip(seat.lying.ends, self.board.parts[part].joints, strict=True):
            self._claim(end, joint)
            self.load[end] += 1
            self.room[end] -= 1
            self._near.pop(joint, None)
        self.seats[part] = seat
        if not self.board.parts[part].is_bond:
            self._boxes[part] = _box(seat.lying)

    def take(self, part: int) -> None:
        """Unseat a part."""
        seat = self.seats[part]
        if seat is None:
            return
        for end, joint in zip(seat.lying.ends, self.board.parts[part].joints, strict=True):
            self.load[end] -= 1
            self.room[end] += 1
            self._release(end)
            self._near.pop(joint, None)
        self.seats[part] = None
        self._boxes[part] = np.nan

    def seat_allowed(self, part: int, row: int) -> bool:
        """Return whether room, joints and insulation let a part sit on a row (layers not looked at)."""
        seats, joints = self.board.seats[part], self.board.parts[part].joints
        ends = (int(seats.first[row]), int(seats.second[row]))
        if any(int(self.joint_at[end]) not in (joint, FREE) for end, joint in zip(ends, joints, strict=True)):
            return False
        return self._insulated(ends, joints) and all(self.room[end] >= 1 for end in ends)

    def seat_between(self, part: int, keys: tuple[str, str], layer: int) -> Seat | None:
        """Return the seat between two terminals named by key, None when it does not fit any more."""
        terminals, seats = self.board.terminals, self.board.seats[part]
        for row in range(len(seats.first)):
            ends = (int(seats.first[row]), int(seats.second[row]))
            if (terminals[ends[0]].key, terminals[ends[1]].key) != keys:
                continue
            lying = self.lay(part, row)
            low = self.free_layer(part, row, lying)
            return Seat(row, max(low, layer), lying) if low and self.seat_allowed(part, row) else None
        return None

    def _insulated(self, ends: tuple[int, int], joints: tuple[int, int]) -> bool:
        new = [int(self.joint_at[end]) == FREE for end in ends]
        if new[0] and not self.may_carry(ends[0], joints[0], (ends[1], joints[1])):
            return False
        return not new[1] or self.may_carry(ends[1], joints[1], (ends[0], joints[0]))

    def best_seat(self, part: int, rng: random.Random | None = None, blink: float = 0.0) -> Seat | None:
        """Return the cheapest seat a part can take now, None when there is none."""
        seats, (a, b) = self.board.seats[part], self.board.parts[part].joints
        if not len(seats.first):
            return None
        (near_a, open_a), (near_b, open_b) = self._nearness(a), self._nearness(b)
        rows = np.nonzero(open_a[seats.first] & open_b[seats.second])[0]
        if not len(rows):
            return None
        cost = seats.cost[rows] + near_a[seats.first[rows]] + near_b[seats.second[rows]]
        best: Seat | None = None
        best_cost = float("inf")
        tried = 0
        for index in np.argsort(cost, kind="stable"):
            row, price = int(rows[index]), float(cost[index])
            if price >= best_cost or (tried >= BEST_TRIED and best is not None):
                break
            tried += 1
            if rng is not None and rng.random() < blink:
                continue
            lying = self.lay(part, row)
            if not self._insulated(lying.ends, (a, b)):
                continue
            layer = self.free_layer(part, row, lying)
            extra = layer_cost(layer) + self._beside_cost(lying.ends, (a, b)) + self._heat_cost(part, row, lying)
            if layer and price + extra < best_cost:
                best, best_cost = Seat(row, layer, lying), price + extra
        return best

    def _heat_cost(self, part: int, row: int, lying: Lying) -> float:
        """Return the cost of power resistors close to electrolytics."""
        me = self.board.parts[part]
        others = self._cold if me.is_hot else self._hot if me.fears_heat else []
        close = 0
        for other in others:
            seat = self.seats[other]
            if seat is not None and self._too_warm(part, row, lying, other, seat):
                close += 1
        return HOT_NEAR_COLD * close

    def _too_warm(self, part: int, row: int, lying: Lying, other: int, seat: Seat) -> bool:
        key = (part, row, other, seat.row) if part < other else (other, seat.row, part, row)
        known = self._warm.get(key)
        if known is None:
            reach = lying.radius_mm + seat.lying.radius_mm + HOT_AIR_MM
            known = self._warm[key] = line_distance_mm(lying.body, seat.lying.body) < reach
        return known

    def _beside_cost(self, ends: tuple[int, int], joints: tuple[int, int]) -> float:
        cost = 0.0
        for end, joint in zip(ends, joints, strict=True):
            if self.joint_at[end] == FREE:
                for other in self.board.next_lugs[end]:
                    theirs = int(self.joint_at[other])
                    cost += self._penalty[joint][theirs] if theirs >= 0 else 0.0
        return cost

    def _nearness(self, joint: int) -> tuple[NDArray[np.float64], NDArray[np.bool_]]:
        """Return for every terminal the wire a lead of a joint there costs, and whether it has room for it."""
        known = self._near.get(joint)
        if known is None:
            known = self._near[joint] = self._reach(joint)
        wire, needs_wire = known
        free = self.joint_at == FREE
        open_now = ((self.joint_at == joint) | free) & (self.room - needs_wire >= 1)
        return wire + NEW_LUG * free, open_now

    def _reach(self, joint: int) -> tuple[NDArray[np.float64], NDArray[np.int64]]:
        """Return the wire from every terminal to the joint, and 1 where it would be needed. Own lugs count only."""
        board = self.board
        used = [*self.fixed[joint], *sorted(self.lugs[joint])]
        if not used:
            return np.zeros(len(board.terminals)), np.zeros(len(board.terminals), dtype=np.int64)
        needs_wire = np.ones(len(board.terminals), dtype=np.int64)
        if len(used) == 1:
            needs_wire[used[0]] = 0
        for group in self.groups[joint]:
            needs_wire[list(group)] = 0
        return board.distance[used].min(axis=0) * board.weight[joint], needs_wire

    # -- wires --------------------------------------------------------------------------------
    def rewire(self, joint: int) -> None:
        """Make the tree of a joint anew, with tie lugs where it cannot be joined without."""
        self.trees[joint] = self._tree(joint)
        while self.trees[joint].missing and len(self.ties[joint]) < MOST_TIES and self._add_tie(joint):
            self.trees[joint] = self._tree(joint)

    def _tree(self, joint: int) -> Tree:
        nodes = [*self.fixed[joint], *sorted(self.lugs[joint])]
        if len(nodes) < 2:
            return _EMPTY
        return wire_tree(nodes, self.groups[joint], self.room.tolist(), self._distance)

    def _add_tie(self, joint: int) -> bool:
        free = np.nonzero((self.joint_at == FREE) & (self.room >= 2))[0]
        nodes = [*self.fixed[joint], *sorted(self.lugs[joint])]
        distance = self.board.distance[free][:, nodes].sum(axis=1)
        for index in np.argsort(distance, kind="stable"):
            lug = int(free[index])
            if self.may_carry(lug, joint):
                self.add_tie(joint, lug)
                return True
        return False

    def add_tie(self, joint: int, lug: int) -> None:
        """Give a free lug to a joint for its wires alone."""
        self._claim(lug, joint)
        self.ties[joint].append(lug)
        self._near.pop(joint, None)

    def drop_ties(self, joint: int) -> None:
        """Take the tie lugs of a joint away."""
        for lug in self.ties[joint]:
            self.ties[joint] = [other for other in self.ties[joint] if other != lug]
            self._release(lug)
        self._near.pop(joint, None)

    # -- price --------------------------------------------------------------------------------
    def cost_terms(self) -> dict[str, float]:
        """Return the terms of the objective, weighted."""
        board = self.board
        seated = [(part, seat) for part, seat in enumerate(self.seats) if seat is not None]
        wire = sum(tree.length_mm * self._weight[joint] for joint, tree in enumerate(self.trees))
        beside = 0.0
        joint_at = self.joint_at.tolist()
        for a, b in board.beside:
            if joint_at[a] >= 0 and joint_at[b] >= 0:
                beside += self._penalty[joint_at[a]][joint_at[b]]
        return {
            "wires": wire,
            "seats": sum(self._seat_cost[part][seat.row] for part, seat in seated),
            "layers": sum(layer_cost(seat.layer) for _, seat in seated),
            "neighbors": beside,
            "heat": sum(self._heat_cost(p, seat.row, seat.lying) for p, seat in seated if board.parts[p].is_hot),
            "lugs": NEW_LUG * sum(len(lugs) for lugs in self.lugs) + TIE_LUG * sum(len(t) for t in self.ties),
            "unplaced": UNPLACED * (len(self.seats) - len(seated)),
            "broken joints": BROKEN_LIMIT * sum(tree.missing for tree in self.trees),
        }

    def cost(self) -> float:
        """Return the whole objective."""
        return sum(self.cost_terms().values())

    def unplaced(self) -> list[int]:
        """Return the parts without a seat."""
        return [part for part, seat in enumerate(self.seats) if seat is None]

    def broken(self) -> list[int]:
        """Return the joints that are left in pieces."""
        return [joint for joint, tree in enumerate(self.trees) if tree.missing]


def _box(lying: Lying) -> tuple[float, float, float, float]:
    x0, y0, x1, y1 = lying.full
    margin = lying.radius_mm + LEAD_AIR_MM
    return min(x0, x1) - margin, min(y0, y1) - margin, max(x0, x1) + margin, max(y0, y1) + margin


def _fixed_nodes(board: Board, joint: int) -> list[int]:
    """Return the fixed terminals of a joint that must be joined; a bus or the metal counts as one piece."""
    mine = [i for i in range(len(board.terminals)) if board.joint_at[i] == joint]
    must = [i for i in mine if board.terminals[i].kind not in ("bolt", "foot")]
    others = [i for i in mine if board.terminals[i].kind == "bolt" and board.terminals[i].key != "chassis.1"]
    return must + (others if must else [])


def _groups(board: Board, chain: Iterable[tuple[int, int, int]], joint: int) -> list[tuple[int, ...]]:
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
