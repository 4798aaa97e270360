"""The normal law: its density, and how much of it lies below or above an edge."""

from __future__ import annotations

import numpy as np

from lugwright.bringup.trace.records import Array


def normal(value: float | Array, mean: float | Array, sd: float | Array) -> Array:
    """Return the density of the normal law.

    Parameters
    ----------
    value : float | Array
        Where.
    mean : float | Array
        Its mean.
    sd : float | Array
        Its standard deviation.

    Returns
    -------
    Array
        The density, one over the unit of the value.

    Source
    ------
    Gauss's law.
    """
    return np.asarray(np.exp(-0.5 * ((value - mean) / sd) ** 2) / (sd * np.sqrt(2.0 * np.pi)))


def below(edge: float | Array, mean: Array, sd: Array) -> Array:
    """Return the share of a normal law below an edge.

    Parameters
    ----------
    edge : float | Array
        The edge.
    mean : Array
        Mean of the law.
    sd : Array
        Its standard deviation.

    Returns
    -------
    Array
        The share; off by less than 0.0004. [-]

    Source
    ------
    A known approximation by a hyperbolic tangent, from memory; tested against the exact law.
    """
    z = (edge - mean) / sd
    return np.asarray(0.5 + 0.5 * np.tanh(0.7978845608 * z * (1.0 + 0.044715 * z * z)))


def log_above(edge: float | Array, mean: Array, sd: Array) -> Array:
    """Return the logarithm of the share of a normal law above an edge, however small it is.

    Parameters
    ----------
    edge : float | Array
        The edge.
    mean : Array
        Mean of the law.
    sd : Array
        Its standard deviation.

    Returns
    -------
    Array
        Logarithm of the share; off by less than 0.012. [-]

    Source
    ------
    A known bound of the share beyond an edge over the density there, from memory; tested against the exact law.
    """
    z = np.abs((edge - mean) / sd)
    tail = np.log(np.pi / ((np.pi - 1.0) * z + np.sqrt(z * z + 2.0 * np.pi))) - 0.5 * (z * z + np.log(2.0 * np.pi))
    return np.asarray(np.where(mean < edge, tail, np.log1p(-np.exp(tail))))
