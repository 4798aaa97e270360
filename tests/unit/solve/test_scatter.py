"""Contributions land in their rows, however many columns they have."""

import numpy as np
import pytest

from lugwright.solve.scatter import Scatter

SIZE = 12


def added_one_by_one(targets, contributions, signs):
    total = np.zeros((SIZE, *contributions.shape[1:]), dtype=contributions.dtype)
    for number, target in enumerate(targets):
        total[target] += signs[number // len(contributions)] * contributions[number % len(contributions)]
    return total


@pytest.mark.parametrize("signs", [(1.0,), (1.0, -1.0, -1.0, 1.0)])
@pytest.mark.parametrize("columns", [(), (1,), (40,), (3, 50)])
@pytest.mark.parametrize("kind", [float, complex])
def test_narrow_and_wide_batches_land_where_adding_one_by_one_puts_them(signs, columns, kind):
    random = np.random.default_rng(3)
    contributions = random.integers(-99, 99, size=(30, *columns)).astype(kind)
    targets = random.integers(0, SIZE, size=30 * len(signs)) ** 2 // SIZE  # row 0 is crowded, some stay empty
    found = Scatter(targets, SIZE, signs=signs)(contributions)
    assert np.array_equal(found, added_one_by_one(targets, contributions, signs))


@pytest.mark.parametrize("columns", [1, 40])
def test_without_targets_every_row_is_zero(columns):
    assert np.array_equal(Scatter(np.zeros(0, dtype=np.intp), SIZE)(np.zeros((0, columns))), np.zeros((SIZE, columns)))


def test_a_wide_batch_rounds_as_its_columns_do_one_by_one():
    random = np.random.default_rng(4)
    contributions = random.normal(size=(30, 64))
    scatter = Scatter(random.integers(0, SIZE, size=30), SIZE)
    one_by_one = np.hstack([scatter(contributions[:, [column]]) for column in range(64)])
    assert np.array_equal(scatter(contributions), one_by_one)
