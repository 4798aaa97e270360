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


def _raised(solved: Solved, by_v: float) -> Solved:
    """Return a circuit whose volts, and those of its rectifiers' cycle, are higher."""
    assert solved.cycle is not None
    cycle = replace(solved.cycle, mean_v=solved.cycle.mean_v + by_v)
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


def test_volts_and_currents_of_a_cycle_are_mixed_alike(solved: Solved) -> None:
    """Each diode's wave is made of both, and has no corner where a diode turns on."""
    assert solved.cycle is not None
    passed = Passed(0.0, solved)
    louder = replace(solved.cycle, port_v=solved.cycle.port_v + 40.0, port_a=2.0 * solved.cycle.port_a)
    passed.add(1.0, replace(solved, cycle=louder))
    guess = passed.near(0.25).cycle
    assert guess is not None
    assert guess.port_v == pytest.approx(solved.cycle.port_v + 10.0)
    assert guess.port_a == pytest.approx(1.25 * solved.cycle.port_a)


def test_the_same_place_again_takes_the_place_of_the_first(solved: Solved) -> None:
    passed = Passed(0.0, solved)
    passed.add(0.0, _raised(solved, 1.0))
    assert _raise_v(passed.near(0.0), solved) == pytest.approx((1.0, 1.0))
