"""One mains cycle in steady state: rectifiers, filters and everything behind them, closed on itself.

The circuit seen from its diodes is linear (tubes by their slopes at idle), so a whole period is one
periodic convolution: port volts = mean + mains - impedance (*) diode currents. The impedance comes
from the harmonics of the trapezoid rule, so the answer is exactly the one that time-stepping with
that step would settle to, without stepping through thousands of cycles or shooting for the start.
Given the mean voltage across each diode it yields the mean current through each and, exactly, how
these means depend on one another; DC and cycle meet in ``idle``.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from lugwright.errors import NoIdlePoint
from lugwright.solve.device_laws import TubeState, diode_currents_a, tube_matrix_entries
from lugwright.solve.sparse_lu import factor, solve_factored
from lugwright.solve.system import Array, System

Complex = NDArray[np.complex128]
INSTANTS = 315  # odd: the trapezoid rule has no finite highest harmonic for an even number
CLOSED_V = 1e-7  # left over in the port equations when a cycle counts as closed
_STEPS = 60
_QUIET_S = 1e-13  # a diode conducting less than this takes no part in a Newton step


@dataclass(frozen=True)
class CyclePoint:
    """A closed cycle: port waveforms (port, instant), means, and the slopes of mean current over mean volts."""

    port_v: Array
    port_a: Array
    mean_v: Array
    mean_a: Array
    slope_s: Array
    left_over_v: float
    steps: int


class MainsCycle:
    """The linear surroundings of the diodes at every harmonic of the mains, for one column of values."""

    def __init__(self, system: System, values: Array, tubes: TubeState, *, instants: int = INSTANTS) -> None:
        if instants % 2 == 0:
            raise ValueError("the number of instants in a cycle must be odd")
        self.system, self.values, self.instants = system, values, instants
        self.ports = len(system.diodes)
        step = 1.0 / (system.circuit.mains_hz * instants)
        k = np.arange(1, instants // 2 + 1)
        self.s: Complex = 2j / step * np.tan(np.pi * k / instants)
        self.admittances: Complex = system.admittances(values, self.s)
        matrix = system.matrix(self.admittances) + system.tube_matrix_scatter(tube_matrix_entries(tubes))
        self._factors = factor(system.pattern, matrix)
        self._from_ports = self._solve_ports()
        a, b = system.port_a, system.port_b
        padded = np.concatenate([self._from_ports, np.zeros((1, *self._from_ports.shape[1:]))])
        self.impedance: Complex = padded[a] - padded[b]  # (port, port, harmonic)

    def _solve_ports(self) -> Complex:
        system = self.system
        drive = np.zeros((system.size + 1, self.ports, len(self.s)), dtype=complex)
        for port, (a, b) in enumerate(zip(system.port_a, system.port_b, strict=True)):
            drive[a, port] += 1.0
            drive[b, port] -= 1.0
        return np.asarray(solve_factored(system.pattern, self._factors, drive[:-1]))

    @cached_property
    def mains_joints(self) -> Complex:
        """Return the fundamental (discrete transform) that the mains alone puts on each joint. [V]"""
        system = self.system
        drive = np.zeros((system.size + 1, 1), dtype=complex)
        amplitude = -1j * self.instants / 2 * np.sqrt(2.0)
        for source, ohm, rms in zip(system.sources, system.source_ohm, system.source_rms, strict=True):
            amps = amplitude * self.values[rms] / self.values[ohm]
            drive[system.row[source.a]] += amps
            drive[system.row[source.b]] -= amps
        first = np.asarray(solve_factored(system.pattern, self._factors[:, :1], drive[:-1]))
        return np.concatenate([first[:, 0], [0.0]])

    @cached_property
    def open_v(self) -> Array:
        """Return what the mains puts across each diode with none conducting (port, instant). [V]"""
        spectrum = np.zeros((self.ports, self.instants // 2 + 1), dtype=complex)
        joints = self.mains_joints
        spectrum[:, 1] = joints[self.system.port_a] - joints[self.system.port_b]
        return np.fft.irfft(spectrum, n=self.instants, axis=1)

    @cached_property
    def kernel(self) -> Array:
        """Return the periodic impulse response (port, port, instant), its mean taken out. [ohm]"""
        spectrum = np.concatenate([np.zeros((self.ports, self.ports, 1)), self.impedance], axis=2)
        return np.fft.irfft(spectrum, n=self.instants, axis=2)

    def drop_v(self, port_a: Array) -> Array:
        """Return what the diode currents take off the port voltages, without the mean (port, instant). [V]"""
        currents = np.fft.rfft(port_a, axis=1)[:, 1:]
        spectrum = np.einsum("pqk,qk->pk", self.impedance, currents)
        return np.fft.irfft(np.pad(spectrum, ((0, 0), (1, 0))), n=self.instants, axis=1)

    def close(self, mean_v: Array, start: Array | None = None) -> CyclePoint:
        """Return the closed cycle at these mean diode voltages.

        Raises
        ------
        NoIdlePoint
            The cycle does not close; the message names the diode.
        """
        v = mean_v[:, None] + self.open_v if start is None else start
        steps = 0
        for smooth in (0.0, 8.0, 2.0, 0.5, 0.1, 0.0) if start is not None else (8.0, 2.0, 0.3, 0.0):
            v, worst, used = self._newton(v, mean_v, smooth)
            steps += used
            if smooth == 0.0 and worst <= CLOSED_V * max(1.0, float(np.abs(self.open_v).max(initial=0.0))):
                return self._point(v, worst, steps)
        port = int(np.argmax(np.abs(v - mean_v[:, None]).max(axis=1)))
        raise NoIdlePoint(
            what="the mains cycle does not close",
            found=f"{worst:.2g} V left over, worst near {self.system.diodes[port].name}, after {steps} steps",
            wanted=f"less than {CLOSED_V:g} of the mains voltage at each rectifier",
            do="look for a rectifier that works straight into a capacitor without any resistance",
        )

    def _newton(self, v: Array, mean_v: Array, smooth: float) -> tuple[Array, float, int]:
        worst, scale = np.inf, CLOSED_V * max(1.0, float(np.abs(self.open_v).max(initial=0.0)))
        count = 0
        for count in range(1, _STEPS + 1):
            current, slope = diode_currents_a(self.system, self.values, v, extra_smooth_v=smooth)
            left = v - mean_v[:, None] - self.open_v + self.drop_v(current)
            worst = float(np.abs(left).max(initial=0.0))
            if worst <= (scale * 1e-5 if smooth == 0.0 else 1e-2):
                break
            if count > 40 and smooth == 0.0 and worst <= scale:
                break
            v = v - self._respond(slope, left)
        return v, worst, count

    def _respond(self, slope: Array, forcing: Array) -> Array:
        """Return dv with (1 + Z D) dv = forcing; forcing is (port, instant) or (port, instant, column)."""
        flat = np.flatnonzero(slope.ravel() > _QUIET_S)
        port, instant = np.divmod(flat, self.instants)
        between = self.kernel[port[:, None], port[None, :], (instant[:, None] - instant[None, :]) % self.instants]
        conduct = slope.ravel()[flat]
        matrix = between * conduct[None, :]
        matrix[np.arange(len(flat)), np.arange(len(flat))] += 1.0
        columns = forcing.reshape(self.ports * self.instants, -1)
        active = np.linalg.solve(matrix, columns[flat])
        current = np.zeros_like(columns)
        current[flat] = conduct[:, None] * active
        shaped = current.reshape(self.ports, self.instants, -1)
        drop = np.stack([self.drop_v(shaped[..., c]) for c in range(shaped.shape[2])], axis=-1)
        return forcing - drop.reshape(forcing.shape)

    def _point(self, v: Array, worst: float, steps: int) -> CyclePoint:
        current, slope = diode_currents_a(self.system, self.values, v)
        ones = np.repeat(np.eye(self.ports)[:, None, :], self.instants, axis=1)
        respond = self._respond(slope, ones)
        slopes = np.mean(slope[..., None] * respond, axis=1)
        return CyclePoint(v, current, v.mean(axis=1), current.mean(axis=1), slopes, worst, steps)

    def joint_waveforms(self, port_a: Array, dc_v: Array) -> Array:
        """Return the volts of every joint (joint + ground, instant): DC level and ripple."""
        spectrum = np.zeros((self.system.size + 1, self.instants // 2 + 1), dtype=complex)
        currents = np.fft.rfft(port_a, axis=1)[:, 1:]
        spectrum[:-1, 1:] = -np.einsum("npk,pk->nk", self._from_ports, currents)
        spectrum[:, 1] += self.mains_joints
        return np.fft.irfft(spectrum, n=self.instants, axis=1) + dc_v[:, None]
