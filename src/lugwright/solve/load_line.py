"""What the circuit does with the mean currents of its diodes, and the ways that a current finds only through leaks."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np

from lugwright.solve.system import Array

_STIFF_OHM = 1e6  # more than any supply shows its diodes, less than what leaks show them


@dataclass(frozen=True)
class StiffWays:
    """Patterns of diode currents that find no way but leaks: what a bridge does to a winding that floats.

    The volts they would take are a number of the circuit's currents that all but cancel; taken apart, they
    come out the same at every diode and leave no noise between them.
    """

    patterns: Array  # (way, port), each of length 1
    ohms: Array  # (way, 1)

    @staticmethod
    def of(ohm: Array) -> StiffWays:
        """Return the stiff ways of a symmetric resistance between the ports (port, port)."""
        if not len(ohm):
            return StiffWays(np.zeros((0, 0)), np.zeros((0, 1)))
        sizes, vectors = np.linalg.eigh(0.5 * (ohm + ohm.T))
        stiff = sizes > _STIFF_OHM
        return StiffWays(vectors[:, stiff].T, sizes[stiff][:, None])

    @property
    def matrix_ohm(self) -> Array:
        """Return the stiff ways as a resistance between the ports."""
        return np.asarray(self.patterns.T @ (self.ohms * self.patterns))

    def drop_v(self, port_a: Array) -> Array:
        """Return what they take off the port voltages (port, instant).

        Parameters
        ----------
        port_a : array
            Diode currents (port, instant). [A]

        Returns
        -------
        array
            Volts (port, instant). [V]

        Source
        ------
        Ohm's law.
        """
        if not len(self.ohms):
            return np.zeros_like(port_a)
        along = np.tensordot(self.patterns, port_a, axes=1)
        volts = self.ohms.reshape(-1, *[1] * (port_a.ndim - 1)) * along
        return np.asarray(np.tensordot(self.patterns.T, volts, axes=1))


@dataclass(frozen=True)
class LoadLine:
    """What the circuit does with mean diode currents: port volts = open_v - impedance * mean current."""

    open_v: Array  # (port)
    impedance_ohm: Array  # (port, port)

    def volts(self, port_a: Array) -> Array:
        """Return the mean port volts at these diode currents (port, 1). [V]

        Parameters
        ----------
        port_a : array
            Diode currents (port, instant). [A]
        """
        mean = port_a.mean(axis=1, keepdims=True)
        supple = self.impedance_ohm - self._stiff.matrix_ohm
        return np.asarray(self.open_v[:, None] - supple @ mean - self._stiff.drop_v(mean))

    @cached_property
    def _stiff(self) -> StiffWays:
        return StiffWays.of(self.impedance_ohm)
