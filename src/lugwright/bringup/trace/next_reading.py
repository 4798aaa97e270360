"""What to measure next: the reading expected to tell most for the time it takes and the risk it carries."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from lugwright.bringup.trace.ahead import Ahead, ahead
from lugwright.bringup.trace.evidence import Readings
from lugwright.bringup.trace.normal_law import below
from lugwright.bringup.trace.outcomes import Outcome, outcomes_of
from lugwright.bringup.trace.posterior import Posterior
from lugwright.bringup.trace.priors import PRIORS, Priors
from lugwright.bringup.trace.records import Array, Predictions

BINS = 24  # of the mixture of all outcomes at one probe; information found in bins is a little less than there is
MOST = 200  # hypotheses looked at
MASS = 0.999
EVERY_READING_S = 20.0  # reading the meter, writing it down, thinking: no reading is free


@dataclass(frozen=True)
class Choice:
    """A probe worth reading."""

    at: int  # which probe
    bits: float  # expected information
    outcomes: tuple[Outcome, ...]


def next_readings(
    predictions: Predictions,
    readings: Readings,
    found: Posterior,
    at: NDArray[np.int_],
    *,
    seconds: Array | None = None,
    priors: Priors = PRIORS,
    count: int = 3,
) -> tuple[Choice, ...]:
    """Return the readings worth taking next, best first.

    Parameters
    ----------
    predictions : Predictions
        What every hypothesis says.
    readings : Readings
        What was read.
    found : Posterior
        What the readings make of it.
    at : NDArray[np.int_]
        The probes that may be read now.
    seconds : Array | None
        What each of them costs, time and risk together; without it, as the probes say themselves. (probe) [s]
    priors : Priors
        What is believed of models.
    count : int
        How many to return.

    Returns
    -------
    tuple[Choice, ...]
        Best first, by bits per second.

    Source
    ------
    Shannon's information between a reading and what is wrong.
    """
    some, weight = likely(found)
    told = ahead(predictions, readings, some, at, scales=priors.scales, doubted=found.doubted)
    bits = information_bits(told, weight, found.none_of_these, top=readings.top)
    if seconds is None:
        seconds = np.array([predictions.probes[k].effort + predictions.probes[k].risk for k in at])
    rate = bits / (EVERY_READING_S + seconds)
    best = np.argsort(-rate, kind="stable")[:count]
    return tuple(
        Choice(
            int(at[k]), float(bits[k]),
            outcomes_of(told.mean[:, k], told.sd[:, k], told.known[:, k], some, weight, top=readings.top),
        )
        for k in best
    )  # fmt: skip


def likely(found: Posterior) -> tuple[NDArray[np.int_], Array]:
    """Return the hypotheses to be told apart, and their weights; where there are too many, some stand for all.

    What is likelier than its share is always among them; of the others every so many is taken, so that the picture
    of a fault list of which nothing is known yet stays true to it.
    """
    order = found.best(len(found.chance), MASS)
    if not np.sum(found.chance[order]) > 0.0:  # nothing on the list can be: any of it is as good a guess
        order = np.unique(np.linspace(0, len(found.chance) - 1, MOST).astype(int))
        return order, np.full(len(order), 1.0 / len(order))
    if len(order) <= MOST:
        return order, found.chance[order] / np.sum(found.chance[order])
    weight = found.chance[order]
    sure = 0
    while sure < MOST - 1 and weight[sure] * (MOST - sure) >= np.sum(weight[sure:]):
        sure += 1
    rest = np.sort(order[sure:])
    summed = np.cumsum(found.chance[rest])
    places = (np.arange(MOST - sure) + 0.5) / (MOST - sure) * summed[-1]
    picked = rest[np.unique(np.searchsorted(summed, places))]
    weights = np.concatenate([weight[:sure], np.full(len(picked), summed[-1] / len(picked))])
    return np.concatenate([order[:sure], picked]), weights / np.sum(weights)


def information_bits(told: Ahead, weight: Array, none_of_these: float, *, top: float = math.inf) -> Array:
    """Return the information that a reading of each probe is expected to bring.

    Parameters
    ----------
    told : Ahead
        What each hypothesis expects.
    weight : Array
        Chances of the hypotheses; sum to one. [-]
    none_of_these : float
        Chance of a fault that is not listed: its reading tells nothing of the listed ones. [-]
    top : float
        From where on a meter shows over range, and no more.

    Returns
    -------
    Array
        Bits. (probe)

    Source
    ------
    Shannon's mutual information of hypothesis and outcome, outcomes put in bins.
    """
    edges = np.minimum(bin_edges(told, weight, BINS), top)
    mixture, noise_bits = np.zeros((BINS, told.mean.shape[1])), np.zeros(told.mean.shape[1])
    heard = weight[:, None] * told.known
    low = np.zeros_like(told.mean)
    for b in range(BINS):
        high = below(edges[b], told.mean, told.sd) if b < BINS - 1 else np.ones_like(told.mean)
        share = np.maximum(high - low, 0.0)
        low = high
        mixture[b] = np.sum(heard * share, axis=0)
        noise_bits += np.sum(heard * _plogp(share), axis=0)
    mass = np.maximum(np.sum(heard, axis=0), 1e-300)
    mixture /= np.maximum(np.sum(mixture, axis=0), 1e-300)
    total = noise_bits - mass * np.sum(_plogp(mixture), axis=0)
    return np.asarray(np.maximum(total, 0.0) * (1.0 - none_of_these))


def _plogp(share: Array) -> Array:
    return np.asarray(share * np.log2(np.maximum(share, 1e-300)))


def bin_edges(told: Ahead, weight: Array, bins: int) -> Array:
    """Return edges between outcomes, closer where more hypotheses lie; unlikely ones count more than their chance.

    Parameters
    ----------
    told : Ahead
        What each hypothesis expects.
    weight : Array
        Chances of the hypotheses. [-]
    bins : int
        How many outcomes.

    Returns
    -------
    Array
        Edges, on the scale of the predictions. (bin less one, probe)

    Source
    ------
    Own choice: shares by the square root of the chance.
    """
    points = np.concatenate([told.mean - told.sd, told.mean, told.mean + told.sd])
    count = np.tile(np.sqrt(weight)[:, None] * told.known, (3, 1))
    order = np.argsort(points, axis=0)
    points = np.take_along_axis(points, order, axis=0)
    summed = np.cumsum(np.take_along_axis(count, order, axis=0), axis=0)
    summed /= np.maximum(summed[-1], 1e-300)
    found = np.empty((bins - 1, points.shape[1]))
    for b in range(1, bins):
        k = np.minimum(np.sum(summed < b / bins, axis=0), len(points) - 2)[None]
        found[b - 1] = 0.5 * (np.take_along_axis(points, k, 0) + np.take_along_axis(points, k + 1, 0))[0]
    return found
