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
Numbers = NDArray[Any]  # real or complex
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
def solved_for(matrix: Numbers, sides: Numbers) -> Numbers:
    """Return (1 + matrix)^-1 sides."""
    size, count = sides.shape
    equations = np.empty((size, size + count), dtype=sides.dtype)
    equations[:, :size], equations[:, size:] = matrix, sides
    for k in range(size):
        equations[k, k] += 1.0
    solve_in_place(equations)
    return equations[:, size:]


@compiled
def middle_of(inside: Numbers, delta: Numbers, release: Table) -> Numbers:
    """Return (1 + D Z)^-1 D of a column, Z being what lies ``inside``, between its drops.

    What holds weak joints is taken out again in a step of its own, so that the noise of a joint that hardly anything
    holds stays at that joint.
    """
    firm = solved_for(times(delta, inside), delta)
    weak = np.flatnonzero(release)
    if len(weak):
        _let_go(inside, release, weak, firm)
    return firm


@compiled
def _let_go(inside: Numbers, release: Table, weak: Rows, middle: Numbers) -> None:
    """Take what holds weak joints out of a middle, in place."""
    size, count = len(middle), len(weak)
    into, out = np.empty((size, count), dtype=middle.dtype), np.empty((count, size), dtype=middle.dtype)
    for k in range(count):
        for i in range(size):
            into[i, k], out[k, i] = inside[i, weak[k]], inside[weak[k], i]
    left, right = times(middle, into), times(out, middle)
    held = times(right, into)
    matrix, diagonal = np.empty_like(held), np.zeros_like(held)
    for k in range(count):
        for m in range(count):
            matrix[k, m] = release[weak[k]] * (out[k, weak[m]] - held[k, m])
        diagonal[k, k] = release[weak[k]]
        left[weak[k], k] -= 1.0
        right[k, weak[k]] -= 1.0
    middle += times(times(left, solved_for(matrix, diagonal)), right)


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
