"""LU factors on a fixed pattern, one matrix at a time; `lugwright.solve.sparse_lu` has the same for batches."""

from __future__ import annotations

from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from lugwright.solve.kernel.compiled import compiled

Numbers = NDArray[np.inexact[Any]]  # real or complex
Rows = NDArray[np.int64]


class Pivots(NamedTuple):
    """The pivots of a pattern in their order; what belongs to one starts where its ``first`` says."""

    row: Rows
    diagonal: Rows  # slot; the slots below and right of it follow
    touched: Rows  # how many rows it touches later
    first: Rows
    later: Rows  # these rows, pivot after pivot
    first_block: Rows
    block: Rows  # slots of (later, later)


@compiled
def factor_in_place(pivots: Pivots, a: Numbers) -> None:
    """Put the LU factors of a matrix (slot) in its place; the pivots are stored inverted."""
    for p in range(len(pivots.row)):
        diagonal, count, block = pivots.diagonal[p], pivots.touched[p], pivots.first_block[p]
        inverse = 1.0 / a[diagonal] if a[diagonal] != 0.0 else a[diagonal] + np.inf
        a[diagonal] = inverse
        right = diagonal + 1 + count
        for i in range(count):
            lower = a[diagonal + 1 + i] * inverse
            a[diagonal + 1 + i] = lower
            for j in range(count):
                a[pivots.block[block + i * count + j]] -= lower * a[right + j]


@compiled
def solve_in_place(pivots: Pivots, factors: Numbers, x: Numbers) -> None:
    """Put the solution in the place of a right side (row)."""
    for p in range(len(pivots.row)):
        here, below, first = x[pivots.row[p]], pivots.diagonal[p] + 1, pivots.first[p]
        if here != 0.0:
            for i in range(pivots.touched[p]):
                x[pivots.later[first + i]] -= factors[below + i] * here
    for p in range(len(pivots.row) - 1, -1, -1):
        count, diagonal, first = pivots.touched[p], pivots.diagonal[p], pivots.first[p]
        here = x[pivots.row[p]]
        for i in range(count):
            here -= factors[diagonal + 1 + count + i] * x[pivots.later[first + i]]
        x[pivots.row[p]] = here * factors[diagonal]
