"""How port currents answer a change of port volts within one period: a linear system, solved stage by stage.

With G the slopes and Z the periodic convolution, the answer is (1 + G Z)^-1 G times the change. Ports that act
on one another share a block; a stage that only drives the next is solved before it. The means act on everything
through the supply, so they are a few unknowns of their own.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from lugwright.solve.signal_ports import SignalPorts
from lugwright.solve.signal_surroundings import Complex
from lugwright.solve.system import Array, Index

WEAK = 3e-3  # ports whose currents come back from one another by less than this share are solved one after the other
_SMALL = 150  # so few unknowns are solved at once sooner than put in order


@dataclass(frozen=True)
class CurvedPorts:
    """The ports whose currents are unknown in a Newton step, and what goes on around them."""

    ports: SignalPorts
    slopes: Array  # (entry, instant), zero where they take no part
    active: NDArray[np.bool_]  # (port, instant) where a current takes part
    chosen: Index  # the ports that have such instants
    impedance: Complex  # (harmonic, port, chosen port): what the currents of these do to the volts of all

    def amps(self, forcing: Array, *, whole: bool = False) -> Array:
        """Return how the currents of the chosen ports answer a change of open-circuit volts.

        Parameters
        ----------
        forcing : array
            The change (port, instant). [V]
        whole : bool
            All in one block, whatever comes back from where.

        Returns
        -------
        array
            Currents (chosen port, instant). [A]

        Valid
        -----
        A Newton step, not an answer: what comes back from a later stage by less than `WEAK` is left out.

        Source
        ------
        Ohm's law for each harmonic; the means by Woodbury's identity.
        """
        few = whole or np.count_nonzero(self.active) <= _SMALL
        return _Sweep(self, forcing, [np.arange(len(self.chosen))] if few else self.in_order()).solved()

    def in_order(self) -> list[Index]:
        """Return the chosen ports by place, in blocks, drivers before what they drive.

        Judged by the mean slopes: with H the answer of each current to a push at each other, what comes back over
        two ports is H(a, b) H(b, a) of what goes H(a, a) H(b, b).
        """
        count = len(self.chosen)
        mean_s = np.zeros((self.ports.count, self.ports.count))
        np.add.at(mean_s, (self.ports.of, self.ports.over), self.slopes.mean(axis=1))
        response = np.linalg.inv(np.eye(count) + mean_s[self.chosen] @ self.impedance[1:])
        own = np.diagonal(response, axis1=1, axis2=2)
        returned = np.abs(response * response.transpose(0, 2, 1) / (own[:, :, None] * own[:, None, :]))
        joined = returned.max(axis=0) > WEAK
        for _ in range(count.bit_length()):
            joined = joined @ joined
        drives = np.log(np.maximum(np.abs(response).max(axis=0), 1e-300))
        forward = (drives - drives.T).sum(axis=0)  # large where a port drives and is not driven
        blocks = {tuple(np.flatnonzero(row)) for row in joined}
        ordered = sorted(blocks, key=lambda block: (-float(forward[list(block)].mean()), block))
        return [np.array(block, dtype=np.intp) for block in ordered]


class _Sweep:
    """The unknowns in the order of the blocks, and their solution from the first to the last."""

    def __init__(self, curved: CurvedPorts, forcing: Array, blocks: list[Index]) -> None:
        self._curved, self._order = curved, np.concatenate(blocks)
        self._instants = forcing.shape[1]
        active = curved.active[curved.chosen[self._order]]
        self._place, self._instant = np.nonzero(active)
        self._ends = np.cumsum([0, *np.count_nonzero(active, axis=1)])
        self._bounds = np.cumsum([0, *map(len, blocks)])  # places where the blocks begin and end
        place = np.full(curved.ports.count, -1)
        place[curved.chosen[self._order]] = np.arange(len(self._order))
        self._of = place[curved.ports.of]  # of each entry
        self._right = np.zeros((len(self._place), 1 + len(self._order)))
        impedance = curved.impedance[:, :, self._order]
        steady_ohm = np.real(impedance[0])
        for e in np.flatnonzero(self._of >= 0):
            rows, over = self._rows(self._of[e]), curved.ports.over[e]
            slope = curved.slopes[e, self._instant[rows]]
            self._right[rows, 0] += slope * forcing[over, self._instant[rows]]
            self._right[rows, 1:] += slope[:, None] * steady_ohm[over]
        alternating = impedance.transpose(1, 2, 0).copy()
        alternating[:, :, 0] = 0.0
        self._kernel = np.fft.irfft(alternating, n=self._instants, axis=2)  # (port, place, instant)

    def _rows(self, place: int) -> slice:
        return slice(self._ends[place], self._ends[place + 1])

    def solved(self) -> Array:
        """Return the change of the currents (chosen port, instant). [A]"""
        right = self._right
        for begin, end in zip(self._bounds[:-1], self._bounds[1:], strict=True):
            matrix = self._onward(begin, end)
            own = slice(self._ends[begin], self._ends[end])
            count = matrix.shape[1]
            matrix[np.arange(count), np.arange(count)] += 1.0
            right[own] = np.linalg.solve(matrix[:count], right[own])
            right[self._ends[end] :] -= matrix[count:] @ right[own]
        means = np.add.reduceat(right, self._ends[:-1], axis=0) / self._instants
        mean_a = np.linalg.solve(np.eye(len(means)) + means[:, 1:], means[:, 0])
        amps = np.zeros((len(self._order), self._instants))
        amps[self._order[self._place], self._instant] = right[:, 0] - right[:, 1:] @ mean_a
        return amps

    def _onward(self, begin: int, end: int) -> Array:
        """Return what the alternating currents of one block do to its own and to all later ones."""
        ports, m, first = self._curved.ports, self._instants, self._ends[begin]
        columns = slice(first, self._ends[end])
        matrix = np.zeros((len(self._place) - first, self._ends[end] - first))
        # where the flattened kernel of one port has what each column does at each instant
        delayed = self._place[columns] * m + (np.arange(m)[:, None] - self._instant[columns]) % m
        entries = np.flatnonzero(self._of >= begin)
        for q in np.unique(ports.over[entries]):
            answer = self._kernel[q].ravel().take(delayed)
            for e in entries[ports.over[entries] == q]:
                rows = self._rows(self._of[e])
                at = self._instant[rows]
                moved = answer if len(at) == m else answer[at]
                matrix[rows.start - first : rows.stop - first] += self._curved.slopes[e, at, None] * moved
        return matrix
