"""Where the currents of tubes and diodes flow in every wiring."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from lugwright.solve.sparse_lu import Numbers
from lugwright.solve.system import Index, System


@dataclass(frozen=True)
class Ports:
    """Where the tubes' and diodes' currents flow, as pairs of rows (port, column).

    In order: triode plates, triode grids, pentode plates, screens, grids, each against its cathode; diodes.
    """

    a: Index
    b: Index

    @staticmethod
    def of(system: System, ends: Index) -> Ports:
        """Return the ports of columns whose ends stand on these rows (end, column)."""
        n = 2 * len(system.branch_a)
        t, p, d = len(system.triodes), len(system.pentodes), len(system.diodes)
        triode = ends[n : n + 3 * t].reshape(3, t, ends.shape[1])
        pentode = ends[n + 3 * t : n + 3 * t + 4 * p].reshape(4, p, ends.shape[1])
        diode = ends[n + 3 * t + 4 * p : n + 3 * t + 4 * p + 2 * d].reshape(2, d, ends.shape[1])
        a = np.concatenate([triode[0], triode[1], pentode[0], pentode[1], pentode[2], diode[0]])
        b = np.concatenate([triode[2], triode[2], pentode[3], pentode[3], pentode[3], diode[1]])
        return Ports(a, b)

    def chosen(self, pick: Index) -> Ports:
        """Return those of some columns."""
        return Ports(self.a[:, pick], self.b[:, pick])

    def across(self, v: Numbers) -> Numbers:
        """Return the volts across the ports (port, column) at joint volts (joint, column)."""
        at = np.arange(v.shape[1])
        return np.asarray(v[self.a, at] - v[self.b, at])

    def into_joints(self, amps: Numbers, joints: int) -> Numbers:
        """Return what port currents (port, column) draw out of each joint (joint, column)."""
        shape = (joints, amps.shape[1])
        return summed(self.a, amps, shape) - summed(self.b, amps, shape)


def summed(where: Index, parts: Numbers, shape: tuple[int, ...]) -> Numbers:
    """Return currents summed into the joints they leave: parts (end, column) into (joint, column)."""
    columns = shape[1]
    flat = (where * columns + np.arange(columns)).ravel()
    size = shape[0] * columns
    if np.iscomplexobj(parts):
        real, imaginary = (np.bincount(flat, weights=p.ravel(), minlength=size) for p in (parts.real, parts.imag))
        return np.asarray((real + 1j * imaginary).reshape(shape))
    return np.asarray(np.bincount(flat, weights=parts.ravel(), minlength=size).reshape(shape), dtype=float)
