"""One mains cycle in steady state: rectifiers, filters and everything behind them, closed on itself.

The circuit seen from its diodes is linear (tubes by their slopes at idle), so a whole period is one
periodic convolution: port volts = mean + mains - impedance (*) diode currents. The impedance comes
from the harmonics of the second-order backward difference, so the answer is exactly the one that
time-stepping with that step would settle to, without stepping through thousands of cycles or shooting
for the start; that rule is damped at the shortest period, so diodes that let go of a choke do not ring.
The cycle yields the mean current through each diode and, exactly, how the means of currents and
voltages depend on one another; DC and cycle meet in ``idle``.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from lugwright.errors import NoIdlePoint
from lugwright.solve.by_machine import branches_of, conducting, loaded, reflected, stepped, tables_of
from lugwright.solve.device_laws import TubeState, diode_laws, law_table, tube_matrix_entries
from lugwright.solve.kept_factors import KeptFactors
from lugwright.solve.load_line import LoadLine, StiffWays
from lugwright.solve.mains_harmonics import INSTANTS, harmonics_s
from lugwright.solve.sparse_lu import Reach, factor, solve_factored
from lugwright.solve.system import Array, Index, System

Complex = NDArray[np.complex128]
CLOSED = 1e-7  # share of the mains peak left over in the port equations when a cycle counts as closed
_EXACT = 1e-12  # what Newton's method usually reaches
_NEARLY = 1e-8  # what a cycle may leave over that another round closes
_STEPS = 40
_REFLECT_STEPS = 60
_REFLECTED_V = 1e-8  # a Newton step this small, on corners rounded over 40 mV, leaves about 1e-15 V
_STEEPEST = 0.97  # smallest step down in series resistance before giving up
_QUIET_S = 1e-13  # a diode conducting less than this answers nothing
_QUIET = 1e-5  # one whose current answers its volts by less than this share takes no part


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


@dataclass(frozen=True)
class Start:
    """Where a cycle is closed from: incident waves (port, instant), and volts near those that belong to them.

    With slopes of a neighbor the closed cycle has these, and not its own. A cycle that has moved may leave over
    ``moved_within`` of the mains peak.
    """

    wave: Array
    near_v: Array
    slope_s: Array | None = None
    moved_within: float = 0.0


class MainsCycle:
    """The linear surroundings of the diodes at every harmonic of the mains, for one column of values."""

    def __init__(
        self,
        system: System,
        values: Array,
        tubes: TubeState,
        *,
        instants: int = INSTANTS,
        kept: KeptFactors | None = None,
    ) -> None:
        """Take a column of values; ``kept`` are the factors of `kept_harmonics` for the same number of instants."""
        self.system, self.values, self.instants = system, values, instants
        self.ports = len(system.diodes)
        self._diodes, self._own_values = (
            diode_laws(system, values),
            values.copy(),
        )  # a lamp's change from round to round
        self.s: Complex = harmonics_s(system, instants)
        self._slopes, self._kept = system.tube_matrix_scatter(tube_matrix_entries(tubes)), kept
        self.impedance, self._first = self._seen()

    def _seen(self) -> tuple[Complex, Complex]:
        """Return what the ports see (port, port, harmonic), and the factors of the first harmonic (slot, 1)."""
        tables, system = tables_of(self.system), self.system
        if tables is None:
            return self._across(self._from_ports(system.supply)), self._factors[:, :1]
        ports = np.stack([system.port_a, system.port_b], axis=-1)
        branches = branches_of(system, self.values)
        ohm, first = tables.between(system.supply, ports, branches, self.s, self._slopes[:, 0])
        return ohm, first[:, None]

    @cached_property
    def admittances(self) -> Complex:
        """Return the admittance of each pair of branches (pair, harmonic). [S]"""
        return np.asarray(self.system.admittances(self._own_values, self.s))

    @cached_property
    def _factors(self) -> Complex:
        if self._kept is not None:
            return self._kept.factors(self.admittances, self._slopes)
        return factor(self.system.pattern, self.system.matrix(self.admittances) + self._slopes)

    def change_diodes(self, values: Array) -> None:
        """Take the diodes' own values from another set; everything around them stays."""
        self._diodes = diode_laws(self.system, values)
        self.__dict__.pop("_figures", None)

    def _across(self, supply_v: Complex) -> Complex:
        """Return the volts across each diode from those of the supply's joints (joint + ground, ...)."""
        where = self.system.supply.where
        return np.asarray(supply_v[where[self.system.port_a]] - supply_v[where[self.system.port_b]])

    def _from_ports(self, reach: Reach) -> Complex:
        """Return what a current at each port does to some joints (joint + ground, port, harmonic)."""
        drive = np.zeros((reach.pattern.size + 1, self.ports, len(self.s)), dtype=complex)
        ports = zip(reach.where[self.system.port_a], reach.where[self.system.port_b], strict=True)
        for port, (a, b) in enumerate(ports):
            drive[a, port] += 1.0
            drive[b, port] -= 1.0
        return _with_ground(solve_factored(reach.pattern, self._factors, drive[:-1]))

    def _from_mains(self, reach: Reach) -> Complex:
        """Return the fundamental (discrete transform) that the mains alone puts on some joints (joint + ground). [V]"""
        system = self.system
        drive = np.zeros((reach.pattern.size + 1, 1), dtype=complex)
        amplitude = -1j * self.instants / 2 * np.sqrt(2.0)
        for source, ohm, rms in zip(system.sources, system.source_ohm, system.source_rms, strict=True):
            amps = amplitude * self.values[rms] / self.values[ohm]
            drive[reach.where[system.row[source.a]]] += amps
            drive[reach.where[system.row[source.b]]] -= amps
        return _with_ground(solve_factored(reach.pattern, self._first, drive[:-1]))[:, 0]

    @cached_property
    def open_v(self) -> Array:
        """Return what the mains puts across each diode with none conducting (port, instant). [V]"""
        spectrum = np.zeros((self.ports, self.instants // 2 + 1), dtype=complex)
        spectrum[:, 1] = self._across(self._from_mains(self.system.supply))
        return np.fft.irfft(spectrum, n=self.instants, axis=1)

    @cached_property
    def kernel(self) -> Array:
        """Return the periodic impulse response (port, port, instant), its mean taken out. [ohm]"""
        spectrum = np.concatenate([np.zeros((self.ports, self.ports, 1)), self.impedance], axis=2)
        return np.fft.irfft(spectrum, n=self.instants, axis=2)

    def drop_v(self, port_a: Array) -> Array:
        """Return what the diode currents take off the port voltages, apart from the mean.

        Parameters
        ----------
        port_a : array
            Diode currents (port, instant) or (port, column, instant). [A]

        Returns
        -------
        array
            Drop without its mean, of the same shape. [V]

        Source
        ------
        Ohm's law, harmonic by harmonic.
        """
        spectrum = np.fft.rfft(port_a)
        spectrum[..., 0] = 0.0
        spectrum[..., 1:] = np.einsum("pqk,q...k->p...k", self._supple, spectrum[..., 1:])
        supple = np.fft.irfft(spectrum, n=self.instants)
        return np.asarray(supple + self._stiff.drop_v(port_a - port_a.mean(axis=-1, keepdims=True)))

    @cached_property
    def _stiff(self) -> StiffWays:
        return StiffWays.of(self.kernel[:, :, 0] * (self.instants / (self.instants - 1.0)))

    @cached_property
    def _supple(self) -> Complex:
        """Return the impedance without its stiff ways (port, port, harmonic). [ohm]"""
        return np.asarray(self.impedance - self._stiff.matrix_ohm[:, :, None])

    def close(self, load: LoadLine, start: Array | None = None) -> CyclePoint:
        """Return the closed cycle on this load line, started from port voltages where given.

        Raises
        ------
        NoIdlePoint
            The cycle does not close; the message names the diode.

        Source
        ------
        Newton's method on the incident wave y = v + r i of each diode, r being the resistance the
        circuit shows it at once. A step is taken along y or along v, whichever moves the wave less:
        so a diode that turns on asks for amperes and one that lets go asks for volts, never for
        thousands of either.
        """
        if not self.ports:
            return self._nothing
        v = self.open_v if start is None else start
        with np.errstate(over="ignore", invalid="ignore"):  # steps that run away end where they are no numbers any more
            wave = v + self._at_once * self._diodes.currents_a(v)[0] if start is not None else v
            point, _ = self._newton(Start(wave, v), load, 0.0)
            return point if point is not None else self._softly(load)

    def follow(self, load: LoadLine, near: CyclePoint, *, nearly: bool = False) -> CyclePoint:
        """Return the closed cycle on this load line, started from volts and currents of one near by.

        Its slopes stay the neighbor's; what they are here, `slopes` tells. ``nearly``: once it has moved, some volts
        may be left over that the next round takes up.

        Raises
        ------
        NoIdlePoint
            As `close`.
        """
        if not self.ports:
            return self._nothing
        with np.errstate(over="ignore", invalid="ignore"):
            wave, within = near.port_v + self._at_once * near.port_a, _NEARLY if nearly else 0.0
            point, _ = self._newton(Start(wave, near.port_v, near.slope_s, within), load, 0.0)
            return point if point is not None else self._softly(load)

    @property
    def _nothing(self) -> CyclePoint:
        nothing = np.zeros((0, self.instants))
        return CyclePoint(nothing, nothing, np.zeros(0), np.zeros(0), np.zeros((0, 0)), 0.0, 0)

    def _softly(self, load: LoadLine) -> CyclePoint:
        """Close the cycle with a resistance in series with every diode, then take that away in steps."""
        wave = self.open_v
        extra, ratio = 30.0 * float(np.max(self._at_once, initial=0.0)), 0.2
        while ratio < _STEEPEST:
            point, after = self._newton(Start(wave, wave), load, extra)
            if point is not None and extra == 0.0:
                return point
            if point is not None:
                wave, ratio = after, max(ratio * 0.6, 0.03)
            else:
                extra, ratio = max(extra, 1e-5) / ratio, ratio**0.4
            extra = extra * ratio if extra * ratio > 1e-3 else 0.0
        raise self._refusal(load, wave)

    def _newton(self, start: Start, load: LoadLine, extra_ohm: float) -> tuple[CyclePoint | None, Array]:
        wave, near_v = start.wave, start.near_v
        before = np.inf
        quiet_s = self._quiet_s(load.impedance_ohm)
        for count in range(1, _STEPS + 1):
            v, current, slope = self._reflected(wave, near_v)
            left = v - self.open_v - load.volts(current) + self.drop_v(current) + extra_ohm * current
            worst = float(np.abs(left).max(initial=0.0))
            if not np.isfinite(worst):
                break
            try:
                stuck = worst <= CLOSED * self._scale_v and worst > 0.3 * before
                if worst <= self.exact_v or stuck or (count > 1 and worst <= start.moved_within * self._scale_v):
                    return self._point(v, worst, count, start.slope_s), wave
                moved = self._respond(slope, left, load.impedance_ohm, extra_ohm, quiet_s)
            except np.linalg.LinAlgError:  # diodes that tell each other apart by nothing: no step from here
                break
            before = worst
            near_v = v - moved
            wave = self._stepped(wave, near_v, slope, moved)
        return None, wave

    @cached_property
    def _figures(self) -> Array:
        """Return the laws of the diodes, for the machine code (diode, figure)."""
        return np.ascontiguousarray(law_table(self._diodes)[0])

    def _stepped(self, wave: Array, onward: Array, slope: Array, moved: Array) -> Array:
        if loaded():
            return stepped(self._figures, self._at_once, onward, slope, moved, wave)
        along_wave = -(1.0 + self._at_once * slope) * moved
        along_v = onward + self._at_once * self._diodes.currents_a(onward)[0] - wave
        return wave + np.where(np.abs(along_wave) <= np.abs(along_v), along_wave, along_v)

    def _refusal(self, load: LoadLine, wave: Array) -> NoIdlePoint:
        v, current, _ = self._reflected(wave, wave)
        left = np.abs(v - self.open_v - load.volts(current) + self.drop_v(current)).max(axis=1)
        port = int(np.argmax(left))
        return NoIdlePoint(
            what="the mains cycle does not close",
            found=f"{left[port]:.2g} V left over at {self.system.diodes[port].name}",
            wanted=f"less than {CLOSED:g} of the mains voltage at each rectifier",
            do="look for a rectifier that works straight into a capacitor without any resistance",
        )

    @property
    def exact_v(self) -> float:
        """Return what Newton's method leaves over at most where nothing hinders it. [V]"""
        return _EXACT * self._scale_v

    @cached_property
    def _scale_v(self) -> float:
        return max(1.0, float(np.abs(self.open_v).max(initial=0.0)))

    def _quiet_s(self, mean_ohm: Array) -> Array:
        """Return the slope below which each diode's current answers its volts by too small a share (port, 1). [S]"""
        reach_ohm = self._reach_ohm + np.abs(np.diagonal(mean_ohm))
        return np.asarray(np.maximum(_QUIET_S, _QUIET / np.maximum(reach_ohm, 1e-9))[:, None])

    @cached_property
    def _reach_ohm(self) -> Array:
        """Return the largest impedance each diode sees at any harmonic (port). [ohm]"""
        return np.asarray(np.abs(np.diagonal(self.impedance)).max(axis=0, initial=0.0))

    @cached_property
    def _at_once(self) -> Array:
        """Return the resistance each diode sees within one instant, by its easiest way (port, 1). [ohm]

        Alone a diode of a bridge on a floating winding sees nothing but leaks; with another one that conducts
        it sees the winding.
        """
        at_once = self.kernel[:, :, 0]
        own = np.diagonal(at_once)
        paired = own[:, None] + own[None, :] - 2.0 * np.abs(at_once)
        np.fill_diagonal(paired, np.inf)
        easiest = np.minimum(own, paired.min(axis=1, initial=np.inf))
        return np.asarray(np.maximum(easiest, 1e-3)[:, None])

    def _reflected(self, wave: Array, near_v: Array) -> tuple[Array, Array, Array]:
        """Return volts, current and slope of each diode for its incident wave: v + r i = wave."""
        if loaded():
            return reflected(self._figures, self._at_once, wave, near_v, _REFLECTED_V)
        v = near_v
        for _ in range(_REFLECT_STEPS):
            current, slope = self._diodes.currents_a(v)
            step = (v + self._at_once * current - wave) / (1.0 + self._at_once * slope)
            v = v - step
            if float(np.abs(step).max(initial=0.0)) <= _REFLECTED_V:
                break
        current, slope = self._diodes.currents_a(v)
        return v, current, slope

    def _respond(self, slope: Array, forcing: Array, mean_ohm: Array, extra_ohm: float, quiet_s: Array) -> Array:
        """Return dv with (1 + Z D) dv = forcing (port, instant[, column]); Z has ``mean_ohm`` at zero frequency."""
        flat = np.flatnonzero(slope > quiet_s)
        conduct = slope.ravel()[flat]
        columns = forcing.reshape(self.ports * self.instants, -1)
        matrix = self._conducting(slope, flat, mean_ohm)
        matrix[np.arange(len(flat)), np.arange(len(flat))] += extra_ohm * conduct
        active = np.linalg.solve(matrix, columns[flat])
        shaped = self._spread(flat, conduct[:, None] * active).transpose(0, 2, 1)
        drop = self.drop_v(shaped) + extra_ohm * shaped
        drop += (mean_ohm @ shaped.mean(axis=2))[:, :, None]
        return np.asarray(forcing - drop.transpose(0, 2, 1).reshape(forcing.shape))

    def _conducting(self, slope: Array, flat: Index, mean_ohm: Array) -> Array:
        """Return 1 + Z D for the instants that count, given by their places in the table of slopes."""
        kernel = self.kernel + mean_ohm[:, :, None] / self.instants
        if loaded():
            return conducting(kernel, slope, flat)
        port, instant = np.divmod(flat, self.instants)
        twice = np.concatenate([kernel, kernel], axis=2)  # so that no instant before another needs a remainder
        row = port * (2 * self.ports * self.instants) + instant + self.instants
        column = port * (2 * self.instants) - instant
        matrix: Array = twice.ravel().take(row[:, None] + column[None, :])
        matrix *= slope.ravel()[flat]
        matrix[np.arange(len(flat)), np.arange(len(flat))] += 1.0
        return matrix

    def _point(self, v: Array, worst: float, steps: int, slope_s: Array | None) -> CyclePoint:
        slopes = self.slopes(v) if slope_s is None else slope_s
        current = self._diodes.currents_a(v)[0]
        return CyclePoint(v, current, v.mean(axis=1), current.mean(axis=1), slopes, worst, steps)

    def slopes(self, port_v: Array) -> Array:
        """Return how the mean currents follow the mean volts, around a closed cycle.

        Parameters
        ----------
        port_v : array
            Its port voltages (port, instant). [V]

        Returns
        -------
        array
            Slopes (port, port). [S]

        Source
        ------
        Derived: Newton's step for a volt more at each diode in turn, its mean held.
        """
        slope, nothing = self._diodes.currents_a(port_v)[1], np.zeros((self.ports, self.ports))
        flat = np.flatnonzero(slope > self._quiet_s(nothing))
        port = flat // self.instants
        active = np.linalg.solve(self._conducting(slope, flat, nothing), np.eye(self.ports)[port])
        drawn = slope.ravel()[flat, None] * active
        return np.asarray(np.diag(slope.mean(axis=1)) - self._fall(slope, flat, drawn) / self.instants)

    def _fall(self, slope: Array, flat: Index, drawn: Array) -> Array:
        """Return what currents drawn at some instants (place, column) take off those of all instants (port, column)."""
        spectrum = np.fft.rfft(slope)[:, None, 1:] * np.conj(self._supple)
        shares = np.fft.irfft(np.concatenate([np.zeros_like(spectrum[:, :, :1]), spectrum], axis=2), n=self.instants)
        fall = shares.reshape(self.ports, -1)[:, flat] @ drawn
        if len(self._stiff.ohms):
            swing = slope - slope.mean(axis=1, keepdims=True)
            fall += np.einsum("pi,piq->pq", swing, self._stiff.drop_v(self._spread(flat, drawn)))
        return np.asarray(fall)

    def _spread(self, flat: Index, numbers: Array) -> Array:
        """Return numbers of some instants (place, column) as a table of all (port, instant, column)."""
        table = np.zeros((self.ports * self.instants, numbers.shape[1]))
        table[flat] = numbers
        return table.reshape(self.ports, self.instants, -1)

    def joint_waveforms(self, port_a: Array, dc_v: Array) -> Array:
        """Return the volts of every joint (joint + ground, instant): DC level and ripple."""
        return self.ripple_v(port_a, self.system.whole) + dc_v[:, None]

    def ripple_v(self, port_a: Array, reach: Reach) -> Array:
        """Return what alternates at some joints with these diode currents.

        Parameters
        ----------
        port_a : array
            Diode currents (port, instant). [A]
        reach : Reach
            The joints, those of the supply among them.

        Returns
        -------
        array
            Volts without their mean (joint + ground, instant). [V]

        Source
        ------
        Ohm's law, harmonic by harmonic.
        """
        spectrum = np.zeros((reach.pattern.size + 1, self.instants // 2 + 1), dtype=complex)
        currents = np.fft.rfft(port_a, axis=1)[:, 1:]
        spectrum[:, 1:] = -np.einsum("npk,pk->nk", self._from_ports(reach), currents)
        spectrum[:, 1] += self._from_mains(reach)
        return np.fft.irfft(spectrum, n=self.instants, axis=1)


def _with_ground(volts: Complex) -> Complex:
    return np.concatenate([volts, np.zeros((1, *volts.shape[1:]))])
