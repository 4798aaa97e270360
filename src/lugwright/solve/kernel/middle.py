"""The middle of Woodbury's identity, wiring by wiring; `lugwright.solve.rewired_matrix` says what it is the middle of.

For real and for complex numbers.
"""

from __future__ import annotations

from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from lugwright.solve.kernel.compiled import compiled, entry
from lugwright.solve.kernel.dense import solve_in_place

Table = NDArray[np.float64]
Numbers = NDArray[np.inexact[Any]]  # real or complex
Rows = NDArray[np.int64]


class Changes(NamedTuple):
    """What some columns add to a base matrix: a square on the drops of volts that each of them touches."""

    plus: Rows  # (column, drop): between these rows and those the drops lie
    minus: Rows
    at: Rows  # (column, drop): which row of the mends belongs to it
    delta: Numbers  # (column, drop, drop)
    release: Table  # (column, drop): what takes back what holds weak joints, to ground


@compiled
def times(left: Numbers, right: Numbers) -> Numbers:
    """Return the product of two small matrices."""
    rows, inner, columns = len(left), len(right), right.shape[1]
    result = np.zeros((rows, columns), dtype=right.dtype)
    for i in range(rows):
        for k in range(inner):
            share = left[i, k]
            if share != 0.0:
                for j in range(columns):
                    result[i, j] += share * right[k, j]
    return result


@compiled
def middle_of(inside: Numbers, delta: Numbers, release: Table) -> Numbers:
    """Return (1 + D Z)^-1 D of a column, Z being what lies ``inside``, between its drops.

    What holds weak joints is taken out again in a step of its own, so that the noise of a joint that hardly anything
    holds stays at that joint.
    """
    size = len(delta)
    matrix, firm = times(delta, inside), delta.copy()
    for k in range(size):
        matrix[k, k] += 1.0
    solve_in_place(matrix, firm)
    if not np.any(release != 0.0):
        return firm
    left, right = times(firm, inside), times(inside, firm)
    held = inside - times(right, inside)
    matrix, second = np.empty_like(held), np.zeros_like(held)
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


@entry
def middles(inverse: Numbers, mends: Numbers, changes: Changes, into: Numbers) -> None:
    """Write the middle of every column (column, drop, drop).

    ``mends`` (pair, row) are what the difference of two rows of the inverse lacks.
    """
    size = changes.plus.shape[1]
    inside = np.empty((size, size), dtype=inverse.dtype)
    for c in range(len(into)):
        plus, minus = changes.plus[c], changes.minus[c]
        for i in range(size):
            first, second, mend = inverse[plus[i]], inverse[minus[i]], mends[changes.at[c, i]]
            for j in range(size):
                p, m = plus[j], minus[j]
                inside[i, j] = (first[p] - second[p]) - (first[m] - second[m]) + (mend[p] - mend[m])
        into[c] = middle_of(inside, changes.delta[c], changes.release[c])
