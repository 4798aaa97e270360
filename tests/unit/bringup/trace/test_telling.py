"""Readings that tell most come first."""

from __future__ import annotations

import numpy as np

from lugwright.bringup.trace.telling import telling_first


def test_what_is_off_comes_first_then_what_covers_the_rest() -> None:
    moved = np.array([[0, 0, 0, 0, 0], [9, 9, 9, 0, 0], [9, 9, 9, 0, 0], [0, 0, 0, 9, 0]], dtype=float)
    order = telling_first(moved, np.array([0.0, 0.0, 0.1, 0.0, 7.0]), 4)
    assert order.tolist()[:3] == [4, 2, 3]  # farthest off, next off; then the one for the fault left untold
    assert sorted(order.tolist()) == [0, 1, 2, 3, 4]


def test_a_reading_that_repeats_another_comes_after_one_that_tells_something_new() -> None:
    moved = np.array([[9, 9, 0], [9, 9, 0], [0, 0, 9]], dtype=float)
    order = telling_first(moved, np.zeros(3), 3).tolist()
    assert order.index(2) < max(order.index(0), order.index(1))
