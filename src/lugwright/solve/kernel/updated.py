"""What one inverse and each wiring's few changes make between pairs of joints, for real matrices and for complex ones.

`lugwright.solve.rewired_matrix` says how.
"""

from __future__ import annotations

from typing import NamedTuple, TypeVar

import numpy as np
from numpy.typing import NDArray

from lugwright.solve.kernel.compiled import compiled, entry
from lugwright.solve.kernel.dense import solve_in_place

Table = TypeVar("Table", NDArray[np.float64], NDArray[np.complex128])
Real = NDArray[np.float64]
Rows = NDArray[np.int64]


class Pairs(NamedTuple):
    """Pairs of joints of each column, a against b (column, pair)."""

    a: Rows
    b: Rows


@compiled
def times(left: Table, right: Table) -> Table:
    """Return the product of two small matrices."""
    rows, inner, columns = len(left), len(right), right.shape[1]
    result = np.zeros((rows, columns), left.dtype)
    for i in range(rows):
        for k in range(inner):
            share = left[i, k]
            if share != 0.0:
                for j in range(columns):
                    result[i, j] += share * right[k, j]
    return result


@compiled
def middle_of(inside: Table, delta: Table, release: Real) -> Table:
    """Return the middle of Woodbury's identity, what holds weak joints taken out again in a step of its own."""
    size = len(delta)
    matrix, firm = times(delta, inside), delta.copy()
    for k in range(size):
        matrix[k, k] += 1.0
    solve_in_place(matrix, firm)
    if not np.any(release != 0.0):
        return firm
    left, right = times(firm, inside), times(inside, firm)
    held = inside - times(right, inside)
    matrix, second = np.empty((size, size), delta.dtype), np.zeros((size, size), delta.dtype)
    for i in range(size):
        for j in range(size):
            matrix[i, j] = release[i] * held[i, j]
            left[i, j], right[i, j] = -left[i, j], -right[i, j]
        matrix[i, i] += 1.0
        left[i, i] += 1.0
        right[i, i] += 1.0
        second[i, i] = release[i]
    solve_in_place(matrix, second)
    return firm + times(times(left, second), right)


@compiled
def _reach(inverse: Table, rows: Rows, a: Rows, b: Rows, over: Table) -> None:
    """Write entries of some rows between pairs of columns (row, pair)."""
    for k in range(len(rows)):
        row = inverse[rows[k]]
        for p in range(len(a)):
            over[k, p] = row[a[p]] - row[b[p]]


@compiled
def _less(left: Table, right: Table, into: Table) -> None:
    """Take a product off a matrix."""
    for i in range(len(left)):
        for k in range(len(right)):
            share = left[i, k]
            if share != 0.0:
                for j in range(right.shape[1]):
                    into[i, j] -= share * right[k, j]


@entry
def between(inverse: Table, touched: Rows, middle: Table, out: Pairs, into: Pairs, found: Table) -> None:
    """Write the transfer resistance between pairs of joints (column, out, into).

    ``touched`` (column, joint) and ``middle`` (column, joint, joint) are what differs.
    """
    outs, ins, size = out.a.shape[1], into.a.shape[1], touched.shape[1]
    first, second = np.empty((outs, ins), inverse.dtype), np.empty((outs, ins), inverse.dtype)
    left, right = np.empty((outs, size), inverse.dtype), np.empty((size, ins), inverse.dtype)
    for c in range(len(touched)):
        _reach(inverse, out.a[c], into.a[c], into.b[c], first)
        _reach(inverse, out.b[c], into.a[c], into.b[c], second)
        _reach(inverse, touched[c], into.a[c], into.b[c], right)
        for i in range(outs):
            for j in range(ins):
                found[c, i, j] = first[i, j] - second[i, j]
            for k in range(size):
                left[i, k] = 0.0
            for m in range(size):
                lean = inverse[out.a[c, i], touched[c, m]] - inverse[out.b[c, i], touched[c, m]]
                for k in range(size):
                    left[i, k] += lean * middle[c, m, k]
        _less(left, right, found[c])


@entry
def middles(inverse: Table, touched: Rows, delta: Table, release: Real, found: Table) -> None:
    """Write the middles of Woodbury's identity (column, joint, joint), as `middle_of`."""
    size = touched.shape[1]
    inside = np.empty((size, size), inverse.dtype)
    for c in range(len(touched)):
        for i in range(size):
            for j in range(size):
                inside[i, j] = inverse[touched[c, i], touched[c, j]]
        found[c] = middle_of(inside, delta[c], release[c])
