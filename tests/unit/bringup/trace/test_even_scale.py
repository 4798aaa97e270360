from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from lugwright.bringup.trace.even_scale import FLOORS, OVER_RANGE_OHM, TOP_OHM, blur, even, plain, slope

VOLTS = ("V dc", "V ac", "ripple V ac", "signal V ac")


@given(st.sampled_from(VOLTS), st.floats(-600.0, 600.0))
def test_a_value_comes_back_from_its_place(quantity: str, value: float) -> None:
    assert plain(quantity, even(quantity, value)) == pytest.approx(value, abs=1e-9, rel=1e-9)


@given(st.floats(0.0, 6e7))
def test_ohms_come_back_from_their_place(ohm: float) -> None:
    assert plain("ohm", even("ohm", ohm)) == pytest.approx(ohm, abs=1e-6, rel=1e-9)


def test_over_range_has_one_place_whatever_lies_behind_it() -> None:
    assert even("ohm", math.inf) == even("ohm", 2.0 * TOP_OHM) == np.arcsinh(OVER_RANGE_OHM / FLOORS["ohm"])
    assert plain("ohm", even("ohm", math.inf)) == math.inf
    assert even("ohm", math.inf) > even("ohm", TOP_OHM) + 1.0


@pytest.mark.parametrize("quantity", VOLTS)
def test_a_percent_is_a_percent_far_above_the_floor(quantity: str) -> None:
    assert even(quantity, 101.0) - even(quantity, 100.0) == pytest.approx(0.00995, rel=1e-3)
    assert slope(quantity, 100.0) == pytest.approx(0.01, rel=1e-3)


def test_an_error_larger_than_the_value_reaches_to_the_other_sign_and_no_further() -> None:
    assert blur("V dc", 0.0, 1.0) == pytest.approx(float(even("V dc", 1.0)))
    assert blur("V dc", 0.0, 1.0) < 0.1 * 1.0 * slope("V dc", 0.0)


def test_an_error_that_reaches_over_the_top_is_no_more_than_one_below_it() -> None:
    assert blur("ohm", 5e7, 3.5e7) == pytest.approx(float(blur("ohm", 5e6, 3.5e6)), rel=1e-6)


def test_a_small_error_is_the_slope_times_the_error() -> None:
    assert blur("V dc", 200.0, 0.1) == pytest.approx(0.1 * float(slope("V dc", 200.0)), rel=1e-5)
