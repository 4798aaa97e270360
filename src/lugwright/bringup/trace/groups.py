"""Faults that the readings cannot tell apart: they are named together, and never ranked by more than their odds."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from lugwright.bringup.trace.evidence import Readings, slice_of
from lugwright.bringup.trace.records import Array, Predictions

TELLING = 1.0  # nats: readings that favor the true one of two by less than 2.7 to 1 on average do not tell them apart
GOOD = 0  # the hypothesis that nothing is wrong


@dataclass(frozen=True)
class Group:
    """Hypotheses that the readings cannot tell from the first of them."""

    members: tuple[int, ...]  # by what was believed before, not by the readings
    chance: float


def nats_apart(predictions: Predictions, readings: Readings, leader: int, others: NDArray[np.int_]) -> Array:
    """Return how much the readings, as they were taken, tell a hypothesis from others on average.

    It does not depend on what the readings were, only on where they were taken: two faults do not fall apart because
    a meter was off by chance.

    Parameters
    ----------
    predictions : Predictions
        What every hypothesis says.
    readings : Readings
        Where and how well was read.
    leader : int
        One hypothesis.
    others : NDArray[np.int_]
        The others.

    Returns
    -------
    Array
        Expected logarithm of the odds for the true one. (other) [nat]

    Source
    ------
    Kullback and Leibler's information between normal laws, with the leader's covariance for the distance and, for
    laws of unlike width, the single reading that shows the difference best.
    """
    if not len(readings.at):
        return np.zeros(len(others))
    part = slice_of(predictions, readings, np.concatenate([[leader], others]))
    covariance = part.loading[0] @ part.loading[0].T + np.diag(part.own[0])
    both = part.known[1:] & part.known[0]
    apart = np.where(both, part.off[0] - part.off[1:], 0.0)
    distance = 0.5 * np.einsum("hk,hk->h", apart, np.linalg.solve(covariance, apart.T).T)
    width = part.own + np.einsum("hkc,hkc->hk", part.loading, part.loading)
    ratio = np.where(both, width[1:] / width[0], 1.0)
    wider = np.max(0.25 * (ratio + 1.0 / ratio) - 0.5, axis=1)
    one_mute = np.sum(part.known[1:] != part.known[0], axis=1)
    return np.asarray(distance + wider + TELLING * one_mute)


def groups_of(
    predictions: Predictions, readings: Readings, chance: Array, log_prior: Array, some: NDArray[np.int_]
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
    found = []
    while len(left):
        leader, others = int(left[0]), left[1:]
        same = nats_apart(predictions, readings, leader, others) < TELLING
        members = np.concatenate([[leader], others[same]])
        by_odds = members[np.lexsort((members, -log_prior[members]))]
        found.append(Group(tuple(int(m) for m in by_odds), float(np.sum(chance[members]))))
        left = others[~same]
    good = [group for group in found if GOOD in group.members]
    return (*good, *sorted((g for g in found if GOOD not in g.members), key=lambda g: (-g.chance, g.members)))


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
    As `nats_apart`, one reading at a time, all spread of a good build counted.
    """
    loading = predictions.loading[GOOD]
    spread = np.einsum("pc,pc->p", loading, loading)
    good, here = spread + predictions.noise[GOOD] ** 2, spread + predictions.noise**2
    both = predictions.known & predictions.known[GOOD]
    apart = np.where(both, predictions.expected - predictions.expected[GOOD], 0.0)
    ratio = here / good
    nats = 0.5 * apart**2 / good + np.where(both, 0.25 * (ratio + 1.0 / ratio) - 0.5, 0.0)
    told = np.where(both, nats >= TELLING, predictions.known != predictions.known[GOOD])
    return np.asarray(~np.any(told, axis=1))
