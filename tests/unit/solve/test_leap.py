"""A row of rounds that creep is taken to its end; one that does not is left alone."""

from __future__ import annotations

import numpy as np
import pytest

from lugwright.solve.leap import Leaps

ASKED = np.array([[400.0], [-3.0], [0.0]])  # where a row leads (joint, 1)
ALONG = np.array([[1.0], [0.2], [0.0]])


def rounds(share: float, wanted: float, *, leap: bool) -> int:
    """Return how many rounds it takes until one moves less, each leaving a share of how far the last one was off."""
    leaps, v = Leaps(), ASKED + 10.0 * ALONG
    for count in range(1, 200):
        end = ASKED + share * (v - ASKED) + 1e-3 * (v - ASKED) ** 2 * ALONG
        if np.abs(end - v).max() < wanted:
            return count
        v = leaps.onward(v, end) if leap else end
    return 200


@pytest.mark.parametrize("share", [0.4, 0.6, -0.5])
def test_rounds_that_creep_are_taken_to_their_end(share: float) -> None:
    assert rounds(share, 1e-8, leap=True) <= 8 < 20 < rounds(share, 1e-8, leap=False)


def test_rounds_that_do_not_lie_on_a_line_go_on_as_they_are() -> None:
    leaps, rng = Leaps(), np.random.default_rng(1)
    for _ in range(20):
        start = rng.normal(size=(9, 1))
        end = start + rng.normal(size=(9, 1))
        assert leaps.onward(start, end) is end


def test_the_first_round_and_one_that_begins_a_new_row_stay() -> None:
    leaps = Leaps()
    first, second, third = ASKED + 4.0 * ALONG, ASKED + 2.0 * ALONG, ASKED + ALONG
    assert leaps.onward(first, second) is second
    assert leaps.onward(second, third) == pytest.approx(ASKED)
    leaps.forget()
    assert leaps.onward(second, third) is third
