"""Mains cycles of many wirings together: how columns are put together."""

from __future__ import annotations

import numpy as np

from lugwright.solve.rewired_cycles import alike_in_size


def test_columns_go_together_by_how_many_instants_conduct() -> None:
    groups = alike_in_size(np.array([3, 0, 15, 31, 32, 100, 0]))
    assert [list(group) for group in groups] == [[0, 2, 3], [4], [5]]


def test_where_nothing_conducts_nothing_is_solved() -> None:
    assert alike_in_size(np.zeros(4, dtype=np.intp)) == []
