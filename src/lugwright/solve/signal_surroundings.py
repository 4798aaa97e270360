"""What a signal meets between the ports: everything linear, at every harmonic of the drive and at 0 Hz."""

from __future__ import annotations

from copy import copy
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from lugwright.solve.device_laws import diode_laws
from lugwright.solve.mains_cycle import CyclePoint
from lugwright.solve.signal_ports import SignalPorts
from lugwright.solve.sparse_lu import factor, solve_factored
from lugwright.solve.system import Array, System

Complex = NDArray[np.complex128]


@dataclass(frozen=True)
class RectifierLine:
    """Mean rectifier currents as a straight line of mean volts, and their mean slope for everything faster.

    ``amps`` at ``volts``; ``slope_s`` (diode, diode) for means, ``signal_s`` (diode) for the signal.
    Diodes that are ports of the signal have zeros here.
    """

    volts: Array
    amps: Array
    slope_s: Array
    signal_s: Array

    def current_a(self, volts: Array) -> Array:
        """Return the mean currents at these mean volts.

        Parameters
        ----------
        volts : array
            Mean anode to cathode volts (diode). [V]

        Returns
        -------
        array
            Mean currents (diode). [A]

        Source
        ------
        The tangent to a closed mains cycle.
        """
        return np.asarray(self.amps + self.slope_s @ (volts - self.volts))


def rectifier_line(system: System, values: Array, cycle: CyclePoint, ports: SignalPorts) -> RectifierLine:
    """Return the tangent to a closed mains cycle, diodes that are ports of the signal left out."""
    rectifies = np.ones(len(system.diodes))
    rectifies[ports.diodes] = 0.0
    mean_slope = diode_laws(system, values).currents_a(cycle.port_v)[1].mean(axis=1)
    return RectifierLine(
        cycle.mean_v,
        rectifies * cycle.mean_a,
        rectifies[:, None] * cycle.slope_s * rectifies[None, :],
        rectifies * mean_slope,
    )


class SignalSurroundings:
    """The linear part of a system seen from its signal ports, at 0 Hz and ``harmonics`` multiples of ``hz``."""

    def __init__(
        self, system: System, values: Array, ports: SignalPorts, line: RectifierLine, *, hz: float, harmonics: int
    ) -> None:
        self.system, self.values, self.ports = system, values, ports
        self.hz, self.harmonics = hz, harmonics
        s = np.asarray(2j * np.pi * hz * np.arange(harmonics + 1), dtype=np.complex128)
        self.admittances: Complex = np.asarray(system.admittances(values, s), dtype=complex)
        linear = system.matrix(self.admittances)
        own = np.arange(ports.count)
        self._drive = np.zeros((system.size + 1, ports.count))
        self._drive[ports.plus, own] += 1.0
        self._drive[ports.minus, own] -= 1.0
        k = len(system.diodes)
        slopes = np.zeros((k, k, harmonics))
        slopes[np.arange(k), np.arange(k)] = line.signal_s[:, None]
        self._factors = factor(system.pattern, linear[:, 1:] + self._stamped(slopes))
        drive = np.repeat(self._drive[:-1, :, None], harmonics, axis=2).astype(complex)
        answer = np.asarray(solve_factored(system.pattern, self._factors, drive))
        self._transfers: dict[tuple[str, int], Complex] = {}
        self.steady_s = self._dense(np.real(linear[:, :1]))  # matrix of the joints at 0 Hz, rectifiers left out
        self._follow(line, np.concatenate([answer, np.zeros((1, *answer.shape[1:]))]))

    def following(self, line: RectifierLine) -> SignalSurroundings:
        """Return the same with another tangent for the means; the signal keeps its slopes, so only 0 Hz is new."""
        other = copy(self)
        other._follow(replace(line, signal_s=self.line.signal_s), self.from_ports[:, :, 1:])
        return other

    def _follow(self, line: RectifierLine, signal: Complex) -> None:
        """Take a tangent; ``signal`` is what a current at a port does at every harmonic (joint + ground, port, ...)."""
        self.line = line
        inverse = np.linalg.inv(self.steady_s + self._dense(self._stamped(line.slope_s[:, :, None])))
        steady = np.append(inverse @ self._drive[:-1], np.zeros((1, self.ports.count)), axis=0)
        self.from_ports: Complex = np.concatenate([steady[:, :, None], signal], axis=2)
        self.impedance: Complex = self.ports.volts(self.from_ports)  # (port, port, harmonic)
        self.open_dc_v: Array = np.append(inverse @ self._steady_a(line), 0.0)  # joints with no current at any port

    def _stamped(self, slopes: Array) -> Array:
        """Return rectifier slopes (diode, diode, batch) as entries of the matrix (slot, batch)."""
        flat = slopes.reshape(len(self.system.diodes) ** 2, slopes.shape[2])
        return np.asarray(self.system.port_matrix_scatter(np.concatenate([flat, -flat, -flat, flat])))

    def _dense(self, slots: Array) -> Array:
        dense = np.zeros((self.system.size, self.system.size))
        dense[self.system.dense_index] = slots[:-1, 0]
        return dense

    def _steady_a(self, line: RectifierLine) -> Array:
        """Return what sources and rectifiers drive into every joint at 0 Hz."""
        system = self.system
        amps = np.zeros(system.size + 1)
        for element, ohm, dc in zip(system.sources, system.source_ohm, system.source_dc, strict=True):
            current = self.values[dc, 0] / self.values[ohm, 0]
            amps[system.row[element.a]] += current
            amps[system.row[element.b]] -= current
        for row, a, b in zip(system.current_amps, system.current_a, system.current_b, strict=True):
            amps[a] -= self.values[row, 0]
            amps[b] += self.values[row, 0]
        at_zero = line.current_a(np.zeros(len(system.diodes)))
        np.add.at(amps, system.port_a, -at_zero)
        np.add.at(amps, system.port_b, at_zero)
        return amps[:-1]

    def transfer(self, source: str, harmonic: int) -> Complex:
        """Return the volts of every joint (joint + ground) for one volt of a source at one harmonic, ports open."""
        known = self._transfers.get((source, harmonic))
        if known is not None:
            return known
        element = self.system.element(source)
        amps = np.zeros(self.system.size + 1, dtype=complex)
        per_volt = 1.0 / self.values[self.system.value_row[source, "ohm"], 0]
        a, b = (self.system.row[joint] for joint in element.joints)
        amps[a] += per_volt
        amps[b] -= per_volt
        column = self._factors[:, harmonic - 1 : harmonic]
        answer = solve_factored(self.system.pattern, column, amps[:-1, None])[:, 0]
        self._transfers[source, harmonic] = np.append(answer, 0.0)
        return self._transfers[source, harmonic]

    def drop_v(self, port_a: Array) -> Array:
        """Return what port currents take off the port volts.

        Parameters
        ----------
        port_a : array
            Currents through the ports from plus to minus (port, instant). [A]

        Returns
        -------
        array
            Drop (port, instant). [V]

        Source
        ------
        Ohm's law, harmonic by harmonic.
        """
        spectrum = np.einsum("pqk,qk->pk", self.impedance, np.fft.rfft(port_a, axis=1))
        return np.fft.irfft(spectrum, n=port_a.shape[1], axis=1)
