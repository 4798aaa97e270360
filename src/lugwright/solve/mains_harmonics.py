"""The instants of a mains cycle, and the harmonics that they tell apart."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from lugwright.solve.kept_factors import KeptFactors
from lugwright.solve.system import Array, System

INSTANTS = 315


def harmonics_s(system: System, instants: int) -> NDArray[np.complex128]:
    """Return the complex frequency of each harmonic, as differences between instants see it.

    Parameters
    ----------
    system : System
        The circuit with its mains frequency.
    instants : int
        In one cycle; odd. [-]

    Returns
    -------
    array
        One for each harmonic below half the instants. [1/s]

    Valid
    -----
    Sampled waveforms: the rule is damped at the shortest period.

    Source
    ------
    The second-order backward difference, e^(-s t) put in for a step back.
    """
    step = 1.0 / (system.circuit.mains_hz * instants)
    back = np.exp(-2j * np.pi * np.arange(1, instants // 2 + 1) / instants)
    return np.asarray((3.0 - 4.0 * back + back * back) / (2.0 * step))


def kept_harmonics(system: System, values: Array) -> KeptFactors:
    """Return what mains cycles of a circuit have in common, whatever one of its parts and its tubes do."""
    return KeptFactors(system, values, harmonics_s(system, INSTANTS))
