"""A linear circuit at many frequencies, one after the other: its matrix, the factors, what some ports see."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from lugwright.solve.kernel.compiled import entry
from lugwright.solve.kernel.lu import Pivots, factor_in_place, solve_in_place

Table = NDArray[np.float64]
Complex = NDArray[np.complex128]
Rows = NDArray[np.int64]


class Stamps(NamedTuple):
    """Which slot of the matrix each admittance is added to."""

    couple_slots: Rows  # (pair of branches, 4)
    tie_slots: Rows
    tie_s: float


@entry
def between(
    pivots: Pivots, reach: Pivots, stamps: Stamps, admittances: Complex, devices: Table, size: int, ends: Rows,
    first: Complex, into: Complex,
) -> None:  # fmt: skip
    """Write the volts across each port for a unit of current into each (across, driven, frequency).

    ``devices`` are the slopes of tubes and diodes in their slots, ``reach`` the pivots of the joints of the ports
    (`lugwright.solve.sparse_lu.Reach`), ``size`` how many these are, ``ends`` their rows in there. ``first`` are the
    factors of the first frequency.
    """
    ports, matrix = len(ends), np.empty(len(devices), dtype=np.complex128)
    volts = np.empty(size + 1, dtype=np.complex128)  # ground last
    for f in range(admittances.shape[1]):
        for k in range(len(devices)):
            matrix[k] = devices[k]
        for p in range(len(admittances)):
            siemens, slots = admittances[p, f], stamps.couple_slots[p]
            matrix[slots[0]] += siemens
            matrix[slots[1]] -= siemens
            matrix[slots[2]] -= siemens
            matrix[slots[3]] += siemens
        for slot in stamps.tie_slots:
            matrix[slot] += stamps.tie_s
        factor_in_place(pivots, matrix)
        if f == 0:
            for k in range(len(devices)):
                first[k] = matrix[k]
        for q in range(ports):
            volts.fill(0.0)
            volts[ends[q, 0]] += 1.0
            volts[ends[q, 1]] -= 1.0
            solve_in_place(reach, matrix, volts)
            volts[-1] = 0.0
            for p in range(ports):
                into[p, q, f] = volts[ends[p, 0]] - volts[ends[p, 1]]
