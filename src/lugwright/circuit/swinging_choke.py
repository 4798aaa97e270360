"""A swinging choke: its inductance falls as the direct current through it rises."""

from __future__ import annotations

import numpy as np

from lugwright.circuit.tubes.drive import Array, ArrayLike


def choke_inductance_h(*, light_h: ArrayLike, rated_h: ArrayLike, rated_a: ArrayLike, amps: ArrayLike) -> Array:
    """Return the inductance of a choke that carries direct current.

    Parameters
    ----------
    light_h : float or array
        Without direct current. [H]
    rated_h : float or array
        At its rated current. [H]
    rated_a : float or array
        Rated direct current. [A]
    amps : float or array
        Direct current. [A]

    Returns
    -------
    array
        Inductance for the ripple upon that current. [H]

    Valid
    -----
    From none to about twice the rated current.

    Source
    ------
    Own choice: a hyperbola through both stated figures, the shape of an iron core with a small gap.
    """
    falls: Array = light_h / rated_h - 1.0
    return np.asarray(light_h / (1.0 + falls * np.abs(amps) / rated_a))
