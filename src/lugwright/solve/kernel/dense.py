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
def _add_two_rows(row: Table, share: float, other: Table, second_share: float, second: Table) -> None:
    for j in range(len(row)):
        row[j] += share * other[j] + second_share * second[j]


@compiled
def _square(z: complex) -> float:
    """Return the square of the size of a number, real or complex: the size itself takes a root."""
    return z.real * z.real + z.imag * z.imag


@compiled
def _largest_to(k: int, matrix: Table, sides: Table) -> None:
    """Exchange rows so that the largest pivot of a column, from its diagonal on, stands on the diagonal."""
    pivot, most = k, _square(matrix[k, k])
    for i in range(k + 1, len(matrix)):
        size = _square(matrix[i, k])
        if size > most:
            pivot, most = i, size
    if pivot != k:
        for table in (matrix, sides):
            for j in range(table.shape[1]):
                table[k, j], table[pivot, j] = table[pivot, j], table[k, j]


@compiled
def _factor_in_place(matrix: Table, sides: Table) -> None:
    """Put the factors of a matrix in its place, the pivots' inverses on the diagonal; two columns at a time.

    Rows of the right sides are exchanged along with those of the matrix.
    """
    size = len(matrix)
    for k in range(0, size, 2):
        _largest_to(k, matrix, sides)
        matrix[k, k] = 1.0 / matrix[k, k] if matrix[k, k] != 0.0 else np.inf
        if k + 1 == size:
            return
        beside = matrix[k, k + 1]
        for i in range(k + 1, size):
            matrix[i, k] *= matrix[k, k]
            matrix[i, k + 1] -= matrix[i, k] * beside
        _largest_to(k + 1, matrix, sides)
        first, second = matrix[k, k + 2 :], matrix[k + 1, k + 2 :]
        add_row(second, -matrix[k + 1, k], first)
        matrix[k + 1, k + 1] = 1.0 / matrix[k + 1, k + 1] if matrix[k + 1, k + 1] != 0.0 else np.inf
        for i in range(k + 2, size):
            matrix[i, k + 1] *= matrix[k + 1, k + 1]
            if matrix[i, k] != 0.0 or matrix[i, k + 1] != 0.0:
                _add_two_rows(matrix[i, k + 2 :], -matrix[i, k], first, -matrix[i, k + 1], second)


@compiled
def solve_in_place(matrix: Table, sides: Table) -> None:
    """Put the solutions of some equations (row, side) in the place of their right sides; the matrix is lost.

    Gauss's elimination with the largest pivot of each column. A singular matrix gives no finite numbers.
    """
    _factor_in_place(matrix, sides)
    size, count = sides.shape
    for i in range(1, size):
        for j in range(i):
            for s in range(count):
                sides[i, s] -= matrix[i, j] * sides[j, s]
    for i in range(size - 1, -1, -1):
        for j in range(i + 1, size):
            for s in range(count):
                sides[i, s] -= matrix[i, j] * sides[j, s]
        for s in range(count):
            sides[i, s] *= matrix[i, i]
