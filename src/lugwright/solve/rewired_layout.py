"""Where wirings differ from their base: the few joints each touches, and what it stamps on these.

Volts of a touched joint are told against the joint that the strongest part moved or changed leads to, as far as parts
lead: a tree of drops, with a joint that has its own level at each root. What a part stamps is then a number or two of
drops that are small, where against ground it would be the difference of huge ones: a lead of some milliohms taken off a
joint at 50 kilohms from ground leaves nothing of sixteen digits otherwise.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from functools import cached_property

import numpy as np

from lugwright.solve.sparse_lu import Numbers
from lugwright.solve.system import Array, Index

HELD_S = 1e-6  # what holds a row of a new joint, or of one that hardly anything holds, in the base's inverse
STRONG_S = 1e-3  # what joins two joints by more has its drop refined: of weaker ones enough digits are left
BLOCK = 512  # columns worked on together
SIZES = (0, 2, 4, 6, 8, 12, 16, 24, 32, 48, 96)  # how many joints the columns of one block touch at the most

Drop = list[tuple[int, float]]  # which drops of the tree, and with which sign, add up to the volts between two joints


@dataclass(frozen=True)
class Tree:
    """Touched rows, each with the one its volts are told against."""

    against: list[int]  # rows
    drops: list[Drop]  # what adds up to the volts of each
    strong: list[int]  # those that something strong joins to the row they are told against


@dataclass
class Sketch:
    """One wiring: the rows it touches, in order, branches stamped anew and conductances that no frequency changes.

    Branches in pairs that are coupled, with four ends each: before and after.
    """

    ground: int  # its row
    local: dict[int, int] = field(default_factory=dict)
    stamps: list[tuple[int, ...]] = field(default_factory=list)
    links: list[tuple[float, int, int]] = field(default_factory=list)  # how strongly these branches join their old ends
    steady: list[tuple[int, int, float]] = field(default_factory=list)  # -1 for ground
    release: list[tuple[int, float]] = field(default_factory=list)

    def copied(self) -> Sketch:
        """Return one to which other conductances can be added."""
        return Sketch(self.ground, dict(self.local), self.stamps, self.links, list(self.steady))

    def _at(self, row: int) -> int:
        return self.local.setdefault(row, len(self.local))

    def restamp(self, pair: int, old: Sequence[int], new: Sequence[int], strength: tuple[float, float]) -> None:
        """Take a coupled pair of branches off its old ends and put it on its new ones."""
        a, b, c, d = (self._at(row) for row in old)
        self.stamps.append((pair, a, b, c, d, *(self._at(row) for row in new)))
        self.links += [(strength[0], a, b), (strength[1], c, d)]

    def bridge(self, a: int, b: int, siemens: float) -> None:
        """Put a conductance between two rows."""
        self.steady.append((self._at(a), self._at(b), siemens))

    def hold(self, row: int, siemens: float, *, in_base: bool) -> None:
        """Put a small conductance from a row to ground; ``in_base``: the base's inverse holds it already."""
        i = self._at(row)
        if not in_base:
            self.steady.append((i, -1, HELD_S))
        self.release.append((i, siemens - HELD_S))

    @cached_property
    def tree(self) -> Tree:
        """Return the touched rows as a tree, the strongest parts first; joints that are held, and ground, are roots."""
        rows = list(self.local)
        against, drops = [self.ground] * len(rows), [[(k, 1.0)] for k in range(len(rows))]
        strong = []
        firm = {k for k, _ in self.release}
        if (earth := self.local.get(self.ground)) is not None:
            firm.add(earth)
            drops[earth] = []
        near = self._joined(len(rows), firm)
        seen = set[int]()
        for root in (*firm, *range(len(rows))):
            waiting = [] if root in seen else [root]
            while waiting:
                seen.add(one := waiting.pop())
                for other, siemens in near.get(one, ()):
                    if other not in seen:
                        against[other] = rows[one]
                        drops[other] = [*drops[one], (other, 1.0)]
                        waiting.append(other)
                        if siemens > STRONG_S and rows[one] != self.ground:
                            strong.append(other)
        return Tree(against, drops, strong)

    def _joined(self, count: int, firm: set[int]) -> dict[int, list[tuple[int, float]]]:
        """Return the neighbors of each touched row in the tree: the strongest parts that close no loop."""
        root, near = list(range(count)), dict[int, list[tuple[int, float]]]()
        held = [k in firm for k in range(count)]

        def top(k: int) -> int:
            while root[k] != k:
                k = root[k]
            return k

        for siemens, a, b in sorted(set(self.links), reverse=True):
            one, other = top(a), top(b)
            if one == other or (held[one] and held[other]):
                continue
            root[other] = one
            held[one] = held[one] or held[other]
            near.setdefault(a, []).append((b, siemens))
            near.setdefault(b, []).append((a, siemens))
        return near

    @cached_property
    def strong(self) -> list[tuple[int, int]]:
        """Return the pairs of rows of its strong drops."""
        rows = list(self.local)
        return [(rows[k], self.tree.against[k]) for k in self.tree.strong]

    @cached_property
    def cells(self) -> tuple[list[tuple[int, ...]], list[float]]:
        """Return where stamps go (two drops, pair of branches, 1 for what they are now and 0 for before) and signs."""
        drops = self.tree.drops
        found: list[tuple[int, ...]] = []
        signs: list[float] = []
        for pair, *ends in self.stamps:
            for now, sign in ((0, -1.0), (1, 1.0)):
                a, b, c, d = ends[4 * now : 4 * now + 4]
                for i, one in _between(drops, a, b):
                    for j, other in _between(drops, c, d):
                        found.append((i, j, pair, now))
                        signs.append(sign * one * other)
        return found, signs

    @cached_property
    def steady_cells(self) -> list[tuple[int, int, float]]:
        """Return where conductances that no frequency changes go."""
        drops = self.tree.drops
        every = ((_between(drops, a, b) if b >= 0 else drops[a], siemens) for a, b, siemens in self.steady)
        return [(i, j, siemens * one * other) for drop, siemens in every for i, one in drop for j, other in drop]


def _between(drops: Sequence[Drop], a: int, b: int) -> Drop:
    """Return the drops that add up to the volts between two joints."""
    one, other = drops[a], drops[b]
    common = 0
    while common < min(len(one), len(other)) and one[common] == other[common]:
        common += 1
    return [*one[common:], *((k, -sign) for k, sign in other[common:])]


@dataclass(frozen=True)
class Drops:
    """The drops of volts that each of some columns touches, filled up with those from ground to itself."""

    rows: Index  # (n, t)
    against: Index  # rows that volts of these are told against (n, t), many of them ground
    pairs: Index  # (pair, 2): the different ones of these that something strong joins
    at: Index  # (n, t): which of these pairs, and behind them what is none

    def chosen(self, pick: Index) -> Drops:
        """Return those of some columns."""
        return Drops(self.rows[pick], self.against[pick], self.pairs, self.at[pick])


@dataclass(frozen=True)
class Differences:
    """What a block of columns adds to the base matrix: a square on the few drops of volts that each column touches.

    Joints that hardly anything holds are held in ``delta``; ``release`` is what takes that back.
    """

    columns: Index  # (n)
    drops: Drops
    delta: Numbers  # ([frequency,] n, t, t)
    release: Array  # (n, t), to ground

    def once(self, frequency: int) -> Differences:
        """Return those at one of several frequencies."""
        return Differences(self.columns, self.drops, self.delta[frequency], self.release)


@dataclass(frozen=True)
class Layout:
    """A block of columns: the drops each touches, its stamps, and what no frequency changes."""

    columns: Index
    drops: Drops
    stamps: Index  # (stamp, 5): place in the block, two drops, pair of branches, whether it is what these are now
    signs: Array  # (stamp)
    steady: Array
    release: Array

    def differences(self, base_y: Numbers, own_y: Numbers, at: Index | None = None) -> Differences:
        """Return what the block adds to the base matrix.

        ``base_y`` (pair) and ``own_y`` (pair, column) are the admittances of all coupled pairs of branches, of several
        frequencies on an axis before these; ``at`` says where the block's columns stand in ``own_y``, where that is not
        their number.
        """
        where = self.columns if at is None else at
        delta = np.zeros((*base_y.shape[:-1], *self.steady.shape), dtype=np.result_type(base_y, own_y))
        delta += self.steady
        if len(self.stamps):
            k, _, _, pair, now = self.stamps.T
            before = now == 0
            parts = np.empty((*base_y.shape[:-1], len(k)), dtype=delta.dtype)
            parts[..., before] = base_y[..., pair[before]]
            parts[..., ~before] = own_y[..., pair[~before], where[k[~before]]]
            parts *= self.signs
            order, first, cells = self._cells
            flat = delta.reshape(*delta.shape[:-3], -1)
            flat[..., cells] += np.add.reduceat(parts[..., order], first, axis=-1)
        return Differences(self.columns, self.drops, delta, self.release)

    @cached_property
    def _cells(self) -> tuple[Index, Index, Index]:
        """Return the order that brings what goes into one cell together, where each cell begins, and the cells."""
        k, i, j, _, _ = self.stamps.T
        size = self.release.shape[1]
        cells = (k * size + i) * size + j
        order = np.argsort(cells, kind="stable")
        unique, first = np.unique(cells[order], return_index=True)
        return order, first, unique

    def narrowed(self, pick: Index) -> Layout:
        """Return some columns of the block, in rising order."""
        place = np.full(len(self.columns), -1)
        place[pick] = np.arange(len(pick))
        mine = place[self.stamps[:, 0]] >= 0
        stamps = self.stamps[mine].copy()
        stamps[:, 0] = place[stamps[:, 0]]
        drops, signs = self.drops.chosen(pick), self.signs[mine]
        return Layout(self.columns[pick], drops, stamps, signs, self.steady[pick], self.release[pick])


def laid_out(sketches: Sequence[Sketch], ground: int) -> tuple[Layout, ...]:
    """Return one column for each sketch, in blocks: those that touch about as many joints together."""
    sizes = np.array([len(sketch.local) for sketch in sketches])
    places: dict[tuple[int, int], int] = {}
    for sketch in sketches:
        for pair in sketch.strong:
            places.setdefault(pair, len(places))
    blocks = []
    steps = (*SIZES, ground + 1)
    for least, most in zip((-1, *steps), steps, strict=False):
        chosen = np.flatnonzero((sizes > least) & (sizes <= most))
        for first in range(0, len(chosen), BLOCK):
            blocks.append(_block(sketches, chosen[first : first + BLOCK], max(most, 1), ground, places))
    return tuple(blocks)


def _block(
    every: Sequence[Sketch], columns: Index, size: int, ground: int, places: dict[tuple[int, int], int]
) -> Layout:
    sketches = [every[k] for k in columns]
    rows, against = (np.full((len(sketches), size), ground, dtype=np.intp) for _ in range(2))
    at = np.full((len(sketches), size), len(places), dtype=np.intp)
    steady, release = np.zeros((len(sketches), size, size)), np.zeros((len(sketches), size))
    stamps: list[tuple[int, ...]] = []
    signs: list[float] = []
    for k, sketch in enumerate(sketches):
        count = len(sketch.local)
        rows[k, :count], against[k, :count] = list(sketch.local), sketch.tree.against
        for i, pair in zip(sketch.tree.strong, sketch.strong, strict=True):
            at[k, i] = places[pair]
        for i, j, siemens in sketch.steady_cells:
            steady[k, i, j] += siemens
        for i, siemens in sketch.release:
            release[k, i] += siemens
        cells, own = sketch.cells
        stamps += [(k, *cell) for cell in cells]
        signs += own
    pairs = np.array(list(places), dtype=np.intp).reshape(-1, 2)
    table = np.array(stamps, dtype=np.intp).reshape(-1, 5)
    return Layout(columns, Drops(rows, against, pairs, at), table, np.array(signs), steady, release)
