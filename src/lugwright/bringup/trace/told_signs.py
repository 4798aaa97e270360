"""Signs weighed: a yes or no has a chance under every hypothesis, and counts for no more than eyes and ears do."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from lugwright.bringup.trace.records import Array


@dataclass(frozen=True)
class SignChances:
    """How likely a yes to each of some signs is; every answer is its own, given the hypothesis."""

    chance: Array  # (hypothesis, sign)
    unlisted: Array  # (sign): if it is a fault that is not listed

    def some(self, rows: NDArray[np.int_]) -> SignChances:
        """Return those of some hypotheses."""
        return replace(self, chance=self.chance[rows])

    def with_pairs(self, pairs: Sequence[tuple[int, int]]) -> SignChances:
        """Return those of the same hypotheses and then of two at once: a sign that either shows is there."""
        if not pairs:
            return self
        first, second = np.array(pairs, dtype=int).T
        both = np.maximum(self.chance[first], self.chance[second])
        return replace(self, chance=np.concatenate([self.chance, both]))

    def nats_apart(self, leader: int, others: NDArray[np.int_]) -> Array:
        """Return how much the answers tell a hypothesis, if it is true, from another on average.

        Parameters
        ----------
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
        Kullback and Leibler's information between two answers of yes or no.
        """
        here, there = self.chance[others], self.chance[leader]
        yes, no = here * np.log(here / there), (1.0 - here) * np.log((1.0 - here) / (1.0 - there))
        return np.asarray(np.sum(yes + no, axis=1))

    def bits(self, weight: Array, none_of_these: float) -> Array:
        """Return the information that an answer to each is expected to bring.

        Parameters
        ----------
        weight : Array
            Chances of the hypotheses; sum to one. (hypothesis) [-]
        none_of_these : float
            Chance of a fault that is not listed. [-]

        Returns
        -------
        Array
            Bits. (sign)

        Source
        ------
        Shannon's mutual information of hypothesis and answer.
        """
        told = _entropy_bits(weight @ self.chance) - weight @ _entropy_bits(self.chance)
        return np.asarray(np.maximum(told, 0.0) * (1.0 - none_of_these))


@dataclass(frozen=True)
class ToldSigns:
    """Answers to some signs."""

    chances: SignChances
    seen: NDArray[np.bool_]  # (sign)

    @property
    def log(self) -> Array:
        """Return the logarithm of the chance of all answers. (hypothesis)"""
        told = self.chances.chance
        return np.asarray(np.sum(np.log(np.where(self.seen, told, 1.0 - told)), axis=1))

    @property
    def log_unlisted(self) -> float:
        """Return the same for a fault that is not listed."""
        told = self.chances.unlisted
        return float(np.sum(np.log(np.where(self.seen, told, 1.0 - told))))

    def wrong(self, chance: Array) -> Array:
        """Return how likely each answer is a mistake: how much of all hypotheses would have had the other one.

        Parameters
        ----------
        chance : Array
            Of the hypotheses, after all readings and signs. [-]

        Returns
        -------
        Array
            Chance. (sign) [-]
        """
        likelier = self.chances.chance >= 0.5
        return np.asarray(chance @ (likelier != self.seen))

    def with_pairs(self, pairs: Sequence[tuple[int, int]]) -> ToldSigns:
        """Return the same with two hypotheses at once after the single ones."""
        return replace(self, chances=self.chances.with_pairs(pairs))

    def as_readings(self) -> tuple[Array, Array]:
        """Return the answers as if they had been read: how far each hypothesis is off the good build, and what was.

        Returns
        -------
        tuple of Array
            In spreads: (fault, sign), and (sign) of what was read.

        Source
        ------
        Derived below: half the square of a distance in spreads is what a normal law has the logarithm of odds be.
        """
        good = self.chances.chance[0]
        odds = np.log(np.where(self.seen, self.chances.chance / good, (1.0 - self.chances.chance) / (1.0 - good)))[1:]
        far = np.sqrt(2.0 * np.abs(odds))
        best = np.max(np.where(odds > 0.0, far, 0.0), axis=0, initial=0.0)
        return np.asarray(np.where(odds > 0.0, far, -far)), best


def no_signs(hypotheses: int) -> ToldSigns:
    """Return what is told where nobody has looked."""
    return ToldSigns(SignChances(np.zeros((hypotheses, 0)), np.zeros(0)), np.zeros(0, dtype=bool))


def _entropy_bits(chance: Array) -> Array:
    rest = 1.0 - chance
    return np.asarray(-chance * np.log2(chance) - rest * np.log2(rest))
