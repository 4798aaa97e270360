"""Where wirings differ from their base: the few joints each touches, and what it stamps on these.

Volts of a touched joint are told against the joint that the strongest part moved or changed leads to, as far as parts
lead: a tree of drops, with a joint that has its own level at each root. What a part stamps is then a number or two of
drops that are small, where against ground it would be the difference of huge ones: a lead of some milliohms taken off a
joint at 50 kilohms from ground leaves nothing of sixteen digits otherwise.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING

import numpy as np

from lugwright.solve.sparse_lu import Numbers
from lugwright.solve.system import Array, Index

if TYPE_CHECKING:
    from lugwright.solve.kernel.drops import Stamped, Trees

HELD_S = 1e-6  # what holds a row of a new joint, or of one that hardly anything holds, in the base's inverse
STRONG_S = 1e-3  # what joins two joints by more has its drop refined: of weaker ones enough digits are left
BLOCK = 512  # columns worked on together
SIZES = (0, 2, 4, 6, 8, 12, 16, 24, 32, 48, 96)  # how many joints the columns of one block touch at the most


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
        if len(pick) == len(self.columns):
            return self
        place = np.full(len(self.columns), -1)
        place[pick] = np.arange(len(pick))
        mine = place[self.stamps[:, 0]] >= 0
        stamps = self.stamps[mine].copy()
        stamps[:, 0] = place[stamps[:, 0]]
        drops, signs = self.drops.chosen(pick), self.signs[mine]
        return Layout(self.columns[pick], drops, stamps, signs, self.steady[pick], self.release[pick])


def laid_out(stamped: Stamped, ground: int) -> tuple[Layout, ...]:
    """Return what every column stamps, in blocks: those that touch about as many joints together."""
    from lugwright.solve.kernel import drops

    trees = _grown(stamped, ground)
    pairs, pair_of = _strong_pairs(trees, ground)
    blocks = []
    steps = (*SIZES, ground + 1)
    for least, most in zip((-1, *steps), steps, strict=False):
        chosen = np.flatnonzero((trees.touched > least) & (trees.touched <= most))
        for first in range(0, len(chosen), BLOCK):
            columns, size = chosen[first : first + BLOCK], max(most, 1)
            n, cells = len(columns), int(trees.cells[columns].sum())
            stamps, signs = np.empty((cells, 5), dtype=np.intp), np.empty(cells)
            steady, release = np.zeros((n, size, size)), np.zeros((n, size))
            drops.fill(stamped, ground, trees, columns, HELD_S, drops.Block(stamps, signs, steady, release))
            told = _told(trees, columns, size, ground, pairs, pair_of)
            blocks.append(Layout(columns, told, stamps, signs, steady, release))
    return tuple(blocks)


def _grown(stamped: Stamped, ground: int) -> Trees:
    """Return the trees of all columns."""
    from lugwright.solve.kernel import drops  # brings the compiler along: only where something is stamped

    room = 8 * np.diff(stamped.first) + 2 * len(stamped.bridge_s) + np.diff(stamped.first_hold)
    last = np.cumsum(np.minimum(room, ground + 1))
    columns, total = len(last), int(last[-1]) if len(last) else 0
    rows, up, depth = (np.empty(total, dtype=np.intp) for _ in range(3))
    touched, cells = (np.zeros(columns, dtype=np.intp) for _ in range(2))
    first = last - np.minimum(room, ground + 1)
    trees = drops.Trees(first, touched, rows, up, depth, np.zeros(total, dtype=bool), cells)
    drops.grow(stamped, ground, STRONG_S, trees)
    return trees


def _strong_pairs(trees: Trees, ground: int) -> tuple[Index, Index]:
    """Return the different pairs of rows of strong drops (pair, 2), and which of them each row is told in."""
    strong = np.flatnonzero(trees.strong)
    start = np.repeat(trees.first, np.diff(np.append(trees.first, len(trees.rows))))
    codes = trees.rows[strong] * (ground + 1) + trees.rows[start[strong] + trees.up[strong]]
    different, which = np.unique(codes, return_inverse=True)
    pair_of = np.full(len(trees.rows), len(different))
    pair_of[strong] = which
    return np.stack(np.divmod(different, ground + 1), axis=1), pair_of


def _told(trees: Trees, columns: Index, size: int, ground: int, pairs: Index, pair_of: Index) -> Drops:
    """Return the drops of some columns, filled up to one size."""
    within = np.arange(size) < trees.touched[columns][:, None]
    here = (trees.first[columns][:, None] + np.arange(size))[within]
    up, start = trees.up[here], np.repeat(trees.first[columns], trees.touched[columns])
    rows, against = (np.full(within.shape, ground, dtype=np.intp) for _ in range(2))
    at = np.full(within.shape, len(pairs), dtype=np.intp)
    rows[within], at[within] = trees.rows[here], pair_of[here]
    against[within] = np.where(up < 0, ground, trees.rows[np.where(up < 0, here, start + up)])
    return Drops(rows, against, pairs, at)
