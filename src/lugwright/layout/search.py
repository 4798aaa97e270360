"""The plan being worked on: seats, lugs in use, wires; put in, take out, price. A face to the tables of the search."""

from __future__ import annotations

from collections.abc import Iterable
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from lugwright.layout.board import Board
from lugwright.layout.bodies import Lying, in_the_way
from lugwright.layout.kernel import tables
from lugwright.layout.kernel.flatten import flatten

TERMS = {
    "wires": tables.WIRES,
    "seats": tables.SEATS,
    "layers": tables.LAYERS,
    "neighbors": tables.COUPLING,
    "heat": tables.HEAT,
    "lugs": tables.LUGS,
    "busy": tables.BUSY,
    "unplaced": tables.UNSEATED,
    "broken joints": tables.BROKEN,
}


INSULATION_SLACK_MM = 1e-6


class Seat(NamedTuple):
    """Row in the part's seats, and the layer it lies on."""

    row: int
    layer: int
    lying: Lying


class Tree(NamedTuple):
    """The wires of a joint as terminal pairs, and how many pieces the joint is left in beyond one."""

    edges: tuple[tuple[int, int], ...]
    missing: int


class Bench:
    """A plan under work. ``chain`` are wires already decided: (joint, terminal, terminal)."""

    def __init__(self, board: Board, chain: Iterable[tuple[int, int, int]]) -> None:
        from lugwright.layout.kernel import entries  # brings the compiler along: only when a plan is worked on

        self._doors = entries
        self.board = board
        self.chain = tuple(chain)
        self.tables = flatten(board, self.chain)
        self._broken_price = int(self.tables.notes[tables.PRICES, tables.P_BROKEN])
        self._seen: list[Seat | None] = [None] * len(board.parts)

    # -- what stands ---------------------------------------------------------------------------
    @property
    def joint_at(self) -> NDArray[np.int64]:
        """Return the joint of each terminal, FREE or BARRED."""
        return self.tables.terminal[:, tables.JOINT]

    @property
    def room(self) -> NDArray[np.int64]:
        """Return how many leads of parts each terminal could still take, its wires not counted."""
        return self.tables.terminal[:, tables.ROOM]

    @property
    def load(self) -> NDArray[np.int64]:
        """Return how many leads of parts each terminal holds."""
        return self.tables.terminal[:, tables.LOAD]

    @property
    def seats(self) -> list[Seat | None]:
        """Return the seat of each part, None for one left over."""
        columns = [tables.START, tables.ROW, tables.LAYER]
        for part, (start, row, layer) in enumerate(self.tables.part[:, columns].tolist()):
            if row == tables.NONE:
                self._seen[part] = None
                continue
            known = self._seen[part]
            if known is None or known.row != row - start or known.layer != layer:
                self._seen[part] = Seat(row - start, layer, self.lay(part, row - start))
        return list(self._seen)

    def _start(self, part: int) -> int:
        return int(self.tables.part[part, tables.START])

    def lay(self, part: int, row: int) -> Lying:
        """Return how a part lies on a row of its seats."""
        seats = self.board.seats[part]
        ends = (int(seats.first[row]), int(seats.second[row]))
        full, body = tuple(seats.full[row].tolist()), tuple(seats.body[row].tolist())
        return Lying(full, body, self.board.parts[part].diameter_mm / 2.0, ends)

    @property
    def trees(self) -> list[Tree]:
        """Return the wires of each joint."""
        found = []
        for edges, missing in zip(self.tables.edges, self.tables.joint[:, tables.MISSING].tolist(), strict=False):
            ends = edges[1 : 1 + 2 * int(edges[0])].tolist()
            pairs = tuple(zip(ends[::2], ends[1::2], strict=True))
            found.append(Tree(pairs, missing))
        return found

    @property
    def lugs(self) -> list[list[int]]:
        """Return the lugs in use by each joint."""
        return [line[1 : 1 + line[0]] for line in self.tables.lugs[: len(self.board.joints)].tolist()]

    @property
    def ties(self) -> list[list[int]]:
        """Return the lugs that each joint has for its wires alone."""
        tied = self.tables.terminal[:, tables.TIE]
        return [[lug for lug in lugs if tied[lug]] for lugs in self.lugs]

    def unplaced(self) -> list[int]:
        """Return the parts without a seat."""
        return [int(part) for part in np.nonzero(self.tables.part[:, tables.ROW] == tables.NONE)[0]]

    def broken(self) -> list[int]:
        """Return the joints that are left in pieces."""
        return [int(joint) for joint in np.nonzero(self.tables.joint[:, tables.MISSING])[0]]

    def overlapped(self, part: int, row: int, lying: Lying) -> list[tuple[int, Seat]]:
        """Return the seated parts that could not lie on the same layer."""
        found = []
        for other, seat in enumerate(self.seats):
            body = seat is not None and other != part and not self.board.parts[other].is_bond
            if seat is not None and body and in_the_way(lying, seat.lying):
                found.append((other, seat))
        return found

    # -- what may be ---------------------------------------------------------------------------
    def may_carry(self, terminal: int, joint: int, also: tuple[int, int] | None = None) -> bool:
        """Return whether the builder and insulation let a terminal carry a joint.

        ``also`` is (terminal, joint) set with it.
        """
        other, theirs = also or (tables.NONE, tables.NONE)
        return bool(self._doors.may_carry(self.tables, terminal, joint, other, theirs))

    def free_layer(self, part: int, row: int) -> int:
        """Return the lowest layer with room on a row of a part's seats, 0 when there is none."""
        return int(self._doors.free_layer(self.tables, part, self._start(part) + row))

    def seat_allowed(self, part: int, row: int) -> bool:
        """Return whether room, joints and insulation let a part sit on a row (layers not looked at)."""
        return bool(self._doors.allowed(self.tables, part, self._start(part) + row))

    def seat_between(self, part: int, keys: tuple[str, str], layer: int) -> Seat | None:
        """Return the seat between two terminals named by key, None when it does not fit any more."""
        terminals, seats = self.board.terminals, self.board.seats[part]
        for row in range(len(seats.first)):
            ends = (int(seats.first[row]), int(seats.second[row]))
            if (terminals[ends[0]].key, terminals[ends[1]].key) == keys:
                low = self.free_layer(part, row)
                fits = low and self.seat_allowed(part, row)
                return Seat(row, max(low, layer), self.lay(part, row)) if fits else None
        return None

    # -- changes -------------------------------------------------------------------------------
    def put(self, part: int, seat: Seat) -> None:
        """Seat a part; the caller has checked that it may."""
        self._doors.put(self.tables, part, self._start(part) + seat.row, seat.layer)

    def put_best(self, part: int) -> bool:
        """Put a part on the cheapest seat it can take now; return whether there is one."""
        return bool(self._doors.put_best(self.tables, part))

    def take(self, part: int) -> None:
        """Unseat a part."""
        if self.tables.part[part, tables.ROW] != tables.NONE:
            self._doors.take(self.tables, part)

    def add_tie(self, joint: int, lug: int) -> None:
        """Give a free lug to a joint for its wires alone."""
        self._doors.add_tie(self.tables, lug, joint)

    def drop_ties(self, joint: int) -> None:
        """Take the tie lugs of a joint away."""
        self._doors.drop_ties(self.tables, joint)

    def rewire(self, joint: int) -> None:
        """Make the wires of a joint anew, with tie lugs where it cannot be joined without."""
        self._doors.rewire(self.tables, joint)

    def set_tree(self, joint: int, tree: Tree) -> None:
        """Give a joint these very wires."""
        b, line = self.tables, self.tables.joint[joint]
        now, ends = b.notes[tables.NOW], [end for edge in tree.edges for end in edge]
        now[tables.WIRES] -= line[tables.PRICE]
        now[tables.BROKEN] += (tree.missing - line[tables.MISSING]) * b.notes[tables.PRICES, tables.P_BROKEN]
        now[tables.BUSY] -= line[tables.CROWDED]
        b.edges[joint, 0] = len(tree.edges)
        b.edges[joint, 1 : 1 + len(ends)] = ends
        line[tables.PRICE] = sum(b.apart[edge] for edge in tree.edges) * line[tables.WEIGHT]
        line[tables.MISSING] = tree.missing
        line[tables.CROWDED] = self._doors.crowded(b, joint)
        now[tables.WIRES] += line[tables.PRICE]
        now[tables.BUSY] += line[tables.CROWDED]

    def clear(self) -> None:
        """Take every part out, and every lug for wires alone."""
        self.lay_out(np.full((len(self.board.parts) + len(self.board.terminals), 2), tables.NONE, dtype=np.int64))

    def lay_out(self, kept: NDArray[np.int64]) -> None:
        """Make the plan one that a search has ended on."""
        self._doors.lay_out(self.tables, kept)

    def kept(self) -> NDArray[np.int64]:
        """Return a copy of the plan, for `lay_out`: row and layer of each part, then the joint of each tie lug."""
        b, parts = self.tables, len(self.board.parts)
        copy = np.full((parts + len(self.board.terminals), 2), tables.NONE, dtype=np.int64)
        copy[:parts] = b.part[:, [tables.ROW, tables.LAYER]]
        copy[parts:, 0] = np.where(b.terminal[:, tables.TIE], b.terminal[:, tables.JOINT], tables.NONE)
        return copy

    # -- price ---------------------------------------------------------------------------------
    def price_left_over(self, factor: int) -> int:
        """Let whatever is left over count so many times the usual; return the price of a part."""
        b, now = self.tables, self.tables.notes[tables.NOW]
        part, piece = tables.LEFT_OVER_PRICE * factor, self._broken_price * factor
        b.part[:, tables.LEFT_OVER], b.notes[tables.PRICES, tables.P_BROKEN] = part, piece
        now[tables.UNSEATED] = part * len(self.unplaced())
        now[tables.BROKEN] = piece * int(b.joint[: len(self.board.joints), tables.MISSING].sum())
        return part

    def cost_terms(self) -> dict[str, float]:
        """Return the terms of the objective, weighted."""
        return {name: int(self.tables.notes[tables.NOW, index]) / tables.PER_MM for name, index in TERMS.items()}

    def cost(self) -> float:
        """Return the whole objective."""
        return int(self.tables.notes[tables.NOW, : tables.TERMS].sum()) / tables.PER_MM
