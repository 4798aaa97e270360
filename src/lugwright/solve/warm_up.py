"""Heaters and inrush limiters from switch-on, or after switch-off: resistance and emission over time.

Seen from the resistors that change, the rest of the circuit is a source and an impedance at mains frequency. The
currents the rectifiers draw are not followed here: each heater's volts are scaled so that it settles at the volts it
has at idle. A heater fed with direct current gets those from the start.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from lugwright.circuit.heated import Heated
from lugwright.circuit.tubes.heating import ROOM, emission_share, heater_ohm, heating_rate
from lugwright.solve.system import Array, System

_STEPS = ((4.0, 0.08), (30.0, 0.25), (np.inf, 1.0))  # until, step [s]
_FED_AT_MAINS = 0.3  # share of its idle volts from which a heater counts as fed with alternating current


@dataclass(frozen=True)
class WarmUp:
    """Shares and resistances at each time; the rows of `Heated`'s heaters, limiters and tubes."""

    seconds: Array
    rows: NDArray[np.intp]  # of the value array: ohms of every heater, then of every limiter
    ohms: Array  # (heater + limiter, time)
    amps: Array  # RMS (heater + limiter, time)
    on_rows: tuple[NDArray[np.intp], ...]  # of each tube
    emission: Array  # (tube, time)
    temperatures: Array  # heater shares, limiter rises, cathode shares (row, time)

    def put(self, values: Array, seconds: float) -> None:
        """Write resistances and emission of a moment into a value array (value, 1)."""
        for row, ohms in zip(self.rows, self.ohms, strict=True):
            values[row] = np.interp(seconds, self.seconds, ohms)
        for rows, share in zip(self.on_rows, self.emission, strict=True):
            values[rows] = np.interp(seconds, self.seconds, share)

    def emission_at(self, seconds: float) -> Array:
        """Return the emission share of every tube at a moment."""
        return np.array([np.interp(seconds, self.seconds, share) for share in self.emission])


class Warming:
    """The heaters of one circuit as ports at mains frequency; ``idle_rms_v`` by element name."""

    def __init__(self, system: System, values: Array, heated: Heated, idle_rms_v: dict[str, float]) -> None:
        self.heated = heated
        self.heaters = [name for tube in heated.tubes for name in tube.heaters]
        names = [*self.heaters, *(name for name, _ in heated.limiters)]
        self.rows = np.array([system.value_row[name, "ohm"] for name in names], dtype=np.intp)
        self.on_rows = tuple(
            np.array([system.value_row[name, "on"] for name in tube.emitting], dtype=np.intp) for tube in heated.tubes
        )
        self._hot = values[self.rows, 0]
        self._open, self._impedance = _seen_from(system, values, names)
        self._idle = np.array([idle_rms_v[name] for name in names])
        alone = np.abs(self._open) / np.sqrt(2.0)
        self._fed = alone > _FED_AT_MAINS * self._idle
        self._scale = np.where(self._fed, self._idle / np.maximum(alone, 1e-12), 0.0)
        self._heater_s = np.array([tube.times.heater_s for tube in heated.tubes for _ in tube.heaters])
        self._cathode_s = np.array([tube.times.cathode_s for tube in heated.tubes])
        owner = np.array([i for i, tube in enumerate(heated.tubes) for _ in tube.heaters], dtype=np.intp)
        self._mean = np.zeros((len(heated.tubes), len(self.heaters)))
        self._mean[owner, np.arange(len(self.heaters))] = 1.0
        self._mean /= np.maximum(self._mean.sum(axis=1, keepdims=True), 1.0)

    def run(self, duration_s: float, *, powered: bool = True, start: Array | None = None) -> WarmUp:
        """Return the course over ``duration_s``, from cold or from temperatures of an earlier course."""
        times = _times(duration_s)
        state = self._cold() if start is None else start
        course = [state]
        for before, now in pairwise(times):
            step = now - before
            first = self._rate(state, powered)
            second = self._rate(state + step * first, powered)
            state = state + 0.5 * step * (first + second)
            course.append(state)
        temperatures = np.array(course).T
        ohms = np.array([self._ohms(column) for column in temperatures.T]).T
        amps = np.array([self._volts(column) / column if powered else 0.0 * column for column in ohms.T]).T
        emission = emission_share(temperatures[len(self.rows) :])
        return WarmUp(times, self.rows, ohms, amps, self.on_rows, emission, temperatures)

    def _cold(self) -> Array:
        heaters, limiters = len(self.heaters), len(self.heated.limiters)
        return np.concatenate([np.full(heaters, ROOM), np.zeros(limiters), np.full(len(self.heated.tubes), ROOM)])

    def _ohms(self, state: Array) -> Array:
        h = len(self.heaters)
        limiters = [float(heat.ohm(rise)) for (_, heat), rise in zip(self.heated.limiters, state[h:], strict=False)]
        return np.concatenate([heater_ohm(state[:h], hot_ohm=self._hot[:h]), limiters])

    def _volts(self, ohms: Array) -> Array:
        """Return the RMS volts across every heater and limiter."""
        more = 1.0 / ohms - 1.0 / self._hot
        seen = np.linalg.solve(np.eye(len(ohms)) + self._impedance * more, self._open)
        return np.where(self._fed, self._scale * np.abs(seen) / np.sqrt(2.0), self._idle)

    def _rate(self, state: Array, powered: bool) -> Array:
        h, n = len(self.heaters), len(self.rows)
        ohms = self._ohms(state)
        watts = self._volts(ohms) ** 2 / ohms if powered else np.zeros(n)
        rated = self._rated_w
        heaters = heating_rate(np.maximum(state[:h], ROOM), power=watts[:h] / rated, heater_s=self._heater_s)
        limiters = [
            heat.rate(float(rise), watts=float(w))
            for (_, heat), rise, w in zip(self.heated.limiters, state[h:n], watts[h:], strict=True)
        ]
        cathodes = (self._mean @ state[:h] - state[n:]) / self._cathode_s
        return np.concatenate([heaters, limiters, cathodes])

    @property
    def _rated_w(self) -> Array:
        h = len(self.heaters)
        return np.asarray(self._idle[:h] ** 2 / self._hot[:h])


def _seen_from(
    system: System, values: Array, names: list[str]
) -> tuple[NDArray[np.complex128], NDArray[np.complex128]]:
    """Return the mains volts (peak, complex) across these resistors and the impedance between them."""
    s = np.array([2j * np.pi * system.circuit.mains_hz])
    matrix = np.zeros((system.size, system.size), dtype=complex)
    matrix[system.dense_index] = system.matrix(system.admittances(values, s))[:-1, 0]
    branches = np.array([system.branch_row[name] for name in names], dtype=np.intp)
    a, b = system.branch_a[branches], system.branch_b[branches]
    drive = np.zeros((system.size + 1, len(names) + 1), dtype=complex)
    ports = np.arange(len(names))
    np.add.at(drive, (a, ports), 1.0)
    np.add.at(drive, (b, ports), -1.0)
    for source, ohm, rms in zip(system.sources, system.source_ohm, system.source_rms, strict=True):
        amps = np.sqrt(2.0) * values[rms, 0] / values[ohm, 0]
        drive[system.row[source.a], -1] += amps
        drive[system.row[source.b], -1] -= amps
    answer = np.vstack([np.linalg.solve(matrix, drive[:-1]), np.zeros((1, len(names) + 1))])
    across = answer[a] - answer[b]
    return across[:, -1], across[:, :-1]


def _times(duration_s: float) -> Array:
    times, now = [0.0], 0.0
    while now < duration_s - 1e-9:
        step = next(step for until, step in _STEPS if now < until - 1e-9)
        now = min(now + step, duration_s)
        times.append(now)
    return np.array(times)
