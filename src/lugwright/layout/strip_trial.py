"""A short plan search on a build with strips, started from what an earlier one found."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

from lugwright.buildfile.build import Build
from lugwright.layout.anneal import fill, improve
from lugwright.layout.board import make_board, stopper_pin
from lugwright.layout.charging_loop import charging_wires
from lugwright.layout.chassis import fixed_terminals
from lugwright.layout.hardware import Hardware
from lugwright.layout.heater_chain import heater_chains
from lugwright.layout.joint_classes import JointFacts
from lugwright.layout.lug_plan import decided_wires
from lugwright.layout.results import SeatedPart
from lugwright.layout.search import Bench

MOVED_MM = 9.0  # a lug that moved no farther is still the same lug


@dataclass(frozen=True)
class Trial:
    """A build with strips, and the plan found on it; a plan that is not whole costs much."""

    build: Build
    bench: Bench
    cost: float

    @property
    def whole(self) -> bool:
        """Return whether every part has its seat and every joint is in one piece."""
        return not self.bench.unplaced() and not self.bench.broken()

    @property
    def leads(self) -> dict[str, int]:
        """Return how many leads each strip lug holds, wires included."""
        board, found = self.bench.board, {}
        wires = [end for tree in self.bench.trees for edge in tree.edges for end in edge]
        for index, t in enumerate(board.terminals):
            if t.kind == "lug":
                found[t.key] = self.bench.load[index] + wires.count(index)
        return found

    @property
    def stoppers_off(self) -> int:
        """Return how many grid stoppers sit off their pins, or nowhere."""
        board, off = self.bench.board, 0
        for part, seat in zip(board.parts, self.bench.seats, strict=True):
            pins = [stopper_pin(self.build, part, side, board.terminals) for side in (0, 1)]
            if any(pin is not None for pin in pins):
                ends = () if seat is None else seat.lying.ends
                off += not any(pin is not None and pin in ends for pin in pins)
        return off

    def long_grids_mm(self, limit_mm: float) -> float:
        """Return how much longer than a limit the straight wires of grids are, all together.

        Parameters
        ----------
        limit_mm : float
            What a grid wire may be long. [mm]

        Returns
        -------
        float
            The excess of all. [mm]

        Source
        ------
        Derived below: along x and y, as wires run before they are routed.
        """
        board, more = self.bench.board, 0.0
        for fact, tree in zip(board.facts, self.bench.trees, strict=True):
            if fact.name == "grid":
                more += sum(max(0.0, float(board.distance[a, b]) - limit_mm) for a, b in tree.edges)
        return more

    def seated(self, names: Mapping[str, str]) -> tuple[SeatedPart, ...]:
        """Return where each part sits, strips by their new names."""
        found, board = [], self.bench.board
        for part, seat in zip(board.parts, self.bench.seats, strict=True):
            if seat is not None and not part.is_bond:
                ends = (board.terminals[end] for end in seat.lying.ends)
                first, second = (f"{names.get(t.owner, t.owner)}{t.key[len(t.owner) :]}" for t in ends)
                found.append(SeatedPart(part.name, (first, second), part.lead_names, seat.layer, *part.size, 0.0, 0.0))
        return tuple(found)


def try_strips(
    build: Build, hardware: Hardware, facts: Mapping[str, JointFacts], *, share: float, earlier: Trial | None = None
) -> Trial:
    """Return what a search of a share of the usual moves finds."""
    terminals = fixed_terminals(build, hardware)
    chain = [*heater_chains(build, terminals), *charging_wires(build, terminals)]
    board = make_board(build, hardware, terminals, facts)
    bench = Bench(board, decided_wires(board, chain))
    fill(bench, _adopted(bench, earlier) if earlier else range(len(board.parts)))
    if all(len(seats.first) for seats in board.seats):  # else no search makes it whole
        improve(bench, share)
    return Trial(build, bench, bench.cost())


def _adopted(bench: Bench, earlier: Trial) -> list[int]:
    """Put parts back where they were as far as they fit; return the others."""
    same = _same_lugs(bench, earlier)
    old, waiting = earlier.bench, []
    for index, seat in enumerate(old.seats):
        keys = None if seat is None else [same.get(old.board.terminals[end].key, "") for end in seat.lying.ends]
        found = None if seat is None or keys is None else bench.seat_between(index, (keys[0], keys[1]), seat.layer)
        if found is None:
            waiting.append(index)
        else:
            bench.put(index, found)
    return waiting


def _same_lugs(bench: Bench, earlier: Trial) -> dict[str, str]:
    """Return for each terminal of the earlier trial the one that stands there now."""
    now = {t.key for t in bench.board.terminals if t.kind not in ("lug", "foot", "bus")}
    same = {t.key: t.key for t in earlier.bench.board.terminals if t.key in now}
    for kinds in (("lug",), ("bus",)):
        olds = [t for t in earlier.bench.board.terminals if t.kind in kinds]
        news = [t for t in bench.board.terminals if t.kind in kinds]
        pairs = sorted(
            (round(math.hypot(a.x_mm - b.x_mm, a.y_mm - b.y_mm), 2), a.key, b.key)
            for a in olds for b in news
            if abs(a.x_mm - b.x_mm) < MOVED_MM and abs(a.y_mm - b.y_mm) < MOVED_MM
        )  # fmt: skip
        taken: set[str] = set()
        for _, a, b in pairs:
            if a not in same and b not in taken:
                same[a] = b
                taken.add(b)
    return same
