"""A finished plan on the planner's own bench, so that something in it can be tried elsewhere and priced."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace

import numpy as np

from lugwright.buildfile.build import Build, Wishes
from lugwright.layout.board import FREE, MAX_LAYERS, make_board
from lugwright.layout.charging_loop import charging_wires
from lugwright.layout.chassis import fixed_terminals
from lugwright.layout.hardware import Hardware
from lugwright.layout.heater_chain import heater_chains
from lugwright.layout.joint_classes import joint_facts
from lugwright.layout.objective import MAX_LEAD_MM, MIN_LEAD_MM
from lugwright.layout.results import Plan
from lugwright.layout.search import INSULATION_SLACK_MM, Bench, Seat
from lugwright.layout.why_words import listed

Terms = dict[str, float]


class Standing:
    """A finished plan, put up again as it is, without the builder's pins. What is tried on it is taken back."""

    def __init__(self, build: Build, plan: Plan, joint_volts: Mapping[str, float], hardware: Hardware) -> None:
        self.build, self.plan = build, plan
        free = replace(build, wishes=Wishes(weights=build.wishes.weights))
        terminals = fixed_terminals(free, hardware)
        self.board = make_board(free, hardware, terminals, joint_facts(build, joint_volts))
        self.place = {t.key: index for index, t in enumerate(self.board.terminals)}
        self.joint = {name: index for index, name in enumerate(self.board.joints)}
        self.part = {part.name: index for index, part in enumerate(self.board.parts)}
        chain = [*heater_chains(free, terminals), *charging_wires(free, terminals)]
        decided = [(self.joint[w.joint], self.place[w.terminals[0]], self.place[w.terminals[1]]) for w in chain]
        self.bench = Bench(self.board, decided)
        self._put_up()
        self.terms: Terms = self.bench.cost_terms()  # what the plan costs as it stands

    def _put_up(self) -> None:
        used = {key for seat in self.plan.seats for key in seat.terminals}
        for t in self.plan.terminals.values():
            if t.joint and t.key not in used and self.board.joint_at[self.place[t.key]] == FREE:
                self.bench.add_tie(self.joint[t.joint], self.place[t.key])
        ends = {seat.part: (seat.terminals, seat.layer) for seat in self.plan.seats}
        ends |= {wire.bond: (wire.terminals, 1) for wire in self.plan.wires if wire.bond}
        for name, (keys, layer) in sorted(ends.items(), key=lambda item: item[1][1]):
            seat = self.bench.seat_between(self.part[name], keys, layer)
            if seat is not None:
                self.bench.put(self.part[name], seat)
        for joint in range(len(self.board.joints)):
            self.bench.rewire(joint)

    def label(self, terminal: int) -> str:
        """Return a terminal as it is printed."""
        return self.board.terminals[terminal].label

    def carried(self, terminal: int) -> str:
        """Return the joint a terminal carries now, "" for none."""
        joint = int(self.bench.joint_at[terminal])
        return self.board.joints[joint] if joint >= 0 else ""

    def changed(
        self, seats: Mapping[int, int | None], ties: Mapping[int, tuple[int, int]] | None = None
    ) -> Terms | str:
        """Return by how much each term changes with parts on other rows of their seats, or why that cannot be.

        ``ties`` moves lugs that carry wires alone: joint -> (from, to). None takes a part out.
        """
        ties = ties or {}
        before, all_ties = self.bench.seats, self.bench.ties
        joints = sorted({j for part in seats for j in self.board.parts[part].joints} | set(ties))
        old_ties = {joint: all_ties[joint] for joint in joints}  # of no other joint can they change
        for part in seats:
            self.bench.take(part)
        try:
            obstacle = self._move_ties(ties) or self._seat(seats)
            if obstacle:
                return obstacle
            for joint in joints:
                self.bench.rewire(joint)
            if set(joints) & set(self.bench.broken()):
                return "then a joint cannot be wired whole"
            after = self.bench.cost_terms()
            return {name: after[name] - self.terms.get(name, 0.0) for name in after}
        finally:
            self._restore(seats, before, old_ties)
            for joint in joints:
                self.bench.rewire(joint)

    def _move_ties(self, ties: Mapping[int, tuple[int, int]]) -> str:
        for joint, (old, new) in ties.items():
            if old in self.bench.ties[joint]:
                kept = [lug for lug in self.bench.ties[joint] if lug != old]
                self.bench.drop_ties(joint)
                for lug in kept:
                    self.bench.add_tie(joint, lug)
            if not self.bench.may_carry(new, joint):
                return self.too_near(new, joint)
            self.bench.add_tie(joint, new)
        return ""

    def _seat(self, seats: Mapping[int, int | None]) -> str:
        for part, row in seats.items():
            if row is None:
                continue
            obstacle = self.obstacle(part, row)
            if obstacle:
                return obstacle
            lying = self.bench.lay(part, row)
            self.bench.put(part, Seat(row, self.bench.free_layer(part, row), lying))
        return ""

    def _restore(
        self, seats: Iterable[int], before: Sequence[Seat | None], old_ties: Mapping[int, Sequence[int]]
    ) -> None:
        for part in seats:
            self.bench.take(part)
        now = self.bench.ties
        changed = {joint: lugs for joint, lugs in old_ties.items() if now[joint] != lugs}
        for joint in changed:
            self.bench.drop_ties(joint)
        for part in seats:
            seat = before[part]
            if seat is not None:
                self.bench.put(part, seat)
        for joint, lugs in changed.items():
            for lug in lugs:
                self.bench.add_tie(joint, lug)

    def obstacle(self, part: int, row: int) -> str:
        """Return why a part that is out cannot sit on a row of its seats, "" when it can."""
        seats, joints = self.board.seats[part], self.board.parts[part].joints
        ends = (int(seats.first[row]), int(seats.second[row]))
        for end, joint in zip(ends, joints, strict=True):
            if int(self.bench.joint_at[end]) not in (joint, FREE):
                return f"{self.label(end)} carries {self.carried(end)}"
            if self.bench.room[end] < 1:
                held = ", ".join(lead for lead in self.plan.leads_at(self.board.terminals[end].key))
                return f"{self.label(end)} is full: {held}"
        for end, joint, other in zip(ends, joints, ((ends[1], joints[1]), (ends[0], joints[0])), strict=True):
            if int(self.bench.joint_at[end]) == FREE and not self.bench.may_carry(end, joint, other):
                return self.too_near(end, joint, other)
        lying = self.bench.lay(part, row)
        if not self.bench.free_layer(part, row):
            there = sorted(self.board.parts[other].name for other, _ in self.bench.overlapped(part, row, lying))
            return f"{listed(there)} take all {MAX_LAYERS} layers there"
        return ""

    def too_near(self, terminal: int, joint: int, also: tuple[int, int] | None = None) -> str:
        """Return which neighbor is too near for its voltage."""
        for other, gap, group in self.board.neighbors[terminal]:
            theirs = also[1] if also is not None and other == also[0] else int(self.bench.joint_at[other])
            if theirs >= 0 and self.board.needed_mm[group][joint, theirs] > gap + INSULATION_SLACK_MM:
                needed = float(self.board.needed_mm[group][joint, theirs])
                return (
                    f"{self.label(terminal)} is {gap:.1f} mm from {self.label(other)} ({self.board.joints[theirs]}), "
                    f"and their voltage needs {needed:.1f} mm"
                )
        return f"{self.label(terminal)} is too near another voltage"

    def row(self, part: int, first: int, second: int) -> int | None:
        """Return the row of a part's seats between two terminals, None when it does not reach."""
        seats = self.board.seats[part]
        rows = np.flatnonzero((seats.first == first) & (seats.second == second))
        return int(rows[0]) if len(rows) else None

    def misfit(self, part: int, first: int, second: int) -> str:
        """Return why a part has no seat between two terminals."""
        me, ends = self.board.parts[part], [self.board.terminals[t] for t in (first, second)]
        apart = math.dist(*((t.x_mm, t.y_mm, t.z_mm) for t in ends))
        low, high = me.length_mm + 2.0 * MIN_LEAD_MM, me.length_mm + 2.0 * MAX_LEAD_MM
        between = f"{me.name} between {ends[0].label} and {ends[1].label}: {apart:.1f} mm apart"
        if apart < low:
            return f"{between}, {low - apart:.1f} mm too near (it reaches {low:g} to {high:g} mm)"
        if apart > high:
            return f"{between}, {apart - high:.1f} mm too far (it reaches {low:g} to {high:g} mm)"
        return f"{me.name} may not go between {ends[0].label} and {ends[1].label}"

    def apart_in_words(self, terminal: int, other: int) -> str:
        """Return the distance between two lugs beside each other and the one their voltage needs, "" without one."""
        mine, theirs = int(self.bench.joint_at[terminal]), int(self.bench.joint_at[other])
        for near, gap, group in self.board.neighbors[terminal]:
            if near == other and mine >= 0 and theirs >= 0:
                needed = float(self.board.needed_mm[group][mine, theirs])
                return f": {gap:.1f} mm apart, their voltage needs {needed:.1f} mm"
        return ""
