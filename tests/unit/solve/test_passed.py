"""The guess from which a moving value is followed: a curve through the nearest places that it has passed."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from lugwright.solve.passed import Passed
from lugwright.solve.solved import Solved
from lugwright.workflow import open_build

EXAMPLES = Path(__file__).parents[3] / "examples"


@pytest.fixture(scope="module")
def solved() -> Solved:
    return open_build(EXAMPLES / "dunlin_5.toml").solved


def _raised(solved: Solved, by_v: float, swing_v: float = 0.0) -> Solved:
    """Return a circuit whose volts, and those of its rectifiers' cycle, are higher."""
    assert solved.cycle is not None
    cycle = replace(solved.cycle, mean_v=solved.cycle.mean_v + by_v, port_v=solved.cycle.port_v + swing_v)
    return replace(solved, dc=replace(solved.dc, volts=solved.dc.volts + by_v), cycle=cycle)


def _raise_v(guess: Solved, solved: Solved) -> tuple[float, float]:
    assert guess.cycle is not None
    assert solved.cycle is not None
    raised = guess.dc.volts - solved.dc.volts
    assert np.ptp(raised) < 1e-9
    return float(raised[0, 0]), float((guess.cycle.mean_v - solved.cycle.mean_v)[0])


def test_a_parabola_through_three_places_is_followed_exactly(solved: Solved) -> None:
    passed = Passed(0.0, solved)
    for at in (1.0, 2.0):
        passed.add(at, _raised(solved, 0.5 * at * at))
    assert _raise_v(passed.near(3.0), solved) == pytest.approx((4.5, 4.5))
    assert _raise_v(passed.near(1.5), solved) == pytest.approx((1.125, 1.125))


def test_two_places_give_a_line_and_one_gives_itself(solved: Solved) -> None:
    passed = Passed(0.0, solved)
    assert passed.near(5.0).dc is solved.dc
    passed.add(1.0, _raised(solved, 2.0))
    assert _raise_v(passed.near(2.0), solved) == pytest.approx((4.0, 4.0))


def test_places_close_together_are_not_stretched_far(solved: Solved) -> None:
    passed = Passed(0.0, solved)
    passed.add(0.001, _raised(solved, 1.0))
    assert _raise_v(passed.near(2.0), solved) == pytest.approx((1.0, 1.0))


def test_waveforms_far_apart_are_not_mixed(solved: Solved) -> None:
    assert solved.cycle is not None
    passed = Passed(0.0, solved)
    passed.add(1.0, _raised(solved, 0.01, swing_v=40.0))
    guess = passed.near(0.4).cycle
    assert guess is not None
    assert np.array_equal(guess.port_v, solved.cycle.port_v)


def test_the_same_place_again_takes_the_place_of_the_first(solved: Solved) -> None:
    passed = Passed(0.0, solved)
    passed.add(0.0, _raised(solved, 1.0))
    assert _raise_v(passed.near(0.0), solved) == pytest.approx((1.0, 1.0))
