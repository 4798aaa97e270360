"""Which two faults at once could explain the readings: a quick look at all pairs, so that few have to be solved."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from lugwright.bringup.trace.broad import spread_alone
from lugwright.bringup.trace.evidence import Readings
from lugwright.bringup.trace.groups import GOOD, TELLING
from lugwright.bringup.trace.records import Array, Predictions
from lugwright.bringup.trace.told_signs import ToldSigns

SINGLES = 250  # faults that explain something; more never mattered in worlds made up for the tests
ENOUGH = 25.0  # squared spreads: what is five spreads off is off, however far


def likely_pairs(
    predictions: Predictions,
    readings: Readings,
    odds: Array,
    seen: NDArray[np.bool_],
    *,
    signs: ToldSigns | None = None,
    most: int = 100,
) -> tuple[tuple[int, int], ...]:
    """Return pairs of faults that may explain the readings together, the likeliest first.

    Two faults are put together in two rough ways: their deviations add up, or in each reading the greater deviation
    stands alone. Only pairs of which both faults can be seen in the readings are returned: a fault that the readings
    do not see may be there beside any other, and says nothing.

    Parameters
    ----------
    predictions : Predictions
        What the good build and every single fault say.
    readings : Readings
        What was read.
    odds : Array
        How often each fault is made, hypothesis 1 first. [-]
    seen : NDArray[np.bool_]
        Which faults the readings can tell from a good build, hypothesis 1 first.
    signs : ToldSigns | None
        What eyes and ears told besides; each counts as a reading.
    most : int
        How many pairs to return.

    Returns
    -------
    tuple[tuple[int, int], ...]
        Hypotheses, the lower number first.

    Source
    ------
    Own choice; superposition holds for small deviations in a linear circuit.
    """
    if not len(readings.at) + (0 if signs is None else len(signs.seen)) or len(odds) < 2:
        return ()
    off, spread = _in_spreads(predictions, readings)
    if signs is not None:
        looked, told = signs.as_readings()
        off, spread = np.concatenate([off, looked], axis=1), np.concatenate([spread, told])
    log_odds = np.log(odds / np.sum(odds))
    good = np.minimum(spread**2, ENOUGH)
    gain = np.sum(np.maximum(good - np.minimum((spread - off) ** 2, ENOUGH), 0.0), axis=1)
    usable = np.flatnonzero(seen & (gain > 0.0) & np.isfinite(log_odds))
    kept = usable[np.argsort(-(0.5 * gain + log_odds)[usable], kind="stable")[:SINGLES]]
    if len(kept) < 2:
        return ()
    first, second = np.triu_indices(len(kept), 1)
    first, second = kept[first], kept[second]
    score = _fit(off[first], off[second], spread) + log_odds[first] + log_odds[second]
    order = np.argsort(-score, kind="stable")
    best = order[np.isfinite(score[order])][:most]
    return tuple((int(min(i, j)) + 1, int(max(i, j)) + 1) for i, j in zip(first[best], second[best], strict=True))


def _in_spreads(predictions: Predictions, readings: Readings) -> tuple[Array, Array]:
    """Return how far each fault moves each reading, and how far the reading was, in spreads of a good build."""
    sd = np.array([spread_alone(predictions, int(at))[GOOD] for at in readings.at])
    sd = np.hypot(sd, readings.noise)
    good = predictions.expected[GOOD, readings.at]
    known = _both_known(predictions, readings.at)
    off = np.where(known, predictions.expected[1:][:, readings.at] - good, 0.0) / sd
    return off, np.where(predictions.known[GOOD, readings.at], readings.value - good, 0.0) / sd


def _both_known(predictions: Predictions, at: NDArray[np.int_]) -> NDArray[np.bool_]:
    return np.asarray(predictions.known[1:][:, at] & predictions.known[GOOD, at])


def _fit(first: Array, second: Array, seen: Array) -> Array:
    """Return how well two faults together explain what was seen; nothing where one of them would do alone."""
    added = first + second
    greater = np.where(np.abs(first) > np.abs(second), first, second)
    score = np.full(len(first), -np.inf)
    for both in (added, greater):
        alone = np.minimum(np.sum((both - first) ** 2, axis=1), np.sum((both - second) ** 2, axis=1))
        misfit = -0.5 * np.sum(np.minimum((seen - both) ** 2, ENOUGH), axis=1)
        score = np.maximum(score, np.where(0.5 * alone >= TELLING, misfit, -np.inf))
    return score
