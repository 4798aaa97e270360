"""What to look at next: cheap, and ranked with what a meter would tell."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
import pytest

from lugwright.bringup.trace.looks import Looks
from lugwright.bringup.trace.posterior import Posterior
from lugwright.bringup.trace.records import NextReading, Probe
from lugwright.bringup.trace.sign_rates import RATES, faint_share, hum_share, silent_share
from lugwright.bringup.trace.told_signs import SignChances

HEATER = Probe("all tubes", "heater dark V2", "", "sign", "heater dark V2", 5.0, 0.0)
RINGS = Probe("all tubes", "rings V2", "", "sign", "rings V2", 15.0, 0.0)
PLATE = Probe("all tubes", "V2.1", "ground", "V dc", "V2 pin 1 to ground", 15.0, 45.0)
CHANCES = SignChances(np.array([[0.03, 0.1], [0.9, 0.1], [0.03, 0.1]]), np.array([0.3, 0.3]))
LOOKS = Looks((HEATER, RINGS), CHANCES, {HEATER: 5.0, RINGS: 15.0, PLATE: 60.0})
FOUND = Posterior(np.array([0.2, 0.4, 0.3]), 0.1, np.zeros(0), np.zeros((3, 0)))
READING = NextReading(PLATE, 1.0, ())


def named(hypotheses: Sequence[int]) -> tuple[str, ...]:
    return tuple(("good", "dark", "other")[h] for h in hypotheses)


def test_a_look_that_costs_nothing_comes_before_a_reading_that_tells_as_much() -> None:
    first, second = LOOKS.among([READING], FOUND, named, 3)
    assert (first.probe, second.probe) == (HEATER, PLATE)
    assert 0.5 < first.bits < 0.9
    assert len(LOOKS.among([READING], FOUND, named, 1)) == 1


def test_a_look_that_tells_nothing_is_not_proposed() -> None:
    assert RINGS not in {each.probe for each in LOOKS.among([], FOUND, named, 9)}


def test_both_answers_say_what_is_left() -> None:
    yes, no = LOOKS.among([], FOUND, named, 1)[0].outcomes
    assert yes == (0.5, math.inf, ("dark",))
    assert no == (-math.inf, 0.5, ("other", "good", "dark"))


def test_a_look_tells_some_apart_and_shows_some() -> None:
    assert LOOKS.tell_apart([1, 2])
    assert not LOOKS.tell_apart([0, 2])
    assert not LOOKS.tell_apart([1])
    assert LOOKS.show().tolist() == [False, True, False]


def test_shares_of_ears() -> None:
    assert hum_share(np.array([0.0, 0.02, 1.0])) == pytest.approx([0.0, 0.5, 1.0], abs=0.001)
    assert silent_share(np.array([0.0, 0.02, 1.0])) == pytest.approx([1.0, 0.5, 0.0], abs=0.001)
    assert faint_share(np.array([0.0, 0.1, 0.35, 1.0])) == pytest.approx([0.0, 0.957, 0.5, 0.011], abs=0.005)


def test_no_sign_is_certain_either_way() -> None:
    assert all(0.0 < rate.invented < rate.told < 1.0 for rate in RATES.values())
