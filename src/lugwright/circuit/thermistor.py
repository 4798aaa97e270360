"""An inrush limiter: hot resistance against current, and how it warms up."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from lugwright.circuit.tubes.drive import Array, ArrayLike

_B_K = 3300.0  # from memory of power types: 3000 to 3500 K
_ROOM_K = 298.0
WARM_S = 120.0  # thermal time constant of a 20 mm disc, maker's sheet


@dataclass(frozen=True)
class LimiterFit:
    """R = factor * amps ** power, as a maker's sheet gives it, from ``least_a`` to ``most_a``."""

    factor: float
    power: float
    least_a: float
    most_a: float

    def covers(self, amps: float) -> bool:
        """Return whether the sheet's fit holds at this current."""
        return self.least_a <= amps <= self.most_a


def limiter_ohm(fit: LimiterFit, *, amps: float) -> float:
    """Return the resistance of an inrush limiter after minutes at one current.

    Parameters
    ----------
    fit : LimiterFit
        Factor and power of the type.
    amps : float
        RMS current. [A]

    Returns
    -------
    float
        Resistance. [ohm]

    Valid
    -----
    From ``least_a`` to ``most_a`` of the fit; below, the formula gives too much or too little by a lot.

    Source
    ------
    Makers' sheets of disc thermistors: R = X I^Y.
    """
    return float(fit.factor * amps**fit.power)


def limiter_rated_a(*, rated_a: float, room_c: float) -> float:
    """Return what an inrush limiter may carry in a warm chassis.

    Parameters
    ----------
    rated_a : float
        Rated current at 25 C. [A]
    room_c : float
        Temperature around it. [C]

    Returns
    -------
    float
        Allowed current. [A]

    Valid
    -----
    25 to 150 C, disc thermistors of one maker's series.

    Source
    ------
    That maker's sheet: Imax sqrt(1.1425 - 0.0057 T).
    """
    return rated_a * math.sqrt(1.1425 - 0.0057 * room_c)


def settled_ohm(heat: LimiterHeat, *, amps: float) -> float:
    """Return the resistance a limiter settles at.

    Parameters
    ----------
    heat : LimiterHeat
        The limiter.
    amps : float
        RMS current. [A]

    Returns
    -------
    float
        Where its heat and its cooling meet. [ohm]

    Valid
    -----
    Exact at the current its hot resistance is stated for; a third off at a sixth of it, as the law of the material
    and a constant cooling are only near the real ones.

    Source
    ------
    Derived: I^2 R(T) = (T - room) / rise per watt, solved by halving; R falls with T, so there is one answer.
    """
    low, high = 0.0, 1000.0
    for _ in range(60):
        middle = 0.5 * (low + high)
        gains = amps * amps * float(heat.ohm(middle)) * heat.rise_k_per_w > middle
        low, high = (middle, high) if gains else (low, middle)
    return float(heat.ohm(low))


@dataclass(frozen=True)
class LimiterHeat:
    """Temperature rise over power of one limiter, from its cold and one hot resistance."""

    cold_ohm: float
    rise_k_per_w: float

    @staticmethod
    def of(*, cold_ohm: float, hot_ohm: float, hot_a: float) -> LimiterHeat:
        """Return the constants of a limiter that settles at ``hot_ohm`` with ``hot_a`` through it."""
        hot_k = 1.0 / (1.0 / _ROOM_K - math.log(cold_ohm / hot_ohm) / _B_K)
        return LimiterHeat(cold_ohm, (hot_k - _ROOM_K) / (hot_ohm * hot_a * hot_a))

    def ohm(self, rise_k: ArrayLike) -> Array:
        """Return the resistance at a temperature rise."""
        return np.asarray(self.cold_ohm * np.exp(_B_K * (1.0 / (_ROOM_K + rise_k) - 1.0 / _ROOM_K)))

    def rate(self, rise_k: float, *, watts: float) -> float:
        """Return kelvin a second at this rise and power."""
        return (watts * self.rise_k_per_w - rise_k) / WARM_S
