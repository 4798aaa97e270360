"""Frequencies in even steps per decade, and where a curve crosses a level."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from lugwright.solve.system import Array

REFERENCE_HZ = 1000.0


def decade_steps_hz(*, low: float, high: float, per_decade: int = 30) -> Array:
    """Return frequencies in even steps with both ends, 1 kHz among them where it lies between.

    Parameters
    ----------
    low, high : float
        Ends; the first and the last step may be shorter. [Hz]
    per_decade : int
        Steps in a decade. [-]

    Returns
    -------
    array
        Rising. [Hz]

    Source
    ------
    Even steps of the logarithm.
    """
    first, last = (per_decade * np.log10(edge / REFERENCE_HZ) for edge in (low, high))
    even = np.arange(np.floor(first + 1e-9) + 1, np.ceil(last - 1e-9))
    return np.asarray(REFERENCE_HZ * 10.0 ** (np.concatenate([[first], even, [last]]) / per_decade))


def at_reference(hertz: Array, values: Array) -> float:
    """Return a curve's value at 1 kHz, or at the step nearest to it."""
    return float(values[int(np.argmin(np.abs(np.log(hertz / REFERENCE_HZ))))])


def unwound_deg(hertz: Array, ratio: NDArray[np.complex128]) -> Array:
    """Return the phase in degrees, continuous in both directions from what it is at 1 kHz."""
    phase = np.degrees(np.unwrap(np.angle(ratio)))
    return np.asarray(phase - 360.0 * np.round(at_reference(hertz, phase) / 360.0))


def crossings_hz(hertz: Array, values: Array, level: float) -> list[float]:
    """Return where a curve crosses a level, straight between steps of log frequency.

    Parameters
    ----------
    hertz : array
        Rising. [Hz]
    values : array
        The curve, in any unit.
    level : float
        In the curve's unit.

    Returns
    -------
    list of float
        Rising. [Hz]

    Source
    ------
    Linear interpolation; with 30 steps a decade its error on a first-order corner is below 0.01 dB.
    """
    above = values - level
    steps = np.flatnonzero(np.signbit(above[:-1]) != np.signbit(above[1:]))
    share = above[steps] / (above[steps] - above[steps + 1])
    return [float(f) for f in hertz[steps] * (hertz[steps + 1] / hertz[steps]) ** share]


def band_hz(hertz: Array, gain_db: Array, *, drop_db: float = 3.0103) -> tuple[float | None, float | None]:
    """Return the ends of the band around 1 kHz within which the gain stays within a drop of that at 1 kHz.

    Parameters
    ----------
    hertz : array
        Rising. [Hz]
    gain_db : array
        The curve. [dB]
    drop_db : float
        Half the power by default. [dB]

    Returns
    -------
    tuple
        Lower and upper end, None where the curve has not fallen that far at its own end. [Hz]

    Valid
    -----
    A dip inside the band, as every tone control makes, does not end it: the outermost crossings count.

    Source
    ------
    Definition.
    """
    level = at_reference(hertz, gain_db) - drop_db
    found = crossings_hz(hertz, gain_db, level)
    low = min((f for f in found if f < REFERENCE_HZ), default=None) if gain_db[0] < level else None
    high = max((f for f in found if f > REFERENCE_HZ), default=None) if gain_db[-1] < level else None
    return low, high
