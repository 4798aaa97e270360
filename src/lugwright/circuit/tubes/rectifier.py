"""One plate of a vacuum rectifier."""

from __future__ import annotations

import numpy as np

from lugwright.circuit.tubes.drive import Array, ArrayLike, positive_part

_SMOOTH_V = 0.2


def rectifier_plate_current_a(plate_to_cathode_v: ArrayLike, *, perveance: ArrayLike) -> tuple[Array, Array]:
    """Return the current of one plate and its slope.

    Parameters
    ----------
    plate_to_cathode_v : float or array
        Plate against cathode. [V]
    perveance : float or array
        From one published drop. [A/V^1.5]

    Returns
    -------
    tuple of arrays
        Plate current and its slope. [A], [A/V]

    Valid
    -----
    Any real voltage; the smoothing lets about 0.0002 V^1.5 x perveance through per volt backward.

    Source
    ------
    Child-Langmuir three-halves law (1911/1913).
    """
    v, v_slope = positive_part(plate_to_cathode_v, smooth_v=_SMOOTH_V)
    root = np.sqrt(v)
    return perveance * v * root, 1.5 * perveance * root * v_slope
