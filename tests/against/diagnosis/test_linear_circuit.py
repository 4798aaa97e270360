"""H-8: two voltages at one frequency tell which part of a linear circuit is off, but for tolerances."""

from __future__ import annotations

from typing import Any

import numpy as np

from lugwright.bringup.trace.evidence import Readings
from lugwright.bringup.trace.posterior import posterior
from lugwright.bringup.trace.priors import Priors, log_priors
from lugwright.bringup.trace.records import Array, Predictions, Probe

OHM, FARAD, OMEGA = 1e3, 1e-6, 700.0
NODES = (0, 2)  # first and third of the ladder are read
PARTS = ("R1", "C1", "R2", "C2", "R3", "C3")
ANY_SIZE = 3.0  # volts: how far a fault may move the readings
EXACT, METER = 1e-6, 1e-3  # volts
SEED = 630951


def _volts(factors: Array) -> Array:
    """Return the read volts of a three-section ladder fed by 1 V, real and imaginary parts in turn."""
    g = 1.0 / (OHM * factors[0::2])
    c = 1j * OMEGA * FARAD * factors[1::2]
    matrix = np.diag(g + c + np.append(g[1:], 0.0)).astype(complex)
    for k in (1, 2):
        matrix[k, k - 1] = matrix[k - 1, k] = -g[k]
    solved = np.linalg.solve(matrix, np.array([g[0], 0.0, 0.0]))
    return np.array([part for k in NODES for part in (solved[k].real, solved[k].imag)])


def _moved(part: int, factor: float) -> Array:
    factors = np.ones(6)
    factors[part] = factor
    return _volts(factors) - _volts(np.ones(6))


def _directions() -> Array:
    """Return, for each part, the two ways in which a change of any size moves the readings: (part, 4, 2).

    The ratio of the two changes does not depend on the size of the fault; only a complex factor does.
    """
    found = np.zeros((6, 4, 2))
    for k in range(6):
        d = _moved(k, 1.1)
        ratio = (d[2] + 1j * d[3]) / (d[0] + 1j * d[1])
        found[k] = [[1.0, 0.0], [0.0, 1.0], [ratio.real, -ratio.imag], [ratio.imag, ratio.real]]
        found[k] /= np.linalg.norm(found[k, :, 0])
    return found


def _predictions(*, tolerance: float, noise: float) -> Predictions:
    loading = np.zeros((7, 4, 2 + 6))
    loading[1:, :, :2] = ANY_SIZE * _directions()
    slopes = np.array([(_moved(k, 1.001) - _moved(k, 0.999)) / 0.002 for k in range(6)]).T
    loading[:, :, 2:] = tolerance / np.sqrt(3.0) * slopes
    probes = tuple(Probe("on", f"{n}", "ground", "V ac", f"{n}", 1.0, 0.0) for n in range(4))
    ones = np.ones((7, 4), dtype=bool)
    return Predictions(probes, np.tile(_volts(np.ones(6)), (7, 1)), loading, np.full((7, 4), noise), ones)


def _chances(shown: Array, predictions: Predictions) -> Array:
    plain = Priors(none_of_these=1e-9, wrong_reading=1e-9, scales=((1.0, 1.0),))
    readings = Readings(np.arange(4), shown, np.zeros(4))
    return posterior(predictions, readings, log_priors(np.ones(6), priors=plain), priors=plain).chance


def _groups() -> list[set[int]]:
    """Return the parts that move the readings in the same way, whatever the size of the fault."""
    ways, groups = _directions(), []
    for part in range(6):
        same = [g for g in groups if np.linalg.matrix_rank(np.hstack([ways[part], ways[min(g)]]), tol=1e-6) == 2]
        if same:
            same[0].add(part)
        else:
            groups.append({part})
    return groups


def test_only_the_two_parts_ahead_of_the_first_node_move_both_alike() -> None:
    """What follows a node sees its voltage only, not what made it: R1 and C1 are an ambiguity group by theory."""
    assert _groups() == [{0, 1}, {2}, {3}, {4}, {5}]


def test_on_exact_data_every_single_fault_is_found(tolerance: dict[str, Any]) -> None:
    predictions = _predictions(tolerance=0.0, noise=EXACT)
    for group in _groups():
        for part in group:
            for factor in (0.1, 0.5, 0.9, 0.97, 1.03, 1.2, 3.0, 20.0):
                chance = _chances(_volts(np.ones(6)) + _moved(part, factor), predictions)
                of_group = chance[[member + 1 for member in group]]
                assert np.sum(of_group) > tolerance["sure"]
                assert np.ptp(of_group) < 1e-3  # inside the group nothing is claimed


def test_with_parts_of_five_percent_it_does_not_claim_to_be_sure(tolerance: dict[str, Any]) -> None:
    rng = np.random.default_rng(SEED)
    predictions = _predictions(tolerance=0.05, noise=METER)
    said, right = [], []
    for _ in range(300):
        part, factors = int(rng.integers(6)), rng.uniform(0.95, 1.05, 6)
        factors[part] *= 1.0 + rng.choice([-1.0, 1.0]) * rng.uniform(0.03, 0.3)
        chance = _chances(_volts(factors) + METER * rng.normal(size=4), predictions)
        best = 1 + int(np.argmax(chance[1:]))
        said.append(chance[best])
        right.append(best == part + 1)
    assert np.mean(said) < tolerance["not_sure"]
    assert np.mean(right) > 1.0 / 6.0
