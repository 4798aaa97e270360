"""A signal held for long: its period and the mains cycle that feeds it, closed on one another.

The means of the tubes' currents under signal load the supply; the mains cycle is closed at the level to
which they pull it, and the rectifiers' tangent there is what the next round of the signal sees. The ripple
meets the tubes by their slopes at idle, and ripple and signal are not mixed with each other.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from lugwright.solve.harmonic_balance import CLOSED, PeriodPoint, SignalBalance
from lugwright.solve.load_line import LoadLine
from lugwright.solve.mains_cycle import CyclePoint
from lugwright.solve.signal_ports import SignalPorts
from lugwright.solve.signal_surroundings import RectifierLine, SignalSurroundings, rectifier_line
from lugwright.solve.solved import Solved
from lugwright.solve.system import Array

_ROUNDS = 12
ROUGHLY = 1e-2
AGREED = 1e-4  # rectifier currents of line and cycle, as a share of the largest
_CONDUCTS_A = 1e-6  # a diode that never carries this at idle belongs to the signal


@dataclass(frozen=True)
class Tone:
    """One sine of the drive: a multiple of the base frequency, and its peak at the generator."""

    harmonic: int
    peak_v: float

    @property
    def phasor(self) -> complex:
        """Return its spectrum at its harmonic: a sine from the period's start. [V]"""
        return -0.5j * self.peak_v


@dataclass(frozen=True)
class SustainedPoint:
    """One drive level: the period, where its surroundings stand, and how well supply and signal agree."""

    around: SignalSurroundings
    period: PeriodPoint
    cycle: CyclePoint | None
    tones: tuple[Tone, ...]
    supply_gap: float  # share by which the rectifiers' line misses the closed cycle
    closed: bool
    steps: int  # Newton steps of all rounds


class Sustained:
    """One idle point with a generator in it, ready to be driven at one base frequency."""

    def __init__(self, idle: Solved, generator: str, *, hz: float, harmonics: int) -> None:
        self.idle, self.generator, self.hz, self.harmonics = idle, generator, hz, harmonics
        self.system, self.values = idle.system, idle.values
        self.ports = SignalPorts(self.system, self.values, _signal_diodes(idle))
        self.instants = 2 * harmonics + 1
        self.around = SignalSurroundings(
            self.system, self.values, self.ports, self._line(idle.cycle), hz=hz, harmonics=harmonics
        )

    def _line(self, cycle: CyclePoint | None) -> RectifierLine:
        if cycle is None:
            none = np.zeros(len(self.system.diodes))
            return RectifierLine(none, none, np.zeros((len(none), len(none))), none)
        return rectifier_line(self.system, self.values, cycle, self.ports)

    def quiet(self) -> Array:
        """Return the port volts of the idle (port, instant)."""
        return np.repeat(self.ports.volts(self.idle.dc.volts), self.instants, axis=1)

    def drive(
        self,
        tones: Sequence[Tone],
        near: SustainedPoint | None = None,
        *,
        before: SustainedPoint | None = None,
        exact: bool = True,
    ) -> SustainedPoint:
        """Return the point at this drive, started from a neighbor, or from where it and another before it point to.

        Without ``exact`` the supply follows its tangent at the neighbor: near enough to search a level.
        """
        start = self.quiet() if near is None else self.resampled(near.period.port_v)
        cycle = self.idle.cycle if near is None else near.cycle
        around = self.around.following(self._line(cycle))
        onward = self._onward(tones, near, before)
        steps, gap = 0, 0.0
        within = ROUGHLY if exact and cycle is not None else CLOSED
        for _ in range(_ROUNDS):
            period = SignalBalance(around).close(self._open_v(around, tones), start, onward, within=within)
            steps += period.steps
            if not period.closed or not exact or cycle is None or self.idle.surroundings is None:
                break
            volts = self._mean_port_v(around, period)
            load = self._load_line(around, period, volts)
            after = self.idle.surroundings.close(load, cycle.port_v + (volts - cycle.mean_v)[:, None])
            gap = self._gap(around, after, volts)
            if gap <= AGREED and period.left_over <= CLOSED:
                break
            within = CLOSED
            cycle, start, onward = after, period.port_v, 0.0
            around = around.following(self._line(cycle))
        closed = period.closed and (not exact or gap <= AGREED)
        return SustainedPoint(around, period, cycle, tuple(tones), gap, closed, steps)

    def _onward(
        self, tones: Sequence[Tone], near: SustainedPoint | None, before: SustainedPoint | None
    ) -> Array | float:
        """Return how far the port volts are from a neighbor if the way to it from another one goes on."""
        if near is None or before is None:
            return 0.0
        last_v, first_v = near.tones[0].peak_v, before.tones[0].peak_v
        way = (tones[0].peak_v - last_v) / (last_v - first_v)
        return way * (self.resampled(near.period.port_v) - self.resampled(before.period.port_v))

    def resampled(self, port_v: Array) -> Array:
        """Return a period at this one's number of instants."""
        old = port_v.shape[1]
        if old == self.instants:
            return port_v
        spectrum = np.fft.rfft(port_v, axis=1) * (self.instants / old)
        kept = np.zeros((len(port_v), self.harmonics + 1), dtype=complex)
        kept[:, : min(spectrum.shape[1], kept.shape[1])] = spectrum[:, : kept.shape[1]]
        return np.fft.irfft(kept, n=self.instants, axis=1)

    def _open_v(self, around: SignalSurroundings, tones: Sequence[Tone]) -> Array:
        spectrum = np.zeros((self.ports.count, self.harmonics + 1), dtype=complex)
        spectrum[:, 0] = self.ports.volts(around.open_dc_v) * self.instants
        for tone in tones:
            joints = around.transfer(self.generator, tone.harmonic)
            spectrum[:, tone.harmonic] += self.ports.volts(joints) * tone.phasor * self.instants
        return np.fft.irfft(spectrum, n=self.instants, axis=1)

    def _mean_port_v(self, around: SignalSurroundings, period: PeriodPoint) -> Array:
        """Return the mean volts across every diode of the system."""
        dc = around.open_dc_v - np.real(around.from_ports[:, :, 0]) @ period.port_a.mean(axis=1)
        return np.asarray(dc[self.system.port_a] - dc[self.system.port_b])

    def _load_line(self, around: SignalSurroundings, period: PeriodPoint, volts: Array) -> LoadLine:
        """Return the supply's load at the mean volts to which the signal pulls the rectifiers."""
        impedance = self._load_ohm(around, period)
        return LoadLine(volts + impedance @ around.line.current_a(volts), impedance)

    def _load_ohm(self, around: SignalSurroundings, period: PeriodPoint) -> Array:
        """Return the DC impedance between the rectifiers, every tube by its mean slopes."""
        system, ports = self.system, self.ports
        matrix = np.zeros((system.size + 1, system.size + 1))
        matrix[:-1, :-1] = around.steady_s
        slopes = ports.laws(period.port_v).slopes.mean(axis=1)
        for slope, of, over in zip(slopes, ports.of, ports.over, strict=True):
            for row, sign in ((ports.plus[of], 1.0), (ports.minus[of], -1.0)):
                matrix[row, ports.plus[over]] += sign * slope
                matrix[row, ports.minus[over]] -= sign * slope
        k = len(system.diodes)
        drive = np.zeros((system.size + 1, k))
        drive[system.port_a, np.arange(k)] += 1.0
        drive[system.port_b, np.arange(k)] -= 1.0
        answer = np.vstack([np.linalg.solve(matrix[:-1, :-1], drive[:-1]), np.zeros((1, k))])
        return np.asarray(answer[system.port_a] - answer[system.port_b])

    def _gap(self, around: SignalSurroundings, cycle: CyclePoint, volts: Array) -> float:
        line = self._line(cycle)
        amps = around.line.current_a(volts)
        return float(np.abs(line.current_a(volts) - amps).max(initial=0.0) / (np.abs(amps).max(initial=0.0) + 1e-12))


def _signal_diodes(idle: Solved) -> list[int]:
    """Return the diodes that never conduct at idle."""
    if idle.cycle is None:
        return list(range(len(idle.system.diodes)))
    return [k for k, amps in enumerate(idle.cycle.port_a) if float(np.abs(amps).max()) < _CONDUCTS_A]
