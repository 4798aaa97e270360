"""The laws of diodes, one at a time; `lugwright.solve.device_laws.DiodeLaws` has the same for arrays of them."""

from __future__ import annotations

from math import exp, log1p, sqrt

import numpy as np
from numpy.typing import NDArray

from lugwright.solve.kernel.compiled import compiled

Row = NDArray[np.float64]

# The figures of one diode, in this order. Of a vacuum diode only ON and PERVEANCE count, of silicon all but that.
ON, JUNCTION, THRESHOLD_V, SMOOTH_V, BULK_OHM, AT_ZERO, ZENER, ZENER_V, PERVEANCE, SIZE = range(10)
VACUUM_SMOOTH_V = 0.2
FAR = 45.0  # e^-45 adds nothing to a figure of 1, and a current of that size is none


@compiled
def softplus(z: float) -> tuple[float, float]:
    """Return ln(1 + e^z) and its slope."""
    if abs(z) > FAR:
        return max(z, 0.0), 1.0 if z > 0.0 else 0.0
    small = exp(-abs(z))
    if z >= 0.0:
        return z + log1p(small), 1.0 / (1.0 + small)
    return log1p(small), small / (1.0 + small)


@compiled
def current_a(law: Row, v: float) -> tuple[float, float]:
    """Return the current of one diode at its volts, and its slope.

    Parameters
    ----------
    law : array
        Its figures, in the order above.
    v : float
        Anode against cathode. [V]

    Returns
    -------
    tuple of floats
        Current and slope. [A], [A/V]

    Valid
    -----
    As `lugwright.solve.device_laws.DiodeLaws.currents_a`, which a test holds it against.

    Source
    ------
    The same.
    """
    if law[JUNCTION] == 0.0:
        root = sqrt(v * v + VACUUM_SMOOTH_V * VACUUM_SMOOTH_V)
        part = 0.5 * (v + root)
        steep = sqrt(part)
        return (
            law[ON] * law[PERVEANCE] * part * steep,
            law[ON] * 1.5 * law[PERVEANCE] * steep * 0.5 * (1.0 + v / root),
        )
    soft, bend = softplus((v - law[THRESHOLD_V]) / law[SMOOTH_V])
    amps, slope = (soft - law[AT_ZERO]) * law[SMOOTH_V] / law[BULK_OHM], bend / law[BULK_OHM]
    if law[ZENER] != 0.0:
        soft, bend = softplus((-v - law[ZENER_V]) / law[SMOOTH_V])
        amps -= soft * law[SMOOTH_V] / law[BULK_OHM]
        slope += bend / law[BULK_OHM]
    return law[ON] * amps, law[ON] * slope
