"""Where wirings differ from their base: the few joints each touches, and what it stamps on these."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from functools import cached_property

import numpy as np

from lugwright.solve.sparse_lu import Numbers
from lugwright.solve.system import Array, Index

HELD_S = 1e-6  # what holds a row of a new joint, or of one that hardly anything holds, in the base's inverse
BLOCK = 512  # columns worked on together
SIZES = (0, 2, 4, 6, 8, 12, 16, 24, 32, 48, 96)  # how many joints the columns of one block touch at the most


@dataclass
class Sketch:
    """One wiring: the rows it touches, in order, branches stamped anew and conductances that no frequency changes."""

    local: dict[int, int] = field(default_factory=dict)
    stamps: list[tuple[int, ...]] = field(default_factory=list)
    steady: list[tuple[int, int, float]] = field(default_factory=list)
    release: list[tuple[int, float]] = field(default_factory=list)

    def _at(self, row: int) -> int:
        return self.local.setdefault(row, len(self.local))

    def restamp(self, pair: int, old: Sequence[int], new: Sequence[int]) -> None:
        """Take a coupled pair of branches off its old ends and put it on its new ones."""
        self.stamps.append((pair, *(self._at(row) for row in old), *(self._at(row) for row in new)))

    def bridge(self, a: int, b: int, siemens: float) -> None:
        """Put a conductance between two rows."""
        i, j = self._at(a), self._at(b)
        self.steady += [(i, i, siemens), (j, j, siemens), (i, j, -siemens), (j, i, -siemens)]

    def hold(self, row: int, siemens: float, *, in_base: bool) -> None:
        """Put a small conductance from a row to ground; ``in_base``: the base's inverse holds it already."""
        i = self._at(row)
        if not in_base:
            self.steady.append((i, i, HELD_S))
        self.release.append((i, siemens - HELD_S))


@dataclass(frozen=True)
class Differences:
    """What a block of columns adds to the base matrix: a square on the few joints that each column touches.

    Joints that hardly anything holds are held in ``delta``; ``release`` is what takes that back.
    """

    columns: Index  # (n)
    touched: Index  # rows (n, t), filled up with ground
    delta: Numbers  # ([frequency,] n, t, t)
    release: Array  # (n, t), to ground

    def at(self, frequency: int) -> Differences:
        """Return those at one of several frequencies."""
        return Differences(self.columns, self.touched, self.delta[frequency], self.release)


@dataclass(frozen=True)
class Layout:
    """A block of columns: the rows each touches, its stamps, and what no frequency changes."""

    columns: Index
    touched: Index
    stamps: Index  # (stamp, 10): place in the block, pair, two old ends of either branch, two new ones
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
            k, pair = self.stamps[:, 0], self.stamps[:, 1]
            off, on = -base_y[..., pair], own_y[..., pair, where[k]]
            parts = np.concatenate([off, -off, -off, off, on, -on, -on, on], axis=-1)
            order, first, cells = self._cells
            flat = delta.reshape(*delta.shape[:-3], -1)
            flat[..., cells] += np.add.reduceat(parts[..., order], first, axis=-1)
        return Differences(self.columns, self.touched, delta, self.release)

    @cached_property
    def _cells(self) -> tuple[Index, Index, Index]:
        """Return the order that brings what goes into one cell together, where each cell begins, and the cells."""
        k, size = self.stamps[:, 0], self.touched.shape[1]
        ends = [self.stamps[:, first : first + 4].T for first in (2, 6)]
        where = [(k * size + i) * size + j for a, b, c, d in ends for i, j in ((a, c), (a, d), (b, c), (b, d))]
        cells, order = np.concatenate(where), np.argsort(np.concatenate(where), kind="stable")
        unique, first = np.unique(cells[order], return_index=True)
        return order, first, unique

    def narrowed(self, pick: Index) -> Layout:
        """Return some columns of the block, in rising order."""
        place = np.full(len(self.columns), -1)
        place[pick] = np.arange(len(pick))
        stamps = self.stamps[place[self.stamps[:, 0]] >= 0].copy()
        stamps[:, 0] = place[stamps[:, 0]]
        return Layout(self.columns[pick], self.touched[pick], stamps, self.steady[pick], self.release[pick])


def laid_out(sketches: Sequence[Sketch], ground: int) -> tuple[Layout, ...]:
    """Return one column for each sketch, in blocks: those that touch about as many joints together."""
    sizes = np.array([len(sketch.local) for sketch in sketches])
    blocks = []
    steps = (*SIZES, ground + 1)
    for least, most in zip((-1, *steps), steps, strict=False):
        chosen = np.flatnonzero((sizes > least) & (sizes <= most))
        for first in range(0, len(chosen), BLOCK):
            blocks.append(_block(sketches, chosen[first : first + BLOCK], max(most, 1), ground))
    return tuple(blocks)


def _block(every: Sequence[Sketch], columns: Index, size: int, ground: int) -> Layout:
    sketches = [every[k] for k in columns]
    touched = np.full((len(sketches), size), ground, dtype=np.intp)
    steady, release = np.zeros((len(sketches), size, size)), np.zeros((len(sketches), size))
    for k, sketch in enumerate(sketches):
        touched[k, : len(sketch.local)] = list(sketch.local)
        for i, j, siemens in sketch.steady:
            steady[k, i, j] += siemens
        for i, siemens in sketch.release:
            release[k, i] += siemens
    stamps = [(k, *stamp) for k, sketch in enumerate(sketches) for stamp in sketch.stamps]
    return Layout(columns, touched, np.array(stamps, dtype=np.intp).reshape(-1, 10), steady, release)
