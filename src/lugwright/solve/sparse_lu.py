"""LU factors on one fixed pattern, for many matrices at once.

The pattern of a circuit never changes, its values do: a thousand edited circuits, or a hundred
harmonics. So the order of elimination is found once (least degree first, diagonal pivots), and each
numeric step runs on rows of an array whose last axis is the batch.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

Numbers = NDArray[Any]  # real or complex


@dataclass(frozen=True)
class _Pivot:
    row: int
    later: NDArray[np.intp]  # rows still to be eliminated that this one touches
    diagonal: int  # slot of the pivot
    below: slice  # slots of (later, row)
    right: slice  # slots of (row, later)
    block: NDArray[np.intp]  # slots of (later, later)


@dataclass(frozen=True)
class Pattern:
    """Where the entries of a sparse matrix sit, fill included, and the order of elimination.

    ``slot[(i, j)]`` is the row of the value array that holds entry (i, j); values have the shape
    (entries + 1, batch), the last row being a trash slot for entries that touch ground.
    """

    size: int
    slot: dict[tuple[int, int], int]
    pivots: tuple[_Pivot, ...]

    @property
    def entries(self) -> int:
        """Return the number of slots without the trash slot."""
        return len(self.slot)

    @property
    def flops(self) -> int:
        """Return multiplications and divisions of one factorization. [-]"""
        return sum(len(p.later) * (len(p.later) + 1) for p in self.pivots)

    def split(self, rows: Iterable[int]) -> tuple[Pattern, Pattern]:
        """Return the pivots that can be eliminated before anything is known of these rows, and those that remain."""
        touched = set(rows)
        for p in self.pivots:
            if p.row in touched:
                touched.update(p.later.tolist())
        first, rest = (tuple(p for p in self.pivots if (p.row in touched) is late) for late in (False, True))
        return replace(self, pivots=first), replace(self, pivots=rest)

    def reaching(self, rows: Iterable[int]) -> Reach:
        """Return what it takes to solve with nothing but these rows driven and asked for.

        Of the factors of the whole that is the pivots of these rows and of all that they touch later.
        """
        wanted = set(rows)
        for p in self.pivots:
            if p.row in wanted:
                wanted.update(p.later.tolist())
        kept = np.array(sorted(wanted), dtype=np.intp)
        where = np.full(self.size + 1, len(kept), dtype=np.intp)
        where[kept] = np.arange(len(kept))
        pivots = tuple(replace(p, row=int(where[p.row]), later=where[p.later]) for p in self.pivots if p.row in wanted)
        return Reach(replace(self, size=len(kept), pivots=pivots), where)


@dataclass(frozen=True, eq=False)
class Reach:
    """Some rows of a matrix that are solved by themselves, with the factors of the whole.

    ``where`` gives the row in here of each row of the whole and, last, of ground; ground's is the row after
    the last, and so is that of rows that are not in here.
    """

    pattern: Pattern
    where: NDArray[np.intp]


def find_pattern(size: int, entries: Iterable[tuple[int, int]]) -> Pattern:
    """Return the pattern of a matrix with these entries (made symmetric), fill included."""
    touches: list[set[int]] = [set() for _ in range(size)]
    for i, j in entries:
        if i != j:
            touches[i].add(j)
            touches[j].add(i)
    slot: dict[tuple[int, int], int] = {}
    order: list[tuple[int, list[int]]] = []
    left = set(range(size))
    while left:
        row = min(left, key=lambda r: (len(touches[r]), r))
        later = sorted(touches[row])
        order.append((row, later))
        left.remove(row)
        for a in later:
            touches[a].discard(row)
            touches[a].update(b for b in later if b != a)
    for row, later in order:
        slot[row, row] = len(slot)
        for entry in (*((other, row) for other in later), *((row, other) for other in later)):
            slot[entry] = len(slot)
    pivots = tuple(_pivot(row, later, slot) for row, later in order)
    return Pattern(size, slot, pivots)


def _pivot(row: int, later: list[int], slot: dict[tuple[int, int], int]) -> _Pivot:
    count, diagonal = len(later), slot[row, row]
    return _Pivot(
        row,
        np.array(later, dtype=np.intp),
        diagonal,
        slice(diagonal + 1, diagonal + 1 + count),
        slice(diagonal + 1 + count, diagonal + 1 + 2 * count),
        np.array([[slot[a, b] for b in later] for a in later], dtype=np.intp).reshape(count, count),
    )


def factor(pattern: Pattern, values: Numbers) -> Numbers:
    """Return the LU factors of ``values`` (entries + 1, batch); the pivots are stored inverted."""
    a = values.copy()
    with np.errstate(divide="ignore", invalid="ignore", over="ignore"):
        for p in pattern.pivots:
            inverse = 1.0 / a[p.diagonal]
            a[p.diagonal] = inverse
            if len(p.later):
                lower = a[p.below] * inverse
                a[p.below] = lower
                a[p.block] -= lower[:, None] * a[p.right]
    return a


def solve_factored(pattern: Pattern, factors: Numbers, right_side: Numbers) -> Numbers:
    """Return x with A x = right_side; the right side is (rows, batch) or (rows, columns, batch)."""
    x = right_side.astype(np.result_type(factors, right_side))
    factors = np.ascontiguousarray(factors)  # a few columns of a wider batch round otherwise
    if x.ndim == 3:
        factors = factors[:, None]
    with np.errstate(invalid="ignore", over="ignore"):  # a joint that nothing holds: not a number, told elsewhere
        for p in pattern.pivots:
            if len(p.later) == 1:
                x[p.later[0]] -= factors[p.below.start] * x[p.row]
            elif len(p.later):
                x[p.later] -= factors[p.below] * x[p.row]
        for p in reversed(pattern.pivots):
            here = x[p.row]
            if len(p.later) == 1:
                here -= factors[p.right.start] * x[p.later[0]]
            elif len(p.later):
                here -= np.add.reduce(factors[p.right] * x[p.later], axis=0)
            here *= factors[p.diagonal]
    return x


def solve_transposed(pattern: Pattern, factors: Numbers, right_side: Numbers) -> Numbers:
    """Return x with A^T x = right_side (rows, batch): what every row of A says of one wanted answer."""
    x = right_side.astype(np.result_type(factors, right_side))
    for p in pattern.pivots:
        x[p.row] *= factors[p.diagonal]
        if len(p.later):
            x[p.later] -= factors[p.right] * x[p.row]
    for p in reversed(pattern.pivots):
        if len(p.later):
            x[p.row] -= np.sum(factors[p.below] * x[p.later], axis=0)
    return x
