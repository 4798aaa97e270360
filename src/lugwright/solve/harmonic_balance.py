"""One signal period in steady state: every curved port closed on the linear rest, all at once.

Port volts at the instants of one period are the unknowns; what the linear rest does to port currents is a
periodic convolution, exact at every harmonic kept. Newton's method with exact slopes; the tubes that a loop
joins share one dense block, the blocks are swept in the signal's order.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from lugwright.solve.dc import KNEE_V
from lugwright.solve.signal_ports import PortLaws
from lugwright.solve.signal_surroundings import Complex, SignalSurroundings
from lugwright.solve.system import Array

CLOSED = 1e-7  # left over at a port, as a share of its own peak volts, when a period counts as closed
_STEPS = 40
_QUIET = 1e-2  # an instant at which a current answers its port by less than this takes no part in a Newton step
_REFLECT_STEPS = 40
_GENTLE = 0.2  # a tube whose slopes move by less than this share of their means counts as linear in a Newton step
_FAINT = 1e-3  # the same for slopes that hardly matter: share of a port's volts that they feed back
_SHARES = (1.0, 0.5, 0.25, 0.1)
_WORSE = 100.0  # a full step may make the squares this much larger: it often has to, before they fall


@dataclass(frozen=True)
class PeriodPoint:
    """A signal period: port volts and currents (port, instant), and how well they close."""

    port_v: Array
    port_a: Array
    left_over: float  # largest share of a port's own peak volts
    steps: int
    closed: bool


@dataclass(frozen=True)
class _State:
    v: Array
    laws: PortLaws
    left: Array  # volts left over (port, instant)
    worst: float  # largest of them, as a share of the port's own peak
    squares: float


class SignalBalance:
    """Newton's method on the port volts of one period."""

    def __init__(self, surroundings: SignalSurroundings) -> None:
        self.around, self.ports = surroundings, surroundings.ports
        self.instants = 2 * surroundings.harmonics + 1
        kernel = np.fft.irfft(surroundings.impedance, n=self.instants, axis=2)
        self._kernel = kernel
        self._reach_ohm = np.abs(np.diagonal(surroundings.impedance)).max(axis=0)
        lone = self.ports.lone
        self._at_once = np.maximum(kernel[lone, lone, 0], 1e-3)[:, None]

    def close(self, open_v: Array, start: Array, *, steps: int = _STEPS, within: float = CLOSED) -> PeriodPoint:
        """Return the period closed for these open-circuit port volts to within a share, or how far it came."""
        count = 0
        with np.errstate(all="ignore"):
            state = self._state(start, open_v)
            while state.worst > within and count < steps and np.isfinite(state.worst):
                count += 1
                state = self._stepped(state, open_v)
        return PeriodPoint(state.v, state.laws.amps, state.worst, count, state.worst <= within)

    def _state(self, v: Array, open_v: Array) -> _State:
        laws = self.ports.laws(v)
        left = v - open_v + self.around.drop_v(laws.amps)
        scaled = left / np.maximum(1.0, np.abs(v).max(axis=1))[:, None]
        return _State(v, laws, left, float(np.abs(scaled).max()), float(np.sum(scaled * scaled)))

    def _stepped(self, state: _State, open_v: Array) -> _State:
        """Return the best of some shares of a Newton step: trying one costs little against finding the step."""
        try:
            moved = self._moved(state.laws.slopes, state.left)
        except np.linalg.LinAlgError:
            return replace(state, worst=np.nan)
        tried: list[_State] = []
        for share in _SHARES:
            v = state.v + share * moved
            self._respect_knees(v, state.v)
            self._respect_corners(v, state.v)
            tried.append(self._state(v, open_v))
            if tried[-1].squares < _WORSE * state.squares:
                break
        return min(tried, key=lambda one: one.squares if np.isfinite(one.squares) else np.inf)

    def _respect_knees(self, v: Array, before: Array) -> None:
        """Keep one step from carrying a plate past its knee: from the corner it converges."""
        p = self.ports.plates
        v[p] = np.where((before[p] > KNEE_V) & (v[p] < KNEE_V), KNEE_V, v[p])

    def _respect_corners(self, v: Array, before: Array) -> None:
        """Move grids and diodes along their volts or along their wave v + r i, whichever moves the wave less."""
        lone, r = self.ports.lone, self._at_once
        was, now = before[lone], v[lone]
        amps, slope = self.ports.lone_laws(was)
        along_wave = (1.0 + r * slope) * (now - was)
        along_v = now - was + r * (self.ports.lone_laws(now)[0] - amps)
        bent = np.abs(along_wave) < 0.99 * np.abs(along_v)
        if not bent.any():
            return
        wave = was + r * amps + along_wave
        found = np.where(bent, was, now)
        for _ in range(_REFLECT_STEPS):
            i, g = self.ports.lone_laws(found)
            step = np.where(bent, (found + r * i - wave) / (1.0 + r * g), 0.0)
            found = found - step
            if float(np.abs(step).max()) < 1e-6:
                break
        v[lone] = found

    def _moved(self, slopes: Array, left: Array) -> Array:
        """Return the Newton step of the port volts.

        Tubes whose slopes hardly change over the period count as linear here and join the surroundings,
        harmonic by harmonic; the answer is judged by the exact laws all the same.
        """
        gentle = self._gentle(slopes)
        impedance, moved, kernel = self.around.impedance, -left, self._kernel
        if gentle.any():
            rest = self._with_gentle(slopes.mean(axis=1) * gentle[self.ports.of])
            impedance = np.matmul(rest, impedance.transpose(2, 0, 1)).transpose(1, 2, 0)
            spectrum = np.fft.rfft(moved, axis=1)
            moved = np.fft.irfft(np.einsum("kpq,qk->pk", rest, spectrum), n=self.instants, axis=1)
            kernel = np.fft.irfft(impedance, n=self.instants, axis=2)
        amps = self._answer(slopes * ~gentle[self.ports.of, None], moved, kernel)
        drop = np.einsum("pqk,qk->pk", impedance, np.fft.rfft(amps, axis=1))
        return moved - np.fft.irfft(drop, n=self.instants, axis=1)

    def _gentle(self, slopes: Array) -> NDArray[np.bool_]:
        """Return the ports of tubes whose slopes stay near their means."""
        ports = self.ports
        strength = np.abs(slopes) * self._reach_ohm[ports.over, None]
        mean = strength.mean(axis=1)
        swing = np.abs(strength - mean[:, None]).max(axis=1)
        rough = np.zeros(int(np.max(ports.device, initial=-1)) + 1, dtype=np.bool_)
        np.logical_or.at(rough, ports.device[ports.of], swing > _GENTLE * mean + _FAINT)
        return np.asarray(~rough[ports.device])

    def _with_gentle(self, slopes: Array) -> Complex:
        """Return (1 + Z G)^-1 for constant slopes (harmonic, port, port)."""
        ports = self.ports
        matrix = np.zeros((ports.count, ports.count))
        np.add.at(matrix, (ports.of, ports.over), slopes)
        loop = np.matmul(self.around.impedance.transpose(2, 0, 1), matrix)
        loop[:, np.arange(ports.count), np.arange(ports.count)] += 1.0
        return np.asarray(np.linalg.inv(loop))

    def _answer(self, slopes: Array, forcing: Array, kernel: Array) -> Array:
        """Return how the port currents answer to a change of open-circuit volts.

        With G the slopes and Z the periodic convolution with ``kernel``: (1 + G Z)^-1 G times the change. Only
        instants at which a current can move enter that matrix.
        """
        of, over, m = self.ports.of, self.ports.over, self.instants
        conducts = np.zeros((self.ports.count, m))
        right = np.zeros((self.ports.count, m))
        np.maximum.at(conducts, of, np.abs(slopes) * self._reach_ohm[over, None])
        np.add.at(right, of, slopes * forcing[over])
        active = conducts > _QUIET
        port, instant = np.nonzero(active)
        ends = np.cumsum([0, *np.count_nonzero(active, axis=1)])
        delayed = port * m + (np.arange(m)[:, None] - instant) % m  # where the flattened kernel of one port has them
        matrix = np.eye(len(port))
        for q in np.unique(over[ends[of + 1] > ends[of]]):
            answer = kernel[q].ravel().take(delayed)
            for entry in np.flatnonzero(over == q):
                rows = slice(ends[of[entry]], ends[of[entry] + 1])
                at = instant[rows]
                matrix[rows] += slopes[entry, at, None] * (answer if len(at) == m else answer[at])
        amps = np.zeros((self.ports.count, m))
        amps[active] = np.linalg.solve(matrix, right[active])
        return amps
