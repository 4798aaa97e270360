"""What to look at or listen for next: it tells less than a meter, and costs next to nothing."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from lugwright.bringup.reading_text import YES_FROM
from lugwright.bringup.trace.groups import GOOD, TELLING
from lugwright.bringup.trace.next_reading import EVERY_READING_S, likely
from lugwright.bringup.trace.outcomes import left_of
from lugwright.bringup.trace.posterior import Posterior
from lugwright.bringup.trace.records import Array, NextReading, Probe
from lugwright.bringup.trace.told_signs import SignChances

LEAST_BITS = 0.01  # a look expected to tell less is not proposed
Named = Callable[[Sequence[int]], tuple[str, ...]]


@dataclass(frozen=True)
class Looks:
    """Signs that nobody has looked for yet; rows as the hypotheses that the readings were weighed against."""

    probes: tuple[Probe, ...]
    chances: SignChances
    seconds: Mapping[Probe, float]  # what each reading and each look costs, time and risk together

    def tell_apart(self, rows: Sequence[int]) -> bool:
        """Return whether one of them tells any of some hypotheses from the first."""
        if not self.probes or len(rows) < 2:
            return False
        return bool(np.any(self._nats_each(rows[0], np.array(rows[1:])) >= TELLING))

    def show(self) -> NDArray[np.bool_]:
        """Return which hypotheses one of them tells from the good build. (hypothesis)"""
        every = np.arange(len(self.chances.chance))
        return np.asarray(np.any(self._nats_each(GOOD, every) >= TELLING, axis=1))

    def _nats_each(self, leader: int, others: NDArray[np.int_]) -> Array:
        alone = [
            SignChances(self.chances.chance[:, [k]], self.chances.unlisted[[k]]).nats_apart(leader, others)
            for k in range(len(self.probes))
        ]
        return np.array(alone).reshape(len(self.probes), -1).T

    def among(
        self, readings: Sequence[NextReading], found: Posterior, named: Named, count: int
    ) -> tuple[NextReading, ...]:
        """Return readings and looks that are worth most, best first.

        Parameters
        ----------
        readings : sequence of NextReading
            What a meter would tell.
        found : Posterior
            What is believed by now.
        named : callable
            Names the faults of hypotheses.
        count : int
            How many to return.

        Returns
        -------
        tuple of NextReading
            By bits per second.

        Source
        ------
        `SignChances.bits`.
        """
        rated = [(r.bits / (EVERY_READING_S + self.seconds[r.probe]), r) for r in readings]
        rated += [(look.bits / self.seconds[look.probe], look) for look in self._next(found, named)]
        rated.sort(key=lambda pair: -pair[0])
        return tuple(each for _, each in rated[:count])

    def _next(self, found: Posterior, named: Named) -> list[NextReading]:
        if not self.probes:
            return []
        weight = found.chance / max(float(np.sum(found.chance)), 1e-300)
        bits = self.chances.bits(weight, found.none_of_these)
        some, share = likely(found)
        return [
            NextReading(probe, float(bits[k]), self._outcomes(self.chances.chance[some, k], share, some, named))
            for k, probe in enumerate(self.probes)
            if bits[k] >= LEAST_BITS
        ]

    @staticmethod
    def _outcomes(
        yes: Array, weight: Array, some: NDArray[np.int_], named: Named
    ) -> tuple[tuple[float, float, tuple[str, ...]], ...]:
        return (
            (YES_FROM, math.inf, named(left_of(weight * yes, some))),
            (-math.inf, YES_FROM, named(left_of(weight * (1.0 - yes), some))),
        )


def no_looks(hypotheses: int) -> Looks:
    """Return that there is nothing to look at."""
    return Looks((), SignChances(np.zeros((hypotheses, 0)), np.zeros(0)), {})
