"""What is believed before the first reading, and how far a model of a circuit is trusted. One place, with reasons.

None of these figures was counted: they are impressions, written down once so that they can be argued with.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from lugwright.bringup.trace.records import Array


@dataclass(frozen=True)
class Priors:
    """Shares before the first reading; `good`, `one`, `two` and `none_of_these` sum to one."""

    good: float = 0.45  # about half of the builds that somebody sits down to measure have nothing wrong
    one: float = 0.40
    two: float = 0.10  # who made one slip is likelier than others to have made a second
    none_of_these: float = 0.05  # the list is long, but no list is whole
    wrong_reading: float = 0.01  # of a hundred readings one is taken on the wrong pin, range or kind of volts
    known_slip: float = 0.5  # of wrong readings, the share that are slips with a name, where those are given
    scales: tuple[tuple[float, float], ...] = ((1.0, 0.75), (1.6, 0.2), (2.5, 0.05))  # laws of tubes and first-order
    # spreads are off by more than they say: by how much, and how often
    found: float = 0.95  # chance at which to stop measuring and look: a chassis turned over in vain one time in twenty
    fine: float = 0.95  # chance at which a build is called good, as far as readings can tell
    as_good: tuple[tuple[float, float], ...] = ((0.98, 0.9), (0.92, 0.6), (0.76, 0.3))  # of readings of a build with
    # an unlisted fault, as a good one's: ohms, all others. Half of what is left may be a good one's still; so it shows
    # in 1, 4 or 12 percent of the ohms, 5, 20 or 35 percent of the others: as listed faults do, docs/why/tracing.md


PRIORS = Priors()


def log_priors(
    odds: Array,
    pairs: Sequence[tuple[int, int]] = (),
    *,
    seen: NDArray[np.bool_] | None = None,
    priors: Priors = PRIORS,
) -> Array:
    """Return the logarithm of what is believed beforehand of every hypothesis.

    A pair has the chance that two slips were made times the chance that they were these two; all pairs there are
    share it, so that looking at a few of them only makes none of those likelier. A pair of which the readings see one
    fault at most explains them as that one alone does: the single fault stands for it too.

    Parameters
    ----------
    odds : Array
        How often each fault is made, against the others, hypothesis 1 first. [-]
    pairs : Sequence[tuple[int, int]]
        Hypotheses (from 1) that are there together, in the order of the hypotheses that follow the single ones.
    seen : NDArray[np.bool_] | None
        Which faults the readings can tell from a good build, hypothesis 1 first; without it, none.
    priors : Priors
        What is believed.

    Returns
    -------
    Array
        Logarithms of chances: the good build, single faults, pairs. [-]

    Source
    ------
    Derived below: chances that exclude each other. Of two draws (putting back neglected) both are unseen with U^2,
    where U is the share of the unseen; one is seen fault i and the other unseen with 2 p_i U.
    """
    share = np.asarray(odds, dtype=float) / np.sum(odds)
    known = np.zeros(len(share), dtype=bool) if seen is None else seen
    unseen = float(np.sum(share[~known]))
    alone = share * (priors.one + priors.two * unseen * np.where(known, 2.0, 1.0))
    first, second = np.array(pairs, dtype=int).reshape(-1, 2).T - 1
    two = priors.two * 2.0 * share[first] * share[second]
    with np.errstate(divide="ignore"):
        return np.asarray(np.log(np.concatenate([[priors.good], alone, two])))
