from __future__ import annotations

import math

import numpy as np
import pytest

from lugwright.bringup.trace.even_scale import blur, even
from lugwright.bringup.trace.reading_noise import display_step, meter_error, own_doubt


@pytest.mark.parametrize(
    ("quantity", "value", "step"),
    [("V dc", 0.412, 1e-4), ("V dc", 5.9, 1e-3), ("V dc", -203.0, 0.1), ("ohm", 98.2e3, 100.0), ("ohm", 10.0, 0.1)],
)
def test_last_digit_of_a_display_of_6000_counts(quantity: str, value: float, step: float) -> None:
    assert display_step(quantity, value) == pytest.approx(step if quantity != "ohm" or value < 1e3 else 100.0)


def test_over_range_is_certain() -> None:
    assert meter_error("ohm", math.inf) == 0.0


def test_meter_error_is_a_share_and_some_digits() -> None:
    assert meter_error("V dc", 400.0) == pytest.approx(math.hypot(0.008 * 400.0, 2.0 * 0.1 / math.sqrt(12.0)))


def test_the_top_of_the_last_range_is_blurred() -> None:
    spread = own_doubt("ohm", np.array([1e6, 3e7, np.inf]))
    assert spread[0] < 0.01e6
    assert spread[1] > 1e7
    assert spread[2] > spread[1]


def test_just_under_the_top_over_range_is_not_expected_for_sure() -> None:
    """Leaks and moisture of tens of megohms are not known to a factor of two."""
    spread = float(blur("ohm", np.inf, own_doubt("ohm", np.array(np.inf))))
    assert 1.0 < (even("ohm", np.inf) - even("ohm", 57e6)) / spread < 2.5
    assert (even("ohm", np.inf) - even("ohm", 1e6)) / spread > 5.0
