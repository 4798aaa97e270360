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
def solve_in_place(matrix: Table, sides: Table) -> None:
    """Put the solutions of some equations (row, side) in the place of their right sides; the matrix is lost.

    Gauss's elimination with the largest pivot of each column. A singular matrix gives infinities.
    """
    size = len(matrix)
    for k in range(size):
        pivot, most = k, abs(matrix[k, k])
        for i in range(k + 1, size):
            if abs(matrix[i, k]) > most:
                pivot, most = i, abs(matrix[i, k])
        if pivot != k:
            for table in (matrix, sides):
                for j in range(table.shape[1]):
                    table[k, j], table[pivot, j] = table[pivot, j], table[k, j]
        inverse = 1.0 / matrix[k, k] if matrix[k, k] != 0.0 else np.inf
        for i in range(k + 1, size):
            share = -matrix[i, k] * inverse
            if share != 0.0:
                add_row(matrix[i, k + 1 :], share, matrix[k, k + 1 :])
                add_row(sides[i], share, sides[k])
    for k in range(size - 1, -1, -1):
        inverse = 1.0 / matrix[k, k] if matrix[k, k] != 0.0 else np.inf
        for j in range(sides.shape[1]):
            sides[k, j] *= inverse
        for i in range(k):
            add_row(sides[i], -matrix[i, k], sides[k])
