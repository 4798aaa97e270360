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
from lugwright.solve.signal_blocks import CurvedPorts
from lugwright.solve.signal_ports import PortLaws
from lugwright.solve.signal_surroundings import Complex, SignalSurroundings
from lugwright.solve.system import Array

CLOSED = 1e-7  # left over at a port, as a share of its own peak volts, when a period counts as closed
_STEPS = 40
_QUIET = 1e-2  # an instant at which a current answers its port by less than this takes no part in a Newton step
_BY_BLOCKS = 8  # steps; what these do not close is taken in one piece
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
        self._reach_ohm = np.abs(np.diagonal(surroundings.impedance)).max(axis=0)
        self._impedance = np.ascontiguousarray(surroundings.impedance.transpose(2, 0, 1))
        lone = self.ports.lone
        kernel = np.fft.irfft(surroundings.impedance[lone, lone], n=self.instants, axis=1)
        self._at_once = np.maximum(kernel[:, 0], 1e-3)[:, None]

    def close(
        self, open_v: Array, start: Array, onward: Array | float = 0.0, *, steps: int = _STEPS, within: float = CLOSED
    ) -> PeriodPoint:
        """Return the period closed for these open-circuit port volts to within a share, or how far it came.

        ``onward`` is a guess of how far it is from the start.
        """
        count = 0
        with np.errstate(all="ignore"):
            state = self._state(self._respectful(start, onward), open_v)
            while state.worst > within and count < steps and np.isfinite(state.worst):
                count += 1
                state = self._stepped(state, open_v, whole=count > _BY_BLOCKS)
        return PeriodPoint(state.v, state.laws.amps, state.worst, count, state.worst <= within)

    def _state(self, v: Array, open_v: Array) -> _State:
        laws = self.ports.laws(v)
        left = v - open_v + self.around.drop_v(laws.amps)
        scaled = left / np.maximum(1.0, np.abs(v).max(axis=1))[:, None]
        return _State(v, laws, left, float(np.abs(scaled).max()), float(np.sum(scaled * scaled)))

    def _stepped(self, state: _State, open_v: Array, *, whole: bool) -> _State:
        """Return the best of some shares of a Newton step: trying one costs little against finding the step."""
        try:
            moved = self._moved(state.laws.slopes, state.left, whole)
        except np.linalg.LinAlgError:
            return replace(state, worst=np.nan)
        tried: list[_State] = []
        for share in _SHARES:
            tried.append(self._state(self._respectful(state.v, share * moved), open_v))
            if tried[-1].squares < _WORSE * state.squares:
                break
        return min(tried, key=lambda one: one.squares if np.isfinite(one.squares) else np.inf)

    def _respectful(self, before: Array, moved: Array | float) -> Array:
        v = np.asarray(before + moved)
        self._respect_knees(v, before)
        self._respect_corners(v, before)
        return v

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

    def _moved(self, slopes: Array, left: Array, whole: bool) -> Array:
        """Return the Newton step of the port volts.

        Tubes whose slopes hardly change over the period count as linear here and join the surroundings,
        harmonic by harmonic; the answer is judged by the exact laws all the same.
        """
        gentle = self._gentle(slopes)
        curved = slopes * ~gentle[self.ports.of, None]
        conducts = np.zeros((self.ports.count, self.instants))
        np.maximum.at(conducts, self.ports.of, np.abs(curved) * self._reach_ohm[self.ports.over, None])
        active = conducts > _QUIET
        chosen = np.flatnonzero(active.any(axis=1))
        impedance, moved = self._impedance[:, :, chosen], -left
        if gentle.any():
            right = np.concatenate([impedance, np.fft.rfft(moved, axis=1).T[:, :, None]], axis=2)
            answer = np.linalg.solve(self._loop(slopes.mean(axis=1) * gentle[self.ports.of]), right)
            impedance = np.asarray(answer[:, :, :-1], dtype=complex)
            moved = np.fft.irfft(answer[:, :, -1].T, n=self.instants, axis=1)
        if not len(chosen):
            return moved
        amps = CurvedPorts(self.ports, curved, active, chosen, impedance).amps(moved, whole=whole)
        drop = impedance @ np.fft.rfft(amps, axis=1).T[:, :, None]
        return moved - np.fft.irfft(drop[:, :, 0].T, n=self.instants, axis=1)

    def _gentle(self, slopes: Array) -> NDArray[np.bool_]:
        """Return the ports of tubes whose slopes stay near their means."""
        ports = self.ports
        strength = np.abs(slopes) * self._reach_ohm[ports.over, None]
        mean = strength.mean(axis=1)
        swing = np.abs(strength - mean[:, None]).max(axis=1)
        rough = np.zeros(int(np.max(ports.device, initial=-1)) + 1, dtype=np.bool_)
        np.logical_or.at(rough, ports.device[ports.of], swing > _GENTLE * mean + _FAINT)
        return np.asarray(~rough[ports.device])

    def _loop(self, slopes: Array) -> Complex:
        """Return 1 + Z G for constant slopes (harmonic, port, port)."""
        ports = self.ports
        matrix = np.zeros((ports.count, ports.count))
        np.add.at(matrix, (ports.of, ports.over), slopes)
        return np.asarray(np.eye(ports.count) + np.matmul(self._impedance, matrix))
