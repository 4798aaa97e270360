"""A scale for each quantity on which tolerances and meters are about even: near zero straight, above it logarithmic."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from lugwright.solve.ohms import RANGES_OHM

Array = NDArray[np.float64]

# Below its floor a quantity counts by difference, above it by ratio: what a hand meter and a room do to nothing.
FLOORS = {"ohm": 1.0, "V dc": 0.02, "V ac": 0.05, "ripple V ac": 0.01, "signal V ac": 0.002, "lamp": 0.05, "sign": 1.0}
TOP_OHM = RANGES_OHM[-1]
OVER_RANGE_OHM = 4.0 * TOP_OHM  # where over range stands on the scale: well clear of what a meter still shows
TOP_PLACE = float(np.arcsinh(TOP_OHM / FLOORS["ohm"]))  # beyond it a meter shows over range; no volts reach so far


def even(quantity: str, value: Array | float) -> Array:
    """Return values on the even scale of a quantity; over range has a place of its own.

    Parameters
    ----------
    quantity : str
        As in `Probe`.
    value : array or float
        In the quantity's unit; infinite for over range. [ohm or V]

    Returns
    -------
    array
        The inverse hyperbolic sine of the value over the quantity's floor. [-]

    Source
    ------
    Derived below: the sine's inverse is x near zero and the logarithm of 2 x far from it.
    """
    return np.asarray(np.arcsinh(shown(quantity, value) / FLOORS[quantity]))


def plain(quantity: str, place: Array | float) -> Array:
    """Return values for their places on the even scale; infinite where only over range stands.

    Parameters
    ----------
    quantity : str
        As in `Probe`.
    place : array or float
        On the even scale. [-]

    Returns
    -------
    array
        In the quantity's unit. [ohm or V]

    Source
    ------
    The inverse of `even`.
    """
    value = np.asarray(np.sinh(place) * FLOORS[quantity])
    return np.where(value > 2.0 * TOP_OHM, np.inf, value) if quantity == "ohm" else value


def slope(quantity: str, value: Array | float) -> Array:
    """Return how far the even scale moves for one unit of the quantity.

    Parameters
    ----------
    quantity : str
        As in `Probe`.
    value : array or float
        In the quantity's unit. [ohm or V]

    Returns
    -------
    array
        Places per unit. [1/ohm or 1/V]

    Source
    ------
    The derivative of `even`.
    """
    return np.asarray(1.0 / np.hypot(shown(quantity, value), FLOORS[quantity]))


def blur(quantity: str, value: Array | float, error: Array | float) -> Array:
    """Return what an error at a value is on the even scale, also where it is larger than the value.

    Parameters
    ----------
    quantity : str
        As in `Probe`.
    value, error : array or float
        In the quantity's unit. [ohm or V]

    Returns
    -------
    array
        Half of what lies between the value less the error and the value plus the error. [-]

    Source
    ------
    `even` at both ends, as if no range had a top: an error there is no more, whatever the meter still shows.
    """
    at, floor = shown(quantity, value), FLOORS[quantity]
    return np.asarray(0.5 * (np.arcsinh((at + error) / floor) - np.arcsinh((at - error) / floor)))


def shown(quantity: str, value: Array | float) -> Array:
    """Return what a display shows: over range in the place of every resistance beyond the meter's last range.

    Parameters
    ----------
    quantity : str
        As in `Probe`.
    value : array or float
        True value. [ohm or V]

    Returns
    -------
    array
        The same, except above the last range. [ohm or V]

    Source
    ------
    The meter of `lugwright.solve.ohms`.
    """
    at = np.asarray(value, dtype=float)
    return np.where(at > TOP_OHM, OVER_RANGE_OHM, at) if quantity == "ohm" else at
