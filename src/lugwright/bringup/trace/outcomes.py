"""What each outcome of a reading would mean: intervals of it, and what is left in each."""

from __future__ import annotations

import math
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from lugwright.bringup.trace.normal_law import below
from lugwright.bringup.trace.records import Array

MOST_CUTS = 4  # five outcomes are as many as anybody keeps in mind with a probe in hand
WORTH_BITS = 0.05  # a cut that tells less is not made
PLACES = 100  # where a cut may lie
LEFT = 0.95  # the likeliest that make up this share of an outcome are named
TOLD = 0.02  # and none that is less of it than this


@dataclass(frozen=True)
class Outcome:
    """A stretch of what may be read, on the scale of the predictions."""

    low: float
    high: float
    chance: float
    left: tuple[int, ...]  # hypotheses, likeliest first


def outcomes_of(
    mean: Array,
    sd: Array,
    known: NDArray[np.bool_],
    hypotheses: NDArray[np.int_],
    weight: Array,
    *,
    top: float = math.inf,
) -> tuple[Outcome, ...]:
    """Return the stretches of one reading that tell most, and the hypotheses left in each.

    Parameters
    ----------
    mean : Array
        What each hypothesis expects there. (hypothesis)
    sd : Array
        Standard deviation of it. (hypothesis)
    known : NDArray[np.bool_]
        False where a hypothesis says nothing; such a one is left in every outcome as it was.
    hypotheses : NDArray[np.int_]
        Their numbers.
    weight : Array
        Their chances. [-]
    top : float
        From where on a meter shows over range: no stretch ends beyond it but the last.

    Returns
    -------
    tuple[Outcome, ...]
        From low to high, without gaps.

    Source
    ------
    Own choice: cuts are added one by one, each where it brings most information, while it brings enough.
    """
    cuts = np.sort(np.concatenate([mean[known] - 2.0 * sd[known], mean[known] + 2.0 * sd[known]]))
    if not len(cuts):
        return ()
    middles = np.minimum(0.5 * (cuts[1:] + cuts[:-1]), top)
    places = np.unique(middles[np.linspace(0, len(middles) - 1, min(PLACES, len(middles))).astype(int)])
    under = below(places[:, None], mean, sd)
    under = np.vstack([np.zeros(len(mean)), under, np.ones(len(mean))])  # (edge, hypothesis)
    chosen = _best_cuts(under[:, known], weight[known])
    edges = [-math.inf, *places, math.inf]
    found = []
    for low, high in pairwise(chosen):
        joint = weight * np.where(known, under[high] - under[low], 1.0 / (len(chosen) - 1))
        found.append(Outcome(float(edges[low]), float(edges[high]), float(np.sum(joint)), left_of(joint, hypotheses)))
    return tuple(found)


def left_of(joint: Array, hypotheses: NDArray[np.int_]) -> tuple[int, ...]:
    """Return the hypotheses left in an outcome, likeliest first.

    Parameters
    ----------
    joint : Array
        Chance of each with this outcome. [-]
    hypotheses : NDArray[np.int_]
        Their numbers.

    Returns
    -------
    tuple[int, ...]
        Those that make up nearly all of it.

    Source
    ------
    Own choice: the figures above.
    """
    order = np.argsort(-joint, kind="stable")
    share = joint[order] / max(float(np.sum(joint)), 1e-300)
    before = np.cumsum(share) - share
    return tuple(int(h) for h in hypotheses[order[(before < LEFT) & (share >= TOLD)]])


def _best_cuts(under: Array, weight: Array) -> list[int]:
    """Return the edges kept, both ends among them."""
    weight = weight / np.sum(weight)
    chosen = [0, len(under) - 1]
    for _ in range(MOST_CUTS):
        gains = np.zeros(len(under))
        for low, high in pairwise(chosen):
            split = under[low + 1 : high]
            whole = _told(under[high] - under[low], weight)
            gains[low + 1 : high] = _told(split - under[low], weight) + _told(under[high] - split, weight) - whole
        best = int(np.argmax(gains))
        if gains[best] < WORTH_BITS:
            break
        chosen = sorted([*chosen, best])
    return chosen


def _told(share: Array, weight: Array) -> Array:
    """Return the part that stretches with these shares of each hypothesis have in the information. [bit]"""
    share = np.maximum(share, 0.0)
    mixed = share @ weight
    return np.asarray(
        (share * np.log2(np.maximum(share, 1e-300))) @ weight - mixed * np.log2(np.maximum(mixed, 1e-300))
    )
