"""LU factors on a fixed pattern against dense solving."""

from __future__ import annotations

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st

from lugwright.solve.sparse_lu import factor, find_pattern, solve_factored, solve_transposed


@settings(deadline=None, max_examples=60)
@given(st.integers(1, 14), st.integers(1, 4), st.integers(0, 10_000), st.booleans())
def test_solution_agrees_with_dense_solving(size: int, batch: int, seed: int, is_complex: bool) -> None:
    random = np.random.default_rng(seed)
    entries = {(i, i) for i in range(size)} | {tuple(random.integers(0, size, 2)) for _ in range(2 * size)}
    entries |= {(j, i) for i, j in entries}
    pattern = find_pattern(size, [(int(i), int(j)) for i, j in entries])
    values = np.zeros((pattern.entries + 1, batch), dtype=complex if is_complex else float)
    dense = np.zeros((batch, size, size), dtype=values.dtype)
    for i, j in entries:
        number = random.normal(size=batch) + (4.0 * size if i == j else 0.0)
        values[pattern.slot[int(i), int(j)]] = number * (1 + 0.3j if is_complex else 1)
        dense[:, i, j] = values[pattern.slot[int(i), int(j)]]
    right = random.normal(size=(size, 3, batch))
    found = solve_factored(pattern, factor(pattern, values), right)
    for k in range(batch):
        assert np.allclose(dense[k] @ found[:, :, k], right[:, :, k], atol=1e-9)


def test_single_right_side_is_the_wide_one_squeezed() -> None:
    pattern = find_pattern(3, [(0, 1), (1, 2)])
    values = np.ones((pattern.entries + 1, 2))
    for i in range(3):
        values[pattern.slot[i, i]] = 5.0
    right = np.arange(6.0).reshape(3, 2)
    factors = factor(pattern, values)
    wide = solve_factored(pattern, factors, right[:, None, :])[:, 0]
    assert np.array_equal(solve_factored(pattern, factors, right), wide)


@settings(deadline=None, max_examples=40)
@given(st.integers(1, 14), st.integers(1, 4), st.integers(0, 10_000), st.booleans())
def test_transposed_solution_agrees_with_dense_solving(size: int, batch: int, seed: int, is_complex: bool) -> None:
    random = np.random.default_rng(seed)
    entries = {(i, i) for i in range(size)} | {tuple(random.integers(0, size, 2)) for _ in range(2 * size)}
    entries |= {(j, i) for i, j in entries}
    pattern = find_pattern(size, [(int(i), int(j)) for i, j in entries])
    values = np.zeros((pattern.entries + 1, batch), dtype=complex if is_complex else float)
    dense = np.zeros((batch, size, size), dtype=values.dtype)
    for i, j in entries:
        number = random.normal(size=batch) + (4.0 * size if i == j else 0.0)
        values[pattern.slot[int(i), int(j)]] = number * (1 + 0.3j if is_complex else 1)
        dense[:, i, j] = values[pattern.slot[int(i), int(j)]]
    right = random.normal(size=(size, batch))
    found = solve_transposed(pattern, factor(pattern, values), right)
    for k in range(batch):
        assert np.allclose(dense[k].T @ found[:, k], right[:, k], atol=1e-9)


@settings(deadline=None, max_examples=40)
@given(st.integers(1, 14), st.integers(0, 10_000))
def test_some_rows_solved_by_themselves_are_those_of_the_whole_to_the_bit(size: int, seed: int) -> None:
    random = np.random.default_rng(seed)
    entries = [(i, i) for i in range(size)]
    entries += [(int(i), int(j)) for i, j in random.integers(0, size, (2 * size, 2))]
    pattern = find_pattern(size, entries)
    values = np.zeros((pattern.entries + 1, 2))
    for (i, j), slot in pattern.slot.items():
        values[slot] = random.normal(size=2) + (4.0 * size if i == j else 0.0)
    factors = factor(pattern, values)
    rows = np.unique(random.integers(0, size, 3))
    right = np.zeros((size + 1, 2))
    right[rows] = random.normal(size=(len(rows), 2))
    whole = solve_factored(pattern, factors, right[:-1])
    reach = pattern.reaching(int(r) for r in rows)
    alone = np.zeros((reach.pattern.size, 2))
    alone[reach.where[rows]] = right[rows]
    found = solve_factored(reach.pattern, factors, alone)
    assert np.array_equal(found[reach.where[rows]], whole[rows])
    assert reach.where[-1] == reach.pattern.size
