"""How much of the mains stands on the limiter lamp, from what a wiring draws without it."""

from __future__ import annotations

import numpy as np

from lugwright.bringup.trace.records import Array
from lugwright.solve.sparse_lu import Numbers

BEND = 0.55  # a filament's amperes follow its volts to this power, from memory
COLD = 12.0  # hot over cold resistance, from memory
ROUNDS = 60
LEAST, MOST = 1e-5, 1.0  # share of the mains on the lamp
MOST_FITTED = 8.0  # times: a load behind the lamp is like that without it, but for this much


def lamp_share(admittance_s: Numbers, *, watts: float, mains_v: float) -> Array:
    """Return the share of the mains that stands on a lamp in series with loads.

    Parameters
    ----------
    admittance_s : array
        Complex admittance of each load at mains frequency. [S]
    watts : float
        Of the lamp, on the whole mains. [W]
    mains_v : float
        The mains. [V]

    Returns
    -------
    array
        Lamp's volts over the mains volts. [-]

    Valid
    -----
    Loads that draw in proportion to their volts, settled.

    Source
    ------
    Kirchhoff: the same current through both; the filament's law from memory. The share of the lamp rises with its
    own volts everywhere, so halving the interval finds it.
    """
    rated_ohm = mains_v**2 / watts
    low, high = np.full(np.shape(admittance_s), LEAST), np.full(np.shape(admittance_s), MOST)
    for _ in range(ROUNDS):
        share = 0.5 * (low + high)
        ohm = rated_ohm * np.maximum(share ** (1.0 - BEND), 1.0 / COLD)
        left = np.abs(ohm * admittance_s / (1.0 + ohm * admittance_s))  # of the mains, on a resistor of these ohms
        more = left > share
        low, high = np.where(more, share, low), np.where(more, high, share)
    return np.asarray(0.5 * (low + high))


def fitted_scale(admittance_s: complex, share: float, *, watts: float, mains_v: float) -> float:
    """Return by what a load behind the lamp differs from that load without it, so that the lamp has a known share.

    Parameters
    ----------
    admittance_s : complex
        Of the load without the lamp. [S]
    share : float
        Of the mains, on the lamp. [-]
    watts : float
        Of the lamp, on the whole mains. [W]
    mains_v : float
        The mains. [V]

    Returns
    -------
    float
        Factor. [-]

    Source
    ------
    The inverse of `lamp_share`, by halving.
    """
    low, high = 1.0 / MOST_FITTED, MOST_FITTED
    for _ in range(ROUNDS):
        middle = float(np.sqrt(low * high))
        found = float(lamp_share(np.array([middle * admittance_s]), watts=watts, mains_v=mains_v)[0])
        low, high = (middle, high) if found < share else (low, middle)
    return float(np.sqrt(low * high))
