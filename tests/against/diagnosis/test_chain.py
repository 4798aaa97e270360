"""H-3: four buffers in a chain, the output wrong: the best place to look is the middle, and it halves what is left."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from lugwright.bringup.trace.evidence import Readings
from lugwright.bringup.trace.next_reading import next_readings
from lugwright.bringup.trace.posterior import posterior
from lugwright.bringup.trace.priors import Priors
from lugwright.bringup.trace.records import Predictions, Probe

WRONG = 20.0  # spreads between a right and a wrong output
PLAIN = Priors(none_of_these=1e-9, wrong_reading=1e-9, scales=((1.0, 1.0),))


def _chain(length: int) -> Predictions:
    """Return the good chain and one fault in each buffer: every output from the faulty one on is wrong."""
    wrong = np.array([[0.0] * length, *np.triu(np.full((length, length), WRONG))])
    probes = tuple(Probe("on", f"out {k}", "ground", "V dc", f"output {k}", 10.0, 0.0) for k in range(length))
    ones = np.ones(wrong.shape)
    return Predictions(probes, wrong, np.zeros((*wrong.shape, 1)), ones, ones.astype(bool))


@pytest.mark.parametrize(("length", "bits"), [(4, 1.0), (8, 1.0), (6, 1.0)])
def test_the_middle_is_looked_at_first_and_tells_one_bit(length: int, bits: float, tolerance: dict[str, Any]) -> None:
    predictions = _chain(length)
    readings = Readings(np.array([length - 1]), np.array([WRONG]), np.zeros(1))
    found = posterior(predictions, readings, np.log(np.full(length + 1, 1.0 / (length + 1))), priors=PLAIN)
    best = next_readings(predictions, readings, found, np.arange(length - 1), priors=PLAIN)[0]
    assert best.at == length // 2 - 1
    assert best.bits == pytest.approx(bits, abs=tolerance["bits"])


def test_unequal_odds_move_the_best_place_to_where_the_chances_halve(tolerance: dict[str, Any]) -> None:
    """With 1/2, 1/4, 1/8, 1/8 the output of the first buffer halves them, though it is not the middle."""
    predictions = _chain(4)
    readings = Readings(np.array([3]), np.array([WRONG]), np.zeros(1))
    found = posterior(predictions, readings, np.log([1e-9, 0.5, 0.25, 0.125, 0.125]), priors=PLAIN)
    best = next_readings(predictions, readings, found, np.arange(3), priors=PLAIN)[0]
    assert best.at == 0
    assert best.bits == pytest.approx(1.0, abs=tolerance["bits"])
