"""Small systems of equations, solved in place."""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

from lugwright.solve.kernel.compiled import compiled

Table = NDArray[np.inexact[Any]]  # of real or of complex numbers


@compiled
def add_row(row: Table, share: float, other: Table) -> None:
    """Add a share of another row, which may be longer, to a row."""
    for j in range(len(row)):
        row[j] += share * other[j]


@compiled
def _square(z: complex) -> float:
    """Return the square of the size of a number, real or complex: the size itself takes a root."""
    return z.real * z.real + z.imag * z.imag


@compiled
def _largest_to(k: int, equations: Table) -> None:
    """Exchange rows so that the largest pivot of a column, from its diagonal on, stands on the diagonal."""
    pivot, most = k, _square(equations[k, k])
    for i in range(k + 1, len(equations)):
        size = _square(equations[i, k])
        if size > most:
            pivot, most = i, size
    if pivot != k:
        for j in range(equations.shape[1]):
            equations[k, j], equations[pivot, j] = equations[pivot, j], equations[k, j]


@compiled
def _factor_columns(equations: Table, first: int, last: int) -> None:
    """Put the factors of some columns in their place, the pivots' inverses on the diagonal; of rows, only those."""
    for k in range(first, last):
        _largest_to(k, equations)
        equations[k, k] = 1.0 / equations[k, k] if equations[k, k] != 0.0 else np.inf
        for i in range(k + 1, len(equations)):
            if equations[i, k] != 0.0:
                equations[i, k] *= equations[k, k]
                for j in range(k + 1, last):
                    equations[i, j] -= equations[i, k] * equations[k, j]
    for k in range(first, last):
        for i in range(k + 1, last):
            if equations[i, k] != 0.0:
                add_row(equations[i, last:], -equations[i, k], equations[k, last:])


@compiled
def _take_four(row: Table, shares: Table, one: Table, two: Table, three: Table, four: Table) -> None:
    """Take shares of four rows off a row."""
    first, second, third, fourth = shares[0], shares[1], shares[2], shares[3]
    for j in range(len(row)):
        row[j] -= first * one[j] + second * two[j] + third * three[j] + fourth * four[j]


@compiled
def solve_in_place(equations: Table) -> None:
    """Put the solutions of some equations (row, unknown + side) in the place of their right sides.

    Gauss's elimination with the largest pivot of each column, four columns at a time: what is beneath is gone over a
    quarter as often. The factors stay in the other columns. A singular matrix gives no finite numbers.
    """
    size = len(equations)
    for first in range(0, size, 4):
        last = min(first + 4, size)
        _factor_columns(equations, first, last)
        if last < size:
            one, two, three, four = (
                equations[first, last:], equations[first + 1, last:], equations[first + 2, last:],
                equations[first + 3, last:],
            )  # fmt: skip
            for i in range(last, size):
                _take_four(equations[i, last:], equations[i, first:last], one, two, three, four)
    for i in range(size - 1, -1, -1):
        for s in range(size, equations.shape[1]):
            found = equations[i, s]
            for j in range(i + 1, size):
                found -= equations[i, j] * equations[j, s]
            equations[i, s] = found * equations[i, i]
