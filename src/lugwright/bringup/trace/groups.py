"""Faults that the readings cannot tell apart: they are named together, and never ranked by more than their odds."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from lugwright.bringup.trace.ahead import Ahead
from lugwright.bringup.trace.evidence import FEW, Readings, Slice, misfit, slice_of
from lugwright.bringup.trace.records import Array, Predictions
from lugwright.bringup.trace.told_signs import SignChances

TELLING = 1.0  # nats: readings that favor the true one of two by less than 2.7 to 1 on average do not tell them apart
GOOD = 0  # the hypothesis that nothing is wrong


@dataclass(frozen=True)
class Group:
    """Hypotheses that the readings cannot tell from the first of them."""

    members: tuple[int, ...]  # by what was believed before, not by the readings
    chance: float


@dataclass(frozen=True)
class Laws:
    """What some hypotheses say of the readings as they were taken, whatever was read."""

    part: Slice
    log_det: Array  # (hypothesis): of the covariance


def laws_of(predictions: Predictions, readings: Readings, some: NDArray[np.int_]) -> Laws:
    """Return what some hypotheses say of the readings, over range or not.

    Parameters
    ----------
    predictions : Predictions
        What every hypothesis says.
    readings : Readings
        Where and how well was read.
    some : NDArray[np.int_]
        The hypotheses.

    Returns
    -------
    Laws
        Normal laws, one for each of them.

    Source
    ------
    `slice_of`.
    """
    part = slice_of(predictions, replace(readings, top=math.inf), some)
    return Laws(part, misfit(part).log_det if len(readings.at) else np.zeros(len(some)))


def nats_apart(laws: Laws, leader: int, others: NDArray[np.int_]) -> Array:
    """Return how much readings taken there and so tell a hypothesis, if it is true, from another on average.

    It does not depend on what the readings were, only on where they were taken: two faults do not fall apart because
    a meter was off by chance.

    Parameters
    ----------
    laws : Laws
        What hypotheses say.
    leader : int
        Row of one of them.
    others : NDArray[np.int_]
        Rows of others, each taken to be true in turn.

    Returns
    -------
    Array
        Expected logarithm of the odds for the true one. (other) [nat]

    Source
    ------
    Kullback and Leibler's information between normal laws.
    """
    part = laws.part
    if not part.off.shape[1]:
        return np.zeros(len(others))
    own = part.own()
    inverse = np.linalg.inv(part.together[leader] + np.diag(own[leader]))
    apart, loading = part.off[leader] - part.off[others], part.loading[others]
    distance = np.einsum("hk,kl,hl->h", apart, inverse, apart, optimize=True)
    width = np.einsum("hkc,hkc->h", inverse @ loading, loading) + own[others] @ np.diag(inverse)
    shape = width - part.off.shape[1] - laws.log_det[others] + laws.log_det[leader]
    one_mute = np.any(part.known[others] != part.known[leader], axis=1)
    return np.asarray(np.where(one_mute, np.inf, 0.5 * (distance + shape)))


def groups_of(
    predictions: Predictions,
    readings: Readings,
    chance: Array,
    log_prior: Array,
    some: NDArray[np.int_],
    *,
    signs: SignChances | None = None,
) -> tuple[Group, ...]:
    """Return some hypotheses in groups that the readings cannot tell apart, the likeliest group first.

    The first group holds whatever cannot be told from a good build, if it is among them. Then the likeliest
    hypothesis left gathers all that cannot be told from it, and so on.

    Parameters
    ----------
    predictions : Predictions
        What every hypothesis says.
    readings : Readings
        Where and how well was read.
    chance : Array
        After the readings. (hypothesis) [-]
    log_prior : Array
        Before them: the order within a group. (hypothesis) [-]
    some : NDArray[np.int_]
        The hypotheses to be grouped.
    signs : SignChances | None
        What else was looked at: it tells them apart, too.

    Returns
    -------
    tuple[Group, ...]
        The group of the good build first, if it is there; the others by their chance. [-]

    Source
    ------
    Own choice: one nat.
    """
    left = np.asarray(some, dtype=int)
    left = left[np.lexsort((left, -chance[left]))]
    left = np.concatenate([left[left == GOOD], left[left != GOOD]])
    laws, rows = laws_of(predictions, readings, left), np.arange(len(left))
    found = []
    while len(left):
        leader, others = int(left[0]), left[1:]
        apart = nats_apart(laws, int(rows[0]), rows[1:])
        same = (apart if signs is None else apart + signs.nats_apart(leader, others)) < TELLING
        members = np.concatenate([[leader], others[same]])
        by_odds = members[np.lexsort((members, -log_prior[members]))]
        found.append(Group(tuple(int(m) for m in by_odds), float(np.sum(chance[members]))))
        left, rows = others[~same], rows[1:][~same]
    good = [group for group in found if GOOD in group.members]
    return (*good, *sorted((g for g in found if GOOD not in g.members), key=lambda g: (-g.chance, g.members)))


def seen_by(predictions: Predictions, readings: Readings) -> NDArray[np.bool_]:
    """Return which faults readings taken there and so tell from a good build.

    Parameters
    ----------
    predictions : Predictions
        What the good build and every fault say.
    readings : Readings
        Where and how well was read.

    Returns
    -------
    NDArray[np.bool_]
        Hypothesis 1 first.

    Source
    ------
    `nats_apart`: of the single reading that tells most, and, while readings are few, of all of them together.
    """
    count = len(predictions.expected)
    if not len(readings.at):
        return np.zeros(count - 1, dtype=bool)
    seen = np.any(_nats_alone(predictions, readings.at, readings.noise) >= TELLING, axis=1)
    open_ = np.flatnonzero(~seen[1:]) + 1
    if len(open_) and len(readings.at) <= FEW:
        laws = laws_of(predictions, readings, np.concatenate([[GOOD], open_]))
        seen[open_] = nats_apart(laws, 0, np.arange(1, len(open_) + 1)) >= TELLING
    return np.asarray(seen[1:])


def _nats_alone(predictions: Predictions, at: NDArray[np.int_], meter: Array | float = 0.0) -> Array:
    """Return what single readings tell of each hypothesis against the good build, all spread of that one counted."""
    loading, noise = predictions.loading[GOOD, at], predictions.noise[:, at]
    own = np.einsum("pc,pc->p", loading, loading) + np.asarray(meter) ** 2
    good, here = own + noise[GOOD] ** 2, own + noise**2
    known = predictions.known[:, at]
    apart = np.where(known, predictions.expected[:, at] - predictions.expected[GOOD, at], 0.0)
    ratio = here / good
    nats = 0.5 * (apart**2 / good + ratio - 1.0 - np.log(ratio))
    return np.where(known == known[GOOD], np.where(known, nats, 0.0), np.inf)


def never_seen(predictions: Predictions) -> NDArray[np.bool_]:
    """Return which hypotheses no single reading on the list could tell from a good build.

    Parameters
    ----------
    predictions : Predictions
        What every hypothesis says of all probes there are.

    Returns
    -------
    NDArray[np.bool_]
        True where no probe tells, the good build itself included. (hypothesis)

    Source
    ------
    As `nats_apart`, one reading at a time; the hypothesis spreads as a good build does, its own noise apart.
    """
    every = np.arange(predictions.expected.shape[1])
    return np.asarray(~np.any(_nats_alone(predictions, every) >= TELLING, axis=1))


def as_good(told: Ahead, good: int) -> NDArray[np.bool_]:
    """Return which hypotheses no single reading ahead could tell from the good build.

    Parameters
    ----------
    told : Ahead
        What is expected of the readings ahead, the good build among the hypotheses.
    good : int
        Its row.

    Returns
    -------
    NDArray[np.bool_]
        True for the good build itself, too. (hypothesis)

    Source
    ------
    As `nats_apart`, one reading at a time.
    """
    both = told.known & told.known[good]
    apart = np.where(both, told.mean - told.mean[good], 0.0) / told.sd[good]
    shown = np.where(both, 0.5 * apart**2 >= TELLING, told.known != told.known[good])
    return np.asarray(~np.any(shown, axis=1))
