"""Small systems of equations by machine code, against the linear algebra of numpy."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from numpy.typing import NDArray

from lugwright.solve.kernel.compiled import entry
from lugwright.solve.kernel.dense import solve_in_place


@entry
def _solve(equations: NDArray[Any]) -> None:
    solve_in_place(equations)


@pytest.mark.parametrize("size", range(1, 14))
@pytest.mark.parametrize("kind", [float, complex])
def test_solutions_stand_in_place_of_the_right_sides(size: int, kind: type) -> None:
    drawn = np.random.default_rng(size)
    equations: NDArray[Any] = drawn.normal(size=(size, size + 3)).astype(kind)
    if kind is complex:
        equations += 1j * drawn.normal(size=equations.shape)
    wanted = np.linalg.solve(equations[:, :size], equations[:, size:])
    _solve(equations)
    assert np.abs(equations[:, size:] - wanted).max() < 1e-9 * np.abs(wanted).max()


def test_rows_are_exchanged_where_a_pivot_is_zero() -> None:
    """The unknowns in turn are one row further: not one pivot stands where it should."""
    equations = np.c_[np.roll(np.eye(7), 1, axis=1), np.arange(7.0)]
    _solve(equations)
    assert equations[:, 7].tolist() == [6.0, 0.0, 1.0, 2.0, 3.0, 4.0, 5.0]


@pytest.mark.parametrize("size", [3, 4, 5, 9])
def test_a_singular_matrix_gives_no_finite_numbers(size: int) -> None:
    equations = np.ones((size, size + 1))
    equations[0, 0] = 2.0
    _solve(equations)
    assert not np.isfinite(equations[:, size]).all()
