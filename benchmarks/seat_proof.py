"""Whether all parts of a build can have seats at all, asked of OR-Tools' CP-SAT in a model that forbids less.

Left out are bodies and the ways of wires. Kept are: one seat for each part, one joint to a lug, the distances that
volts need between lugs, the leads a terminal takes, and that a joint on n terminals needs 2 (n - 1) ends of wire, one
at least on each. Whatever the planner could plan satisfies this; what does not satisfy it cannot be planned.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray
from ortools.sat.python import cp_model

from lugwright.layout.board import FREE
from lugwright.layout.kernel import tables as t
from lugwright.layout.search import Bench

Gaps = dict[str, NDArray[np.int64]]


def proven_impossible(bench: Bench, seconds: float) -> bool:
    """Return whether CP-SAT proves that the parts cannot all be seated; a plan or no answer in time is no proof."""
    solver = cp_model.CpSolver()
    solver.parameters.max_time_in_seconds = seconds
    solver.parameters.num_workers = 1
    solver.parameters.linearization_level = 2
    return solver.solve(Seating(bench).model) == cp_model.INFEASIBLE


class Seating:
    """The model: ``carries[lug, joint]`` and ``sits[part, row]`` are its choices."""

    def __init__(self, bench: Bench) -> None:
        self.bench, self.board, self.model = bench, bench.board, cp_model.CpModel()
        self.need = {k: np.ceil(np.array(v) * t.GAP_PER_MM - 1e-3) for k, v in self.board.needed_mm.items()}
        self.free = [int(k) for k in np.flatnonzero(self.board.joint_at == FREE)]
        self.room = bench.tables.terminal[:, t.ROOM].tolist()
        self.ends: dict[tuple[int, int], list[cp_model.IntVar]] = {}  # leads of a joint on a terminal
        may = self._may()
        joints = range(len(self.board.joints))
        self.carries = {(k, j): self.model.new_bool_var("") for k in self.free for j in joints if may[k, j]}
        self.sits: dict[tuple[int, int], cp_model.IntVar] = {}
        for lug in self.free:
            self.model.add_at_most_one(v for (k, _), v in self.carries.items() if k == lug)
            self._keep_apart(lug)
        for part in range(len(self.board.parts)):
            self._seat(part)
        self._fill_terminals()
        for joint in joints:
            self._join(joint)

    def _may(self) -> NDArray[np.bool_]:
        """Return which free lug may carry which joint beside what is fixed."""
        board = self.board
        may = np.zeros((len(board.terminals), len(board.joints)), dtype=bool)
        for lug in self.free:
            may[lug] = True
            for other, gap, group in board.neighbors[lug]:
                if board.joint_at[other] >= 0:
                    may[lug] &= self.need[group][:, board.joint_at[other]] <= round(gap * t.GAP_PER_MM)
        for joint, terminal in board.barred:
            may[terminal, joint] = False
        return may

    def _keep_apart(self, lug: int) -> None:
        """Forbid two joints on lugs that are too near each other for their volts, many pairs at a time."""
        mine = {j: v for (k, j), v in self.carries.items() if k == lug}
        for other, gap, group in self.board.neighbors[lug]:
            if other < lug or self.board.joint_at[other] != FREE:
                continue
            theirs = {j: v for (k, j), v in self.carries.items() if k == other}
            far = round(gap * t.GAP_PER_MM)
            against = {i: frozenset(j for j in theirs if self.need[group][i, j] > far) for i in mine}
            for these in sorted({s for s in against.values() if s}, key=sorted):
                ones = [v for i, v in mine.items() if against[i] >= these]
                self.model.add(sum(ones) + sum(theirs[j] for j in these) <= 1)

    def _seat(self, part: int) -> None:
        """Give a part one of its seats; its ends count where they land."""
        joints, seats = self.board.parts[part].joints, self.board.seats[part]
        at: tuple[dict[int, list[cp_model.IntVar]], ...] = ({}, {})
        rows = list(zip(seats.first.tolist(), seats.second.tolist(), strict=True))
        for row, ends in enumerate(rows):
            both = zip(ends, joints, strict=True)
            if any(self.board.joint_at[k] == FREE and (k, j) not in self.carries for k, j in both):
                continue
            self.sits[part, row] = self.model.new_bool_var("")
            for side in (0, 1):
                at[side].setdefault(ends[side], []).append(self.sits[part, row])
        self.model.add_exactly_one(self.sits[part, row] for row in range(len(rows)) if (part, row) in self.sits)
        for side, joint in enumerate(joints):
            for terminal, choices in at[side].items():
                here = self.model.new_bool_var("")
                self.model.add(sum(choices) == here)
                self.ends.setdefault((terminal, joint), []).append(here)
                if self.board.joint_at[terminal] == FREE:
                    self.model.add_implication(here, self.carries[terminal, joint])

    def _fill_terminals(self) -> None:
        """Let no terminal take more leads than it has room for."""
        all_ends: dict[int, list[cp_model.IntVar]] = {}
        for (terminal, _), ends in self.ends.items():
            all_ends.setdefault(terminal, []).extend(ends)
        for terminal, ends in all_ends.items():
            self.model.add(sum(ends) <= self.room[terminal])

    def _join(self, joint: int) -> None:
        """Leave room for the wires of a joint: two ends for each, one at least on each piece of it."""
        line, item = self.bench.tables.joint[joint], self.bench.tables.item
        nodes = item[line[t.NODE_FROM] : line[t.NODE_TO]].tolist()
        lugs = [k for k in self.free if (k, joint) in self.carries]
        core = sum(node[t.CORE] for node in nodes)
        count = core + sum(self.carries[k, joint] for k in lugs)
        wired = self.model.new_bool_var("")
        self.model.add(count <= 1).only_enforce_if(~wired)
        left, groups = [], {}
        for lug in lugs:
            ends = sum(self.ends.get((lug, joint), []))
            self.model.add(ends + 1 <= self.room[lug]).only_enforce_if([wired, self.carries[lug, joint]])
            left.append(self.room[lug] * self.carries[lug, joint] - ends)
        for terminal, group, _ in nodes:
            rest = self.room[terminal] - sum(self.ends.get((terminal, joint), []))
            left.append(rest)
            groups.setdefault(group if group != t.NONE else -2 - terminal, []).append(rest)
        for rests in groups.values():
            self.model.add(sum(rests) >= 1).only_enforce_if(wired)
        pieces = len(groups) + sum(self.carries[k, joint] for k in lugs)
        self.model.add(sum(left) >= 2 * (pieces - 1)).only_enforce_if(wired)
