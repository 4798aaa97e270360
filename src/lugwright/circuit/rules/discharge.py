"""How long charged capacitors stay dangerous, and what is stored in them."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]

SAFE_V = 60.0
SAFE_WITHIN_S = 60.0
LONGEST_S = 36_000.0  # ten hours: whoever waits that long has no bleeder
_CONTACT_OHM = 0.01  # in series with each capacitor, so that two on one joint remain two
_TIMES_S = np.geomspace(1e-3, LONGEST_S, 600)


def seconds_to_safe_s(*, ohm: float, farad: float, start_v: float, safe_v: float = SAFE_V) -> float:
    """Return how long one capacitor takes to fall to a safe voltage through one resistor.

    Parameters
    ----------
    ohm : float
        Resistance across it. [ohm]
    farad : float
        Capacitance. [F]
    start_v : float
        At switch-off. [V]
    safe_v : float
        60 V direct: the limit below which a body may touch it dry. [V]

    Returns
    -------
    float
        0 when it starts below. [s]

    Source
    ------
    Exponential discharge, t = R C ln(V0 / V). 60 V: IEC 62368-1 energy class 1, from memory.

    Examples
    --------
    >>> round(seconds_to_safe_s(ohm=220e3, farad=100e-6, start_v=450.0), 1)
    44.3
    """
    return 0.0 if start_v <= safe_v else ohm * farad * math.log(start_v / safe_v)


def bleeder_ohm(*, farad: float, start_v: float, within_s: float, safe_v: float = SAFE_V) -> float:
    """Return the largest bleeder that makes a capacitor safe within a time.

    Parameters
    ----------
    farad : float
        Capacitance. [F]
    start_v : float
        At switch-off, above ``safe_v``. [V]
    within_s : float
        Time allowed. [s]
    safe_v : float
        Target. [V]

    Returns
    -------
    float
        Resistance. [ohm]

    Source
    ------
    `seconds_to_safe_s`, solved for R.
    """
    return within_s / (farad * math.log(start_v / safe_v))


def stored_energy_j(*, farad: float, volts: float) -> float:
    """Return the energy in a capacitor.

    Parameters
    ----------
    farad : float
        Capacitance. [F]
    volts : float
        Across it. [V]

    Returns
    -------
    float
        C V^2 / 2. [J]

    Source
    ------
    Work against the field of a capacitor, any physics text.
    """
    return 0.5 * farad * volts * volts


def stored_charge_c(*, farad: float, volts: float) -> float:
    """Return the charge in a capacitor.

    Parameters
    ----------
    farad : float
        Capacitance. [F]
    volts : float
        Across it. [V]

    Returns
    -------
    float
        C V; 45 microcoulomb is a household limit for touching. [C]

    Source
    ------
    Definition of capacitance; the limit as quoted from IEC 60335-1 clause 8.1.4.
    """
    return farad * volts


def network_seconds_to_safe_s(resistances_ohm: Array, farads: Array, start_v: Array, safe_v: float = SAFE_V) -> Array:
    """Return how long each capacitor of a network takes to stay below a safe voltage.

    Parameters
    ----------
    resistances_ohm : array
        Resistance matrix seen from the capacitors, (port, port). [ohm]
    farads : array
        Capacitances, (port,). [F]
    start_v : array
        Volts at switch-off, (port,). [V]
    safe_v : float
        Target. [V]

    Returns
    -------
    array
        Time after which it is never above again, at most `LONGEST_S`, (port,). [s]

    Source
    ------
    Derived here: C dV/dt = -G V with G the inverse of the resistance matrix, solved by its eigenvectors;
    with one capacitor it is `seconds_to_safe_s`.
    """
    root = np.sqrt(farads)
    conductance = np.linalg.inv(resistances_ohm + _CONTACT_OHM * np.eye(len(farads)))
    rates, shapes = np.linalg.eigh(conductance / root[:, None] / root[None, :])
    weights = shapes.T @ (root * start_v)

    def volts(seconds: Array) -> Array:
        decay = np.exp(-np.maximum(rates, 0.0)[:, None] * seconds)
        return np.asarray(np.abs((shapes @ (weights[:, None] * decay)) / root[:, None]))

    above = volts(_TIMES_S) > safe_v
    result = np.zeros(len(farads))
    for port in np.flatnonzero(above.any(axis=1) | (np.abs(start_v) > safe_v)):
        last = int(np.flatnonzero(above[port])[-1]) if above[port].any() else -1
        low = _TIMES_S[last] if last >= 0 else 0.0
        high = _TIMES_S[min(last + 1, len(_TIMES_S) - 1)]
        for _ in range(50):
            middle = 0.5 * (low + high)
            low, high = (middle, high) if volts(np.array([middle]))[port, 0] > safe_v else (low, middle)
        result[port] = high
    return result
