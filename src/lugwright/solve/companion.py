"""One implicit step in time: what capacitors, coils and cores remember, and how it enters the nodal equations.

An implicit rule makes the derivative of a state ``rate * (state - base)``, base being a mixture of earlier states.
Each element is then the admittance it has at the real frequency ``rate``, with its base as a push in series.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from lugwright.solve.system import Array, System


@dataclass(frozen=True)
class StepRule:
    """Derivative = rate * (state - now * state now - before * state before)."""

    rate: float
    now: float
    before: float

    @staticmethod
    def first(step_s: float) -> StepRule:
        """Return backward Euler, for a step without a past."""
        return StepRule(1.0 / step_s, 1.0, 0.0)

    @staticmethod
    def second(step_s: float, before_s: float) -> StepRule:
        """Return the second-order backward difference after a step of ``before_s``."""
        ratio = step_s / before_s
        spread = 1.0 + 2.0 * ratio
        return StepRule(spread / (1.0 + ratio) / step_s, (1.0 + ratio) ** 2 / spread, -(ratio**2) / spread)


class Companion:
    """The states of a system, one row each: capacitor volts, coil amperes, flux of each core (volt seconds a turn)."""

    def __init__(self, system: System, values: Array) -> None:
        self.system, self.values = system, values
        first = len(system.resistors)
        self.capacitors = np.arange(first, first + len(system.capacitors))
        empty = np.zeros(0, dtype=np.intp)
        self.coils = np.concatenate([empty, *(g.branches for g in system.groups)])
        turns = np.concatenate([empty, *(g.turns for g in system.groups)])
        self._leakage = np.concatenate([empty, *(g.leakage for g in system.groups)])
        cores = (np.full(len(g.branches), i, dtype=np.intp) for i, g in enumerate(system.groups))
        self._core = np.concatenate([empty, *cores])
        self._turns = values[turns]
        magnetizing = values[np.array([g.magnetizing for g in system.groups], dtype=np.intp)]
        first_turns = values[np.array([g.turns[0] for g in system.groups], dtype=np.intp)]
        self._henry_a_turn = magnetizing / first_turns**2
        self.size = len(self.capacitors) + len(self.coils) + len(system.groups)

    def at_rest(self, batch: int) -> NDArray[np.float64]:
        """Return the states of a circuit that has been off for long."""
        return np.zeros((self.size, batch))

    def push_v(self, rate: float, base: Array) -> Array:
        """Return what the bases put in series with each branch.

        Parameters
        ----------
        rate : float
            Of the step rule. [1/s]
        base : array
            Mixture of earlier states (state, batch).

        Returns
        -------
        array
            Volts to add to those across each branch (branch, batch). [V]

        Source
        ------
        Derived: i = C rate (v - base) for a capacitor; v = R i + L rate (i - base) + turns rate (flux - base) for a
        coil, with flux = henry a turn x ampere turns of its core.
        """
        system, values = self.system, self.values
        push = np.zeros((len(system.branch_a), base.shape[1]))
        nc, nl = len(self.capacitors), len(self.coils)
        charge = rate * values[system.farad_of]
        push[self.capacitors] = -charge / (charge + values[system.leak_of]) * base[:nc]
        flux = base[nc + nl :][self._core]
        leakage = values[self._leakage]
        push[self.coils] = rate * (leakage * base[nc : nc + nl] + self._turns * flux)
        return push

    def states(self, admittances: Array, branch_v: Array, push_v: Array) -> Array:
        """Return the states at the end of a step, from the volts across each branch."""
        amps = self.system.branch_currents(admittances, branch_v + push_v)[self.coils]
        return np.concatenate([branch_v[self.capacitors], amps, self.fluxes(amps)])

    def fluxes(self, coil_a: Array) -> Array:
        """Return the flux of each core (core, batch) from the currents of all coils (coil, batch)."""
        ampere_turns = np.zeros((len(self.system.groups), coil_a.shape[1]))
        np.add.at(ampere_turns, self._core, self._turns * coil_a)
        return np.asarray(self._henry_a_turn * ampere_turns)
