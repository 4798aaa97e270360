"""What the readings make of every hypothesis: the good build, one fault, two, none of these, a reading gone wrong."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from lugwright.bringup.trace.broad import log_broad, spread_alone
from lugwright.bringup.trace.evidence import Evidence, Readings, Slip, evidence
from lugwright.bringup.trace.priors import PRIORS, Priors
from lugwright.bringup.trace.records import Array, Predictions
from lugwright.bringup.trace.told_signs import ToldSigns, no_signs
from lugwright.bringup.trace.two_wrong import TwoWrong


@dataclass(frozen=True)
class Posterior:
    """Chances after the readings; ``chance`` and ``none_of_these`` sum to one."""

    chance: Array  # (hypothesis)
    none_of_these: float
    wrong: Array  # (reading): chance that this one was taken wrongly
    doubted: Array  # (hypothesis, reading): the same, if this hypothesis is true
    slipped: tuple[float, ...] = ()  # chance of each slip of the readings that was thought of

    def best(self, most: int, mass: float) -> NDArray[np.int_]:
        """Return the likeliest hypotheses that make up a share of all listed ones, likeliest first."""
        order = np.argsort(-self.chance, kind="stable")
        summed = np.cumsum(self.chance[order])
        count = int(np.searchsorted(summed, mass * summed[-1])) + 1
        return order[: min(count, most)]


def log_sum(terms: Array, axis: int | None = None) -> Array:
    """Return the logarithm of a sum of what is given by logarithms; of nothing at all, minus infinity."""
    top = np.max(terms, axis=axis, keepdims=True, initial=-np.inf)
    safe = np.where(np.isfinite(top), top, 0.0)
    with np.errstate(divide="ignore"):
        summed = np.log(np.sum(np.exp(terms - safe), axis=axis, keepdims=True)) + safe
    return np.asarray(np.squeeze(summed, axis=axis))


def posterior(
    predictions: Predictions,
    readings: Readings,
    log_prior: Array,
    *,
    priors: Priors = PRIORS,
    broad: Array | None = None,
    signs: ToldSigns | None = None,
    twice: TwoWrong | None = None,
) -> Posterior:
    """Return the chances of all hypotheses after the readings.

    One reading at most is taken to be wrong, or both of a pair that is thought of; it then shows what a named slip
    would show, or anything.

    Parameters
    ----------
    predictions : Predictions
        What every hypothesis says of the probes.
    readings : Readings
        What was read.
    log_prior : Array
        Logarithms of what was believed before. (hypothesis) [-]
    priors : Priors
        What is believed of wrong readings and of faults that are not listed.
    broad : Array | None
        Logarithm of the density of each reading where nothing is known of it; without it, from the predictions.
    signs : ToldSigns | None
        What eyes and ears told besides.
    twice : TwoWrong | None
        Two readings that may both be wrong.

    Returns
    -------
    Posterior
        Chances. [-]

    Source
    ------
    Bayes' theorem.
    """
    weights = np.exp(log_prior - np.max(log_prior))
    surprise = log_broad(predictions, readings, weights) if broad is None else broad
    told = evidence(predictions, readings, surprise, priors.scales)
    shown = [_shown(slip, readings) for slip in readings.slips]
    wrong = _log_wrong(readings, shown, np.broadcast_to(surprise, told.all_but.shape), priors)
    looked = no_signs(len(log_prior)) if signs is None else signs
    explained = _by_wrong_reading(told, wrong, priors)
    if twice is not None:
        without = twice.log_without(predictions, readings, surprise, priors.scales)
        explained = np.concatenate([explained, _by_two(without, twice, wrong, priors)], axis=1)
    joint = (log_prior + looked.log)[:, None] + explained
    unlisted = _log_none(predictions, readings, surprise, priors) + looked.log_unlisted
    total = float(log_sum(np.append(joint.ravel(), unlisted)))
    chance = np.exp(joint - total)
    each = np.sum(chance, axis=1)
    mistaken = _mistaken(chance, len(readings.at), twice)
    doubted = mistaken / np.maximum(each, 1e-300)[:, None]
    slipped = tuple(
        float(np.sum(mistaken[:, slip.reading] * priors.known_slip * share / np.exp(wrong[:, slip.reading])))
        for slip, share in zip(readings.slips, shown, strict=True)
    )
    return Posterior(each, float(np.exp(unlisted - total)), np.sum(mistaken, axis=0), doubted, slipped)


def _mistaken(chance: Array, readings: int, twice: TwoWrong | None) -> Array:
    """Return the chance of each hypothesis with each reading wrong, alone or with another. (hypothesis, reading)"""
    found = chance[:, 1 : readings + 1].copy()
    for column, pair in enumerate(twice.pairs if twice else (), start=readings + 1):
        found[:, list(pair)] += chance[:, [column]]
    return found


def _by_two(without: Array, twice: TwoWrong, wrong: Array, priors: Priors) -> Array:
    """Return the logarithm of what explains the readings with both of a pair wrong. (hypothesis, pair)"""
    right, slipped = np.log1p(-priors.wrong_reading), np.log(priors.wrong_reading)
    both = np.stack([wrong[:, i] + wrong[:, j] for i, j in twice.pairs], axis=1)
    return np.asarray(without + both + 2.0 * slipped + (wrong.shape[1] - 2) * right)


def _shown(slip: Slip, readings: Readings) -> Array:
    """Return the density of what was read if it was that slip, times the slip's share of those of its reading."""
    odds = sum(other.odds for other in readings.slips if other.reading == slip.reading)
    return slip.odds / odds * readings.by_itself(slip.reading, slip.expected, np.hypot(slip.spread, 1e-9))


def _log_wrong(readings: Readings, shown: Sequence[Array], surprise: Array, priors: Priors) -> Array:
    """Return the logarithm of the density of each reading if it was taken wrongly: (hypothesis, reading)."""
    wrong = np.array(surprise)
    for k in sorted({slip.reading for slip in readings.slips}):
        named = sum(share for slip, share in zip(readings.slips, shown, strict=True) if slip.reading == k)
        wrong[:, k] = np.log(priors.known_slip * named + (1.0 - priors.known_slip) * np.exp(wrong[:, k]))
    return wrong


def _by_wrong_reading(told: Evidence, wrong: Array, priors: Priors) -> Array:
    """Return the logarithm of what explains the readings with none of them wrong, the first, the second ..."""
    count = wrong.shape[1]
    right, slipped = np.log1p(-priors.wrong_reading), np.log(priors.wrong_reading)
    one = told.all_but + wrong + slipped + (count - 1) * right
    return np.concatenate([(told.all_readings + count * right)[:, None], one], axis=1)


def _log_none(predictions: Predictions, readings: Readings, surprise: Array, priors: Priors) -> float:
    """Return the logarithm of the chance of a fault that is not listed, with these readings.

    Such a fault leaves some share of the readings as on a good build and puts the others anywhere; the share is not
    known, so a few are averaged. With the plug out a fault shows in far fewer readings than under power.
    """
    good = np.array(
        [
            float(readings.by_itself(k, predictions.expected[0, at], spread_alone(predictions, int(at))[0]))
            if predictions.known[0, at]
            else float(np.exp(surprise[k]))
            for k, at in enumerate(readings.at)
        ]
    )
    under_power = [int(predictions.probes[at].quantity != "ohm") for at in readings.at]
    shares = np.array(priors.as_good)[:, under_power]
    each = np.sum(np.log(shares * good + (1.0 - shares) * np.exp(surprise)), axis=1)
    with np.errstate(divide="ignore"):
        return float(np.log(priors.none_of_these) + log_sum(each) - np.log(len(priors.as_good)))
