"""H-6, H-9: what a set of readings cannot tell apart is one answer, and is not ranked by them."""

from __future__ import annotations

import numpy as np
import pytest

from lugwright.bringup.trace.evidence import Readings
from lugwright.bringup.trace.posterior import posterior
from lugwright.bringup.trace.priors import log_priors
from lugwright.bringup.trace.records import Array, Predictions, Probe
from lugwright.bringup.trace.verdict import verdict_of, weigh

SUPPLY_V, R1_OHM, R2_OHM = 10.0, 3e3, 2e3
SIZE = 0.5  # of a fault: one standard deviation of ln(value)
KEYS = ("R1", "R2")


def _sensitivities() -> Array:
    """Return d reading / d ln(value): (reading, resistor); the middle in volts, the supply current in milliamperes."""
    total = R1_OHM + R2_OHM
    middle = SUPPLY_V * R1_OHM * R2_OHM / total**2
    supply_ma = 1e3 * SUPPLY_V / total
    return np.array([[-middle, middle], [-supply_ma * R1_OHM / total, -supply_ma * R2_OHM / total]])


def _predictions() -> Predictions:
    slopes = _sensitivities()
    loading = np.zeros((3, 2, 1))
    loading[1:, :, 0] = SIZE * slopes.T
    expected = np.tile([SUPPLY_V * R2_OHM / (R1_OHM + R2_OHM), 1e3 * SUPPLY_V / (R1_OHM + R2_OHM)], (3, 1))
    probes = tuple(Probe("on", name, "ground", "V dc", name, 10.0, 0.0) for name in ("middle", "current"))
    return Predictions(probes, expected, loading, np.full((3, 2), 0.02), np.ones((3, 2), dtype=bool))


def _read(*off: float) -> Readings:
    return Readings(np.arange(len(off)), _predictions().expected[0, : len(off)] + off, np.zeros(len(off)))


def test_the_middle_alone_has_rank_one_and_is_one_group() -> None:
    assert np.linalg.matrix_rank(_sensitivities()[:1]) == 1
    weighed = weigh(_predictions(), _read(-0.9), KEYS, np.array([1.0, 2.0]))
    found = verdict_of(weighed, np.array([], dtype=int), lambda _, value: value)
    assert [suspect.faults for suspect in found.suspects] == [("R2", "R1")]
    assert found.suspects[0].for_good


def test_the_current_beside_it_has_rank_two_and_tells_them_apart() -> None:
    slopes = _sensitivities()
    assert np.linalg.matrix_rank(slopes) == 2
    off = 0.4 * slopes[:, 0]  # R1 is high
    weighed = weigh(_predictions(), _read(*off), KEYS, np.array([1.0, 2.0]))
    found = verdict_of(weighed, np.array([], dtype=int), lambda _, value: value)
    assert found.suspects[0].faults == ("R1",)
    assert found.suspects[0].chance > 0.95


@pytest.mark.parametrize("off", [-2.0, -0.9, 0.3, 1.7])
def test_inside_the_group_readings_change_nothing(off: float) -> None:
    """H-9: whatever was read, the share of each inside the group is that of its odds, and their order too."""
    found = posterior(_predictions(), _read(off), log_priors(np.array([1.0, 2.0])))
    assert found.chance[2] == pytest.approx(2.0 * found.chance[1], rel=1e-9)
