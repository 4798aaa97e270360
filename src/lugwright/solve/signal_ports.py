"""The places where a signal meets something curved: tube electrodes against their cathodes, and catch diodes."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from lugwright.circuit.tubes.drive import grid_current_a
from lugwright.solve.device_laws import diode_laws, tube_state_at
from lugwright.solve.system import Array, Index, System


@dataclass(frozen=True)
class PortLaws:
    """Currents (port, instant) and slopes (entry, instant) at one set of port volts. [A], [A/V]"""

    amps: Array
    slopes: Array


class SignalPorts:
    """Every port of a system that carries signal, in a fixed order, and its law.

    Triode plates, triode grids, pentode plates, screens, grids, then the diodes given. Slope entry e is
    the slope of the current at port ``of[e]`` over the volts at port ``over[e]``.
    """

    def __init__(self, system: System, values: Array, diodes: Sequence[int]) -> None:
        self.system, self.values, self.diodes = system, values, np.array(diodes, dtype=np.intp)
        self._laws = diode_laws(system, values)
        t, p, d = len(system.triodes), len(system.pentodes), len(diodes)
        plate, grid, cathode = system.triode_rows
        p_plate, p_screen, p_grid, p_cathode = system.pentode_rows
        self.plus: Index = np.concatenate([plate, grid, p_plate, p_screen, p_grid, system.port_a[self.diodes]])
        self.minus: Index = np.concatenate([cathode, cathode, *[p_cathode] * 3, system.port_b[self.diodes]])
        self.count = len(self.plus)
        self.triode_rows = (np.arange(t), np.arange(t, 2 * t))
        first = 2 * t
        self.pentode_rows = tuple(np.arange(first + k * p, first + (k + 1) * p) for k in range(3))
        self.diode_rows = np.arange(first + 3 * p, first + 3 * p + d)
        tp, tg = self.triode_rows
        pp, ps, pg = self.pentode_rows
        self.of: Index = np.concatenate([tp, tp, tg, pp, pp, pp, ps, ps, ps, pg, self.diode_rows])
        self.over: Index = np.concatenate([tp, tg, tg, pp, ps, pg, pp, ps, pg, pg, self.diode_rows])
        self.plates: Index = np.concatenate([tp, pp])
        devices = np.arange(t + p + d)
        self.device: Index = np.concatenate([devices[:t], devices[:t], *[devices[t : t + p]] * 3, devices[t + p :]])
        self.lone: Index = np.concatenate([tg, pg, self.diode_rows])  # current depends on nothing but their own volts

    def volts(self, joint_v: NDArray[Any]) -> NDArray[Any]:
        """Return the volts across each port from those of the joints (joint + ground, ...)."""
        return np.asarray(joint_v[self.plus] - joint_v[self.minus])

    def laws(self, port_v: Array) -> PortLaws:
        """Return currents and slopes at port volts (port, instant)."""
        triode_v = (port_v[self.triode_rows[0]], port_v[self.triode_rows[1]])
        plate, screen, grid = (port_v[rows] for rows in self.pentode_rows)
        state = tube_state_at(self.system, self.values, triode_v, (plate, screen, grid))
        amps, slope = self._diode_laws(port_v[self.diode_rows])
        return PortLaws(
            np.concatenate([*state.triode_a, *state.pentode_a, amps]),
            np.concatenate([*state.triode_slopes, *state.pentode_slopes, slope]),
        )

    def lone_laws(self, lone_v: Array) -> tuple[Array, Array]:
        """Return currents and slopes of the lone ports: grids and diodes (lone port, instant). [A], [A/V]"""
        t, p = len(self.system.triodes), len(self.system.pentodes)
        found = [self._diode_laws(lone_v[t + p :])]
        for law, on, rows in (
            (self.system.pentode_law, self.system.pentode_on, slice(t, t + p)),
            (self.system.triode_law, self.system.triode_on, slice(0, t)),
        ):
            if law:
                amps, slope = grid_current_a(lone_v[rows], gain=law["grid_gain"])
                found.insert(0, (self.values[on] * amps, self.values[on] * slope))
        return np.concatenate([a for a, _ in found]), np.concatenate([s for _, s in found])

    def _diode_laws(self, v: Array) -> tuple[Array, Array]:
        whole = np.zeros((len(self.system.diodes), v.shape[1]))
        whole[self.diodes] = v
        amps, slope = self._laws.currents_a(whole)
        return amps[self.diodes], slope[self.diodes]
