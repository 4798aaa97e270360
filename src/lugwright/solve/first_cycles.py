"""The first mains cycles after switch-on, instant by instant: inrush and the charging of the reservoirs.

While the tubes are cold everything but the diodes is linear, so one implicit step is a fixed matrix on the states
and, seen from the diodes, a resistance: Newton's method runs on the diodes alone. The batch holds the same circuit
switched on at different angles of the mains.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from lugwright.errors import NoIdlePoint
from lugwright.solve.companion import Companion, StepRule
from lugwright.solve.device_laws import DiodeLaws, diode_laws
from lugwright.solve.system import Array, System

STEPS = 126  # in one mains cycle
_NEWTON = 60
_CLOSE_V = 1e-9  # of the largest volts
_ROUNDING = 64.0 * float(np.finfo(float).eps)  # of resistance times current: leaks against a floating bridge
_BREAKS = 0.9  # share of a Zener's volts up to which it counts as blocking


@dataclass(frozen=True)
class Cycles:
    """Waveforms: states (state, batch, instant), diode currents (diode, batch, instant), joints, mains amperes."""

    seconds: Array  # (instant)
    states: Array
    port_a: Array
    volts: Array  # (joint + ground, batch, instant)
    mains_a: Array  # (batch, instant) through the first source


class LinearStep:
    """One implicit step of a circuit with cold tubes, as matrices on states, source and diode currents."""

    def __init__(self, system: System, values: Array, rule: StepRule) -> None:
        companion = Companion(system, values)
        admittances = np.real(system.admittances(values, rule.rate))
        m, k = companion.size, len(system.diodes)
        push = np.zeros((len(system.branch_a), m + 1 + k))
        push[:, :m] = companion.push_v(rule.rate, np.eye(m))
        first = len(system.resistors) + len(system.capacitors)
        for row, rms in enumerate(system.source_rms):
            push[first + row, m] = -np.sqrt(2.0) * values[rms, 0]
        branch = system.branch_currents(admittances, push)
        drive = system.branch_scatter(np.concatenate([branch, -branch]))
        for port, (a, b) in enumerate(zip(system.port_a, system.port_b, strict=True)):
            drive[a, m + 1 + port] += 1.0
            drive[b, m + 1 + port] -= 1.0
        matrix = np.zeros((system.size, system.size))
        matrix[system.dense_index] = system.matrix(admittances)[:-1, 0]
        volts = np.zeros((system.size + 1, m + 1 + k))
        volts[:-1] = -np.linalg.solve(matrix, drive[:-1])
        branch_v = volts[system.branch_a] - volts[system.branch_b]
        self.volts = volts
        self.ports = volts[system.port_a] - volts[system.port_b]
        self.states = companion.states(admittances, branch_v, push)
        self.mains_a = -system.branch_currents(admittances, branch_v + push)[first]
        self.size = m


class FirstCycles:
    """Steps a circuit with cold tubes from rest; ``start_angles`` (batch) are the mains angles at switch-on."""

    def __init__(self, system: System, values: Array, start_angles: Array, *, steps: int = STEPS) -> None:
        self.system, self.values = system, values
        self.angles, self.steps = start_angles, steps
        self.companion = Companion(system, values)
        self._now = self._before = self.companion.at_rest(len(start_angles))
        self._port_v = np.zeros((len(system.diodes), len(start_angles)))
        self._cycles = 0
        self._last: Array = self._now[None]  # states of the last cycle (instant, state, batch)

    def start_from(self, now: Array, before: Array) -> None:
        """Go on from the states (state, batch) of two instants instead of from rest."""
        self._now, self._before = now, before

    def coarsen(self, steps: int) -> None:
        """Go on with fewer steps in a cycle, a whole part of those until now."""
        self._before = self._last[-1 - self.steps // steps]
        self.steps = steps

    def cycle(self, values: Array) -> Cycles:
        """Step through one mains cycle with these values and return its waveforms."""
        step_s = 1.0 / (self.system.circuit.mains_hz * self.steps)
        rule = StepRule.second(step_s, step_s)
        step = LinearStep(self.system, values, rule)
        count, batch, k = self.steps, len(self.angles), len(self.system.diodes)
        bases, states = np.zeros((count, step.size, batch)), np.zeros((count, step.size, batch))
        port_a = np.zeros((count, k, batch))
        turn = 2.0 * np.pi * np.arange(1, count + 1)[:, None] / count
        emf = np.sin(turn + self.angles[None, :])
        laws = diode_laws(self.system, values)
        on_states, on_ports, m = step.states, step.ports, step.size
        resistance = -on_ports[:, m + 1 :]
        for i in range(count):
            base = rule.now * self._now + rule.before * self._before
            open_v = on_ports[:, :m] @ base + on_ports[:, m : m + 1] * emf[i]
            current = self._currents(laws, resistance, open_v)
            state = on_states[:, :m] @ base + on_states[:, m : m + 1] * emf[i] + on_states[:, m + 1 :] @ current
            self._before, self._now = self._now, state
            bases[i], states[i], port_a[i] = base, state, current
        drive = np.concatenate([bases, emf[:, None, :], port_a], axis=1)
        seconds = np.asarray(step_s * np.arange(self._cycles * count + 1, (self._cycles + 1) * count + 1), dtype=float)
        self._cycles, self._last = self._cycles + 1, states
        volts = np.einsum("jm,tmb->jbt", step.volts, drive, optimize=True)
        mains = np.einsum("m,tmb->bt", step.mains_a, drive, optimize=True)
        return Cycles(seconds, states.transpose(1, 2, 0), port_a.transpose(1, 2, 0), volts, mains)

    def _currents(self, laws: DiodeLaws, resistance: Array, open_v: Array) -> Array:
        """Return the diode currents (diode, batch) with v + resistance i = open_v."""
        if np.all((open_v < 0.0) & (open_v > _lowest_v(laws))):  # every diode blocks; what it leaks is in the matrix
            self._port_v = open_v
            return np.zeros_like(open_v)
        v = self._port_v
        eye = np.eye(len(v))
        close = _CLOSE_V * (1.0 + float(np.abs(open_v).max(initial=0.0)))
        rounding = _ROUNDING * float(np.abs(resistance).max(initial=0.0))
        for _ in range(_NEWTON):
            current, slope = laws.currents_a(v)
            left = v + resistance @ current - open_v
            if np.abs(left).max(initial=0.0) <= close + rounding * float(np.abs(current).max(initial=0.0)):
                self._port_v = v
                return current
            jacobian = eye + resistance * slope.T[:, None, :]
            v = v - np.linalg.solve(jacobian, left.T[..., None])[..., 0].T
        worst = int(np.argmax(np.abs(left).max(axis=1)))
        raise NoIdlePoint(
            what="the first mains cycles cannot be stepped through",
            found=f"{np.abs(left[worst]).max():.2g} V left over at {self.system.diodes[worst].name}",
            wanted="rectifier currents that fit the volts around them",
            do="look for a rectifier that works straight into a capacitor without any resistance",
        )


def _lowest_v(laws: DiodeLaws) -> Array:
    """Return the volts of each diode (diode, 1) down to which it blocks."""
    lowest = np.full((len(laws.on), 1), -np.inf)
    lowest[laws.zeners] = -_BREAKS * laws.zener_v
    return lowest
