"""LU factors of one circuit at fixed frequencies, most of the work kept from one set of values to the next.

A slider moves one part, and with it what tubes and diodes let through. All joints that these do not touch, nor anything
eliminated before them, are eliminated once; what remains, two thirds of the work, is done for each set of values.
"""

from __future__ import annotations

from collections import OrderedDict

import numpy as np
from numpy.typing import NDArray

from lugwright.solve.sparse_lu import Numbers, Pattern, factor
from lugwright.solve.system import Array, System

_MOST_KEPT = 3  # parts that are moved


class KeptFactors:
    """Factors around one set of values; any other is told by the admittances that differ."""

    def __init__(self, system: System, values: Array, s: NDArray[np.complex128]) -> None:
        self._system, self._usual = system, system.admittances(values, s)
        self._partly: OrderedDict[tuple[int, ...], tuple[Numbers, Pattern]] = OrderedDict()

    def factors(self, admittances: Numbers, devices: Numbers) -> Numbers:
        """Return the factors of the matrix of these admittances, slopes of tubes and diodes (slot, 1) added to it.

        Parameters
        ----------
        admittances : array
            Of each coupled pair of branches (pair, frequency), as `System.admittances` has them. [S]
        devices : array
            What tubes and diodes add, in their slots (slot, 1). [S]

        Returns
        -------
        array
            As `factor` (slot, frequency). [S], pivots [ohm]

        Source
        ------
        Gauss's elimination; joints that share no equation can be eliminated in any order.
        """
        changed = tuple(np.flatnonzero((admittances != self._usual).any(axis=1)).tolist())
        partly, rest = self._known(changed)
        values = partly + devices
        for pair in changed:
            for row, column, sign in self._stamps(pair):
                slot = self._system.pattern.slot.get((row, column))
                if slot is not None:  # else one of them is ground
                    values[slot] += sign * admittances[pair]
        return factor(rest, values)

    def _known(self, changed: tuple[int, ...]) -> tuple[Numbers, Pattern]:
        """Return what is eliminated whatever these pairs of branches are, and the pivots that remain."""
        if changed not in self._partly:
            usual = self._usual.copy()
            usual[list(changed)] = 0.0
            touched = {row for pair in changed for row, _, _ in self._stamps(pair)}
            first, rest = self._system.pattern.split({*touched, *self._system.device_joints.tolist()})
            self._partly[changed] = factor(first, self._system.matrix(usual)), rest
        self._partly.move_to_end(changed)
        while len(self._partly) > _MOST_KEPT:
            self._partly.popitem(last=False)
        return self._partly[changed]

    def _stamps(self, pair: int) -> list[tuple[int, int, float]]:
        """Return row, column and sign of each entry that the admittance of a pair of branches is added to."""
        a, b = self._system.branch_a, self._system.branch_b
        i, j = self._system.couple_i[pair], self._system.couple_j[pair]
        places = ((a, a, 1.0), (a, b, -1.0), (b, a, -1.0), (b, b, 1.0))
        return [(int(x[i]), int(y[j]), sign) for x, y, sign in places]
