"""Pieces shared by the tube equations: smooth positive part, softplus, space-charge drive, grid current.

Arrays broadcast: parameters and voltages may have any common shape. The laws of tubes are written so that the machine
code takes them as they are, for one tube at a time: operators and plain functions of numpy, arguments by their names,
neither `np.where` nor a cell of an array (`lugwright.solve.kernel.laws`).
"""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
ArrayLike = Any  # float or array; numpy broadcasting decides

PLATE_SOFT_V = 0.36
TRIODE_SOFT_V = 0.108  # a power below 3/2 lets more of the rest below zero volts through


def positive_part(v: ArrayLike, *, smooth_v: float) -> tuple[Array, Array]:
    """Return the smooth positive part of a voltage and its slope.

    Source
    ------
    (v + sqrt(v^2 + w^2)) / 2, an ordinary smoothing; w is ``smooth_v``.
    """
    root = np.sqrt(v * v + smooth_v * smooth_v)
    return 0.5 * (v + root), 0.5 * (1.0 + v / root)


def drawing_v(v: ArrayLike, *, soft_v: float = PLATE_SOFT_V) -> tuple[Array, Array]:
    """Return the volts by which a plate or a screen draws electrons, and their slope.

    Below the cathode they fall by e every ``soft_v``, as the number of electrons does that are fast enough to get
    there: a plate without its wire stops two or three volts down.

    Parameters
    ----------
    v : float or array
        Plate or screen against the cathode. [V]
    soft_v : float
        Within so many volts the electrons get fewer by e. [V]

    Returns
    -------
    tuple of arrays
        Volts, never negative, and their slope. [V], [-]

    Source
    ------
    Form: the retarding field of a diode (Boltzmann's law), joined to the volts above by a softplus; widths our own.
    """
    soft, slope = softplus(v / soft_v)
    return soft_v * soft, slope


def softplus(z: ArrayLike) -> tuple[Array, Array]:
    """Return ln(1 + e^z) and its slope, without overflow for any z."""
    small = np.exp(-np.abs(z))
    value = np.maximum(z, 0.0) + np.log1p(small)
    slope = np.maximum(small, z >= 0.0) / (1.0 + small)
    return value, slope


def drive(
    v: ArrayLike,
    grid_v: ArrayLike,
    *,
    mu: ArrayLike,
    kp: ArrayLike,
    vct: ArrayLike,
    kvb: ArrayLike,
    soft_v: ArrayLike = 0.0,
) -> tuple[Array, Array, Array]:
    """Return the space-charge drive E(v, grid) and its slopes over v and grid.

    The bend at cut-off is as wide as ``v / kp`` and the grid volts ``soft_v`` together, at right angles: the first
    from wires that do not shield evenly, the second from electrons that leave the cathode with a speed of their own.

    Source
    ------
    N. L. Koren, Glass Audio vol. 8 no. 5 (1996) p. 18 (equations from memory), with the contact
    potential added to the grid as Cohen and Helie do (AES 127th convention, 2009; abstract read);
    ``soft_v`` is our own.
    """
    q = np.sqrt(kvb + v * v)
    reach = (grid_v + vct) / q
    width = cutoff_width(q, kp=kp, soft_v=soft_v)
    soft, slope = softplus((1.0 / mu + reach) / width)
    by_grid = v * slope / q
    by_v = width * soft - v * v * slope * reach / (q * q)
    if np.any(soft_v):
        z = (1.0 / mu + reach) / width
        by_v = by_v - (v * soft_v / (q * q)) ** 2 * (soft - slope * z) / width
    return v * width * soft, by_v, by_grid


def cutoff_width(q: ArrayLike, *, kp: ArrayLike, soft_v: ArrayLike) -> ArrayLike:
    """Return the width of the bend at cut-off, as a share of the volts behind the grid."""
    if not np.any(soft_v):
        return 1.0 / kp
    return np.sqrt(1.0 / (kp * kp) + (soft_v / q) ** 2)


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

    Doubt
    -----
    Of that tube 0.3 uA flow at -0.35 V. Makers have grid current begin earlier: the outputs at which it begins, printed
    for the 27 coupled stages of the 12AX7 in the RCA tube manual (from memory), stand for -0.66 V on average, -0.46
    to -0.83 V; Philips sheets of small tubes (EF86, quoted second-hand) give 0.3 uA and -1.3 V as the limit.
    """
    soft, slope = softplus(10.0 * grid_to_cathode_v)
    base = soft / 10.0
    power = base**0.3
    return gain * base * power, gain * 1.3 * power * slope
