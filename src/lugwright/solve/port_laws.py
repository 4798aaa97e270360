"""How the diodes of a circuit answer the volts across them, as direct current asks it.

A law takes volts (diode, batch) and the columns of the batch they belong to; it returns currents (diode, batch) and
slopes (diode, diode, batch). The machine code knows these two (`lugwright.solve.by_machine`).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from lugwright.solve.device_laws import diode_laws
from lugwright.solve.system import Array, System

Columns = NDArray[np.intp]


@dataclass(frozen=True)
class Plane:
    """Currents that follow the volts from one point on, as the mean currents of rectifiers do near a closed cycle."""

    amps: Array  # (diode)
    at_v: Array  # (diode)
    follow: Array  # (diode, diode)
    slope: Array  # (diode, diode): what is told of it
    scales: Array  # of that point, one for all columns or for each

    def __call__(self, v: Array, columns: Columns) -> tuple[Array, Array]:
        """Return currents and slopes."""
        scale = self.scales[columns] if len(self.scales) > 1 else self.scales
        current = self.amps[:, None] * scale + self.follow @ (v - self.at_v[:, None] * scale)
        return current, np.broadcast_to(self.slope[:, :, None], (*self.slope.shape, v.shape[1]))

    @staticmethod
    def nothing(diodes: int) -> Plane:
        """Return the law of diodes that carry nothing."""
        none, square = np.zeros(diodes), np.zeros((diodes, diodes))
        return Plane(none, none, square, square, np.ones(1))


@dataclass(frozen=True)
class OwnLaws:
    """Each diode by itself, by its own law."""

    system: System
    values: Array  # (value, batch)

    def __call__(self, v: Array, columns: Columns) -> tuple[Array, Array]:
        """Return currents and slopes."""
        k = len(self.system.diodes)
        current, slope = diode_laws(self.system, self.values[:, columns]).currents_a(v)
        full = np.zeros((k, k, v.shape[1]))
        full[np.arange(k), np.arange(k)] = slope
        return current, full


PortLaw = Plane | OwnLaws
