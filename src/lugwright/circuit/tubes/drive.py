"""Pieces shared by the tube equations: smooth positive part, softplus, space-charge drive, grid current.

Arrays broadcast: parameters and voltages may have any common shape.
"""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
ArrayLike = Any  # float or array; numpy broadcasting decides

PLATE_SMOOTH_V = 0.5


def positive_part(v: ArrayLike, *, smooth_v: float = PLATE_SMOOTH_V) -> tuple[Array, Array]:
    """Return the smooth positive part of a voltage and its slope.

    Source
    ------
    (v + sqrt(v^2 + w^2)) / 2, an ordinary smoothing; w is ``smooth_v``.
    """
    root = np.sqrt(v * v + smooth_v * smooth_v)
    return 0.5 * (v + root), 0.5 * (1.0 + v / root)


def softplus(z: ArrayLike) -> tuple[Array, Array]:
    """Return ln(1 + e^z) and its slope, without overflow for any z."""
    z = np.asarray(z, dtype=float)
    small = np.exp(-np.abs(z))
    value = np.maximum(z, 0.0) + np.log1p(small)
    slope = np.where(z >= 0, 1.0, small) / (1.0 + small)
    return value, slope


def drive(
    v: ArrayLike, grid_v: ArrayLike, *, mu: ArrayLike, kp: ArrayLike, vct: ArrayLike, kvb: ArrayLike
) -> tuple[Array, Array, Array]:
    """Return the space-charge drive E(v, grid) and its slopes over v and grid.

    Source
    ------
    N. L. Koren, Glass Audio vol. 8 no. 5 (1996) p. 18 (equations from memory), with the contact
    potential added to the grid as Cohen and Helie do (AES 127th convention, 2009; abstract read).
    """
    q = np.sqrt(kvb + v * v)
    reach = (grid_v + vct) / q
    soft, slope = softplus(kp * (1.0 / mu + reach))
    by_grid = v * slope / q
    by_v = soft / kp - v * v * slope * reach / (q * q)
    return v * soft / kp, by_v, by_grid


def grid_current_a(grid_to_cathode_v: ArrayLike, *, gain: ArrayLike) -> tuple[Array, Array]:
    """Return the control-grid current and its slope.

    Parameters
    ----------
    grid_to_cathode_v : float or array
        Grid volts. [V]
    gain : float or array
        Grid-current factor of the type. [A/V^1.3]

    Returns
    -------
    tuple of arrays
        Current into the grid and its derivative. [A], [A/V]

    Valid
    -----
    12AX7 measured; other types scaled from their plate current, +/-50 %.

    Source
    ------
    Form of K. Dempwolf and U. Zoelzer, DAFx-11, Paris 2011, without its constant leakage
    (one parameter set seen in public source text; equations from memory).
    """
    soft, slope = softplus(10.0 * np.asarray(grid_to_cathode_v, dtype=float))
    base = soft / 10.0
    power = base**0.3
    return gain * base * power, gain * 1.3 * power * slope
