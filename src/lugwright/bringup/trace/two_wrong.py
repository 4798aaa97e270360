"""Two readings taken wrongly at once: rare, and looked at only where nothing simpler explains what was read."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import combinations

import numpy as np
from numpy.typing import NDArray

from lugwright.bringup.trace.broad import spread_alone
from lugwright.bringup.trace.evidence import Readings, evidence
from lugwright.bringup.trace.records import Array, Predictions

LEADERS = 60  # hypotheses that readings far off are counted for
LOOKED_AT = 400  # hypotheses that two wrong readings are thought of for
WORST = 4  # readings of each leader that may be two wrong ones
MOST_PAIRS = 12
FAR = 3.0  # spreads: nearer readings are not doubted
ENOUGH = 25.0  # squared spreads: what is five spreads off is off, however far


@dataclass(frozen=True)
class TwoWrong:
    """Pairs of readings that may both be wrong, and the hypotheses it is thought of for."""

    pairs: tuple[tuple[int, int], ...]  # places in the readings
    rows: NDArray[np.int_]  # hypotheses

    def log_without(
        self, predictions: Predictions, readings: Readings, log_broad: Array, scales: Sequence[tuple[float, float]]
    ) -> Array:
        """Return how well every hypothesis explains the readings without each pair of them. (hypothesis, pair)

        Parameters
        ----------
        predictions : Predictions
            What every hypothesis says.
        readings : Readings
            What was read.
        log_broad : Array
            Logarithm of the density of each reading where a hypothesis says nothing of it. [-]
        scales : Sequence[tuple[float, float]]
            Factors by which spreads may be off, and the chance of each. [-]

        Returns
        -------
        Array
            Logarithm of a density; minus infinity where two wrong readings are not thought of.

        Source
        ------
        `evidence` of the other readings.
        """
        found = np.full((len(predictions.expected), len(self.pairs)), -np.inf)
        few = _rows(predictions, self.rows)
        for k, pair in enumerate(self.pairs):
            left = np.setdiff1d(np.arange(len(readings.at)), pair)
            found[self.rows, k] = evidence(few, readings.some(left), log_broad[left], scales).all_readings
        return found


def two_wrong(predictions: Predictions, readings: Readings, log_prior: Array) -> TwoWrong | None:
    """Return which two readings may both be wrong; None where no two are far off under anything likely.

    Hypotheses are ranked by how many readings they explain, however far off the others are: of the best ones the
    readings that are farthest off are paired.

    Parameters
    ----------
    predictions : Predictions
        What every hypothesis says.
    readings : Readings
        What was read.
    log_prior : Array
        Logarithms of what was believed before. (hypothesis) [-]

    Returns
    -------
    TwoWrong or None
        The pairs that most hypotheses ask for, by their weight.

    Source
    ------
    Own choice, tested on drawn slips.
    """
    if len(readings.at) < 3:
        return None
    off = _spreads_off(predictions, readings)
    score = log_prior - 0.5 * np.sum(np.minimum(off**2, ENOUGH), axis=1)
    order = np.argsort(-score, kind="stable")
    weights: dict[tuple[int, int], float] = {}
    for h in order[:LEADERS]:
        worst = [int(k) for k in np.argsort(-np.abs(off[h]), kind="stable")[:WORST] if abs(off[h, k]) > FAR]
        for one, other in combinations(sorted(worst), 2):
            pair = one, other
            weights[pair] = weights.get(pair, 0.0) + float(np.exp(score[h] - score[order[0]]))
    pairs = tuple(sorted(sorted(weights, key=lambda pair: -weights[pair])[:MOST_PAIRS]))
    return TwoWrong(pairs, np.sort(order[:LOOKED_AT])) if pairs else None


def _spreads_off(predictions: Predictions, readings: Readings) -> Array:
    """Return how far each reading is off each hypothesis, all spread of that one counted. (hypothesis, reading)"""
    sd = np.stack([spread_alone(predictions, int(at)) for at in readings.at], axis=1)
    off = (readings.value - predictions.expected[:, readings.at]) / np.hypot(sd, readings.noise)
    return np.asarray(np.where(predictions.known[:, readings.at], off, 0.0))


def _rows(predictions: Predictions, rows: NDArray[np.int_]) -> Predictions:
    return Predictions(
        predictions.probes, predictions.expected[rows], predictions.loading[rows], predictions.noise[rows],
        predictions.known[rows],
    )  # fmt: skip
