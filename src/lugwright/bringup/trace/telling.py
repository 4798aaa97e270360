"""Which readings tell most about a long list of hypotheses: those that are off, then those that cover the list."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from lugwright.bringup.trace.records import Array

FAR = 3.0  # spreads: a hypothesis that moves a reading this far is told by it


def telling_first(moved: Array, off: Array, count: int) -> NDArray[np.int_]:
    """Return all readings, the ones that tell most first.

    Half of the first ones are those farthest off what a good build shows. The others are chosen so that every
    hypothesis is told by some of them: each takes what tells most of those that the ones before left untold.

    Parameters
    ----------
    moved : Array
        How far each hypothesis moves each reading from the good build's, in spreads. (hypothesis, reading) [-]
    off : Array
        How far each reading is off the good build's, in spreads. (reading) [-]
    count : int
        How many are to be chosen with care.

    Returns
    -------
    NDArray[np.int_]
        Places of the readings.

    Source
    ------
    Own choice: a greedy cover.
    """
    worst = np.argsort(-np.abs(off), kind="stable")[: count // 2]
    told = np.minimum(np.abs(moved) / FAR, 1.0) ** 2
    untold = np.prod(1.0 - 0.9 * told[:, worst], axis=1)
    chosen, left = worst.tolist(), np.ones(len(off), dtype=bool)
    left[worst] = False
    while len(chosen) < min(count, len(off)):
        best = int(np.argmax(np.where(left, untold @ told, -1.0)))
        chosen.append(best)
        left[best] = False
        untold = untold * (1.0 - 0.9 * told[:, best])
    rest = np.flatnonzero(left)
    return np.array([*chosen, *rest[np.argsort(-np.sum(told[:, rest], axis=0), kind="stable")]], dtype=int)
