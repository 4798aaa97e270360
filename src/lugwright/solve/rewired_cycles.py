"""Mains cycles of many wirings closed at once; `lugwright.solve.mains_cycle` says how one is closed.

Axes: (column, diode, instant). What these steps do not close is left to the other, slower ways.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from lugwright.errors import NoIdlePoint
from lugwright.solve.device_laws import DiodeLaws
from lugwright.solve.mains_cycle import CLOSED, CyclePoint, LoadLine, MainsCycle
from lugwright.solve.rewired_matrix import solved_each
from lugwright.solve.sparse_lu import Numbers
from lugwright.solve.system import Array, Index

STEPS = 40
REFLECT_STEPS = 60
REFLECTED_V = 1e-8  # as in the single cycle
EXACT = 1e-12
STIFF_OHM = 1e6  # currents that see more than this find no way but leaks
LEAST_TOGETHER = 16  # instants: columns in which fewer conduct are solved together
QUIET_S, QUIET, MEANS_QUIET = 1e-13, 1e-5, 1e-7


@dataclass(frozen=True)
class Loads:
    """What the circuit does with mean diode currents: volts = open_v - ohm * mean (column, diode[, diode])."""

    open_v: Array
    ohm: Array

    @property
    def finite(self) -> NDArray[np.bool_]:
        """Return which columns have numbers."""
        return np.asarray(np.isfinite(self.ohm).all(axis=(1, 2)) & np.isfinite(self.open_v).all(axis=1))


@dataclass(frozen=True)
class ManyStiffWays:
    """Patterns of diode currents that find no way but leaks, for many columns; `mains_cycle.StiffWays` says why."""

    patterns: Array  # (column, diode, way), each of length 1
    ohms: Array  # (column, way), zero for ways that are not stiff

    @staticmethod
    def of(ohm: Array) -> ManyStiffWays:
        """Return the stiff ways of symmetric resistances between the diodes (column, diode, diode)."""
        sizes, patterns = np.linalg.eigh(0.5 * (ohm + ohm.transpose(0, 2, 1)))
        return ManyStiffWays(patterns, np.where(sizes > STIFF_OHM, sizes, 0.0))

    @property
    def matrix_ohm(self) -> Array:
        """Return the stiff ways as resistances between the diodes (column, diode, diode)."""
        return np.asarray(self.patterns * self.ohms[:, None, :]) @ self.patterns.transpose(0, 2, 1)

    def drop_v(self, amps: Array) -> Array:
        """Return what they take off the volts (column, diode, anything).

        Parameters
        ----------
        amps : array
            Diode currents (column, diode, anything). [A]

        Returns
        -------
        array
            Volts of the same shape. [V]

        Source
        ------
        Ohm's law.
        """
        return np.asarray(self.patterns @ (self.ohms[:, :, None] * (self.patterns.transpose(0, 2, 1) @ amps)))


class OneCycle(MainsCycle):
    """The surroundings of the diodes of one column, by their impedance and open volts alone."""

    def __init__(self, impedance: Numbers, open_v: Array, laws: DiodeLaws, *, patience: int) -> None:
        self.ports, self.instants = open_v.shape
        self.impedance, self.open_v, self._diodes, self.patience = impedance, open_v, laws, patience

    def _newton(self, wave: Array, near_v: Array, load: LoadLine, extra_ohm: float) -> tuple[CyclePoint | None, Array]:
        if self.patience == 0:
            raise self._refusal(load, wave)
        self.patience -= 1
        return super()._newton(wave, near_v, load, extra_ohm)

    def _refusal(self, load: LoadLine, wave: Array) -> NoIdlePoint:
        left = float(np.abs(wave - self.open_v).max())
        return NoIdlePoint(
            what="the mains cycle of a wiring does not close",
            found=f"diodes {left:.3g} V from where the mains alone puts them",
            wanted=f"less than {CLOSED:g} of the mains voltage left over at each rectifier",
            do="solve it by itself",
        )


class ManyCycles:
    """The surroundings of the diodes of many columns at every harmonic, and the diodes' laws."""

    def __init__(self, impedance: Numbers, open_v: Array, laws: DiodeLaws) -> None:
        self.impedance, self.open_v = impedance, open_v
        self.laws = replace(laws, **{name: getattr(laws, name)[..., None] for name in _BY_COLUMN})
        self.ports, self.instants = open_v.shape[1:]

    def see(self, columns: Index, impedance: Numbers, open_v: Array) -> None:
        """Let some columns see other surroundings."""
        self.impedance[columns], self.open_v[columns] = impedance, open_v
        for name in (*_WORKED_OUT, "_stiff"):
            self.__dict__.pop(name, None)

    def only(self, pick: Index) -> ManyCycles:
        """Return some of the columns."""
        laws = replace(self.laws, **{name: getattr(self.laws, name)[:, pick, 0] for name in _BY_COLUMN})
        some = ManyCycles(self.impedance[pick], self.open_v[pick], laws)
        some.__dict__.update({name: self.__dict__[name][pick] for name in _WORKED_OUT if name in self.__dict__})
        return some

    @cached_property
    def kernel(self) -> Array:
        """Return the periodic impulse response (column, diode, diode, instant), its mean taken out. [ohm]"""
        spectrum = np.concatenate([np.zeros((*self.impedance.shape[:3], 1)), self.impedance], axis=3)
        return np.fft.irfft(spectrum, n=self.instants, axis=3)

    @cached_property
    def _stiff(self) -> ManyStiffWays:
        return ManyStiffWays.of(self.kernel[:, :, :, 0] * (self.instants / (self.instants - 1.0)))

    @cached_property
    def _supple(self) -> Numbers:
        """Return the impedance without its stiff ways (column, diode, diode, harmonic). [ohm]"""
        return np.asarray(self.impedance - self._stiff.matrix_ohm[..., None])

    def close(self, loads: Loads, start: Array, *, patience: int) -> list[CyclePoint | None]:
        """Return each column's closed cycle on its load, started from port volts; None where it does not close.

        ``patience`` is how many times Newton's method is tried on a column that does not close with the others.

        Source
        ------
        Newton's method on the incident wave of each diode, as `lugwright.solve.mains_cycle`, which is left what these
        steps do not close.
        """
        finite = loads.finite & np.isfinite(self.impedance).all(axis=(1, 2, 3))
        found = self._close_together(loads, start, np.flatnonzero(finite))
        for k in (k for k, cycle in enumerate(found) if cycle is None):
            if finite[k]:
                alone = OneCycle(self.impedance[k], self.open_v[k], self._law_of(k), patience=patience)
                try:
                    found[k] = alone.close(LoadLine(loads.open_v[k], loads.ohm[k]), start[k])
                except NoIdlePoint:
                    continue
        return found

    def _law_of(self, column: int) -> DiodeLaws:
        return replace(self.laws, **{name: getattr(self.laws, name)[:, column] for name in _BY_COLUMN})

    def _close_together(self, loads: Loads, start: Array, going: Index) -> list[CyclePoint | None]:
        wave = start + self._at_once * self._currents(start)[0]
        near = start.copy()
        found: list[CyclePoint | None] = [None] * len(start)
        before = np.full(len(start), np.inf)
        for _ in range(STEPS if len(going) else 0):
            part, load = self.only(going), Loads(loads.open_v[going], loads.ohm[going])
            v, amps, slope = part._reflected(wave[going], near[going])
            left = v - part.open_v - part._mean_v(load, amps)[:, :, None] + part.drop_v(amps)
            worst = np.abs(left).max(axis=(1, 2))
            scale = np.maximum(1.0, np.abs(part.open_v).max(axis=(1, 2)))
            done = (worst <= EXACT * scale) | ((worst <= CLOSED * scale) & (worst > 0.3 * before[going]))
            part._put(found, going, np.flatnonzero(done), v, worst)
            before[going] = worst
            on = np.flatnonzero(~done & np.isfinite(worst))
            if not len(on):
                break
            going, part, load = going[on], part.only(on), Loads(load.open_v[on], load.ohm[on])
            moved = part._respond(slope[on], left[on][..., None], load.ohm, QUIET)[..., 0]
            near[going] = v[on] - moved
            wave[going] = part._stepped(wave[going], near[going], slope[on], moved)
        return found

    def _currents(self, v: Array) -> tuple[Array, Array]:
        amps, slope = self.laws.currents_a(v.transpose(1, 0, 2))
        return amps.transpose(1, 0, 2), slope.transpose(1, 0, 2)

    def _mean_v(self, load: Loads, amps: Array) -> Array:
        stiff, mean = ManyStiffWays.of(load.ohm), amps.mean(axis=2)[:, :, None]
        return np.asarray(load.open_v - ((load.ohm - stiff.matrix_ohm) @ mean + stiff.drop_v(mean))[:, :, 0])

    def drop_v(self, amps: Array) -> Array:
        """Return what alternating diode currents take off the port volts, apart from the mean.

        Parameters
        ----------
        amps : array
            Currents (column, diode, instant) or (column, diode, instant, pattern). [A]

        Returns
        -------
        array
            Volts of the same shape. [V]

        Source
        ------
        Ohm's law, harmonic by harmonic.
        """
        spectrum = np.fft.rfft(amps, axis=2)
        spectrum[:, :, 0] = 0.0
        flat = spectrum[:, :, 1:].reshape(*spectrum.shape[:2], spectrum.shape[2] - 1, -1)
        drop = np.einsum("spqk,sqkc->spkc", self._supple, flat, optimize=True)
        spectrum[:, :, 1:] = drop.reshape(spectrum[:, :, 1:].shape)
        around = amps - amps.mean(axis=2, keepdims=True)
        stiff = self._stiff.drop_v(around.reshape(*amps.shape[:2], -1)).reshape(amps.shape)
        return np.asarray(np.fft.irfft(spectrum, n=self.instants, axis=2) + stiff)

    @cached_property
    def _at_once(self) -> Array:
        """Return the resistance each diode sees within one instant, by its easiest way (column, diode, 1). [ohm]"""
        at_once = self.kernel[:, :, :, 0]
        own = np.diagonal(at_once, axis1=1, axis2=2)
        paired = own[:, :, None] + own[:, None, :] - 2.0 * np.abs(at_once)
        each = np.arange(self.ports)
        paired[:, each, each] = np.inf
        easiest = np.minimum(own, paired.min(axis=2, initial=np.inf))
        return np.asarray(np.maximum(easiest, 1e-3)[:, :, None])

    @cached_property
    def _reach_ohm(self) -> Array:
        """Return the largest impedance each diode sees at any harmonic (column, diode). [ohm]"""
        return np.asarray(np.abs(np.diagonal(self.impedance, axis1=1, axis2=2)).max(axis=1, initial=0.0))

    def _reflected(self, wave: Array, near: Array) -> tuple[Array, Array, Array]:
        """Return volts, current and slope of each diode for its incident wave: v + r i = wave."""
        v = near
        for _ in range(REFLECT_STEPS):
            amps, slope = self._currents(v)
            step = (v + self._at_once * amps - wave) / (1.0 + self._at_once * slope)
            v = v - step
            if float(np.abs(step).max(initial=0.0)) <= REFLECTED_V:
                break
        return v, *self._currents(v)

    def _stepped(self, wave: Array, onward: Array, slope: Array, moved: Array) -> Array:
        along_wave = -(1.0 + self._at_once * slope) * moved
        along_v = onward + self._at_once * self._currents(onward)[0] - wave
        return wave + np.where(np.abs(along_wave) <= np.abs(along_v), along_wave, along_v)

    def _respond(self, slope: Array, forcing: Array, mean_ohm: Array, share: float) -> Array:
        """Return dv with (1 + Z D) dv = forcing (column, diode, instant, pattern).

        ``mean_ohm`` is Z at zero frequency; diodes that answer their volts by less than ``share`` take no part.
        """
        count = len(slope)
        reach = self._reach_ohm + np.abs(np.diagonal(mean_ohm, axis1=1, axis2=2))
        quiet = np.maximum(QUIET_S, share / np.maximum(reach, 1e-9))
        active = (slope > quiet[:, :, None]).reshape(count, -1)
        flat = forcing.reshape(count, active.shape[1], -1)
        amps = np.zeros_like(flat)
        for pick in alike_in_size(active.sum(axis=1)):
            amps[pick] = self._conducted(pick, active[pick], slope[pick], flat[pick], mean_ohm[pick])
        shaped = amps.reshape(forcing.shape)
        mean = np.einsum("spq,sqc->spc", mean_ohm, shaped.mean(axis=2))
        return np.asarray(forcing - self.drop_v(shaped) - mean[:, :, None, :])

    def _conducted(
        self, pick: Index, active: NDArray[np.bool_], slope: Array, forcing: Array, mean_ohm: Array
    ) -> Array:
        """Return the currents of some columns that answer a forcing (column, diode and instant, pattern)."""
        count, n = len(pick), self.instants
        most = int(active.sum(axis=1).max(initial=0))
        place = np.argsort(~active, axis=1, kind="stable")[:, :most]
        each = np.arange(count)[:, None]
        conduct = np.where(active[each, place], slope.reshape(count, -1)[each, place], 0.0)
        port, instant = np.divmod(place, n)
        kernel = self.kernel[pick] + mean_ohm[..., None] / n
        between = kernel[
            each[:, :, None], port[:, :, None], port[:, None, :], (instant[:, :, None] - instant[:, None, :]) % n
        ]
        matrix = between * conduct[:, None, :]
        k = np.arange(most)
        matrix[:, k, k] += 1.0
        amps = np.zeros_like(forcing)
        amps[each, place] = conduct[:, :, None] * solved_each(matrix, forcing[each, place])
        return amps

    def _put(self, found: list[CyclePoint | None], going: Index, done: Index, v: Array, worst: Array) -> None:
        """Write the closed cycles of some of the columns into their places, with the slopes of means over means."""
        if not len(done):
            return
        part = self.only(done)
        amps, slope = part._currents(v[done])
        unit = np.broadcast_to(np.eye(self.ports)[None, :, None, :], (len(done), self.ports, self.instants, self.ports))
        nothing = np.zeros((len(done), self.ports, self.ports))
        respond = part._respond(slope, unit, nothing, MEANS_QUIET)
        slopes = np.mean(slope[..., None] * respond, axis=2)
        for k, column in enumerate(done):
            port_v = v[column]
            found[going[column]] = CyclePoint(
                port_v, amps[k], port_v.mean(axis=1), amps[k].mean(axis=1), slopes[k], float(worst[column]), 0
            )


_BY_COLUMN: Sequence[str] = (
    "on", "threshold_v", "smooth_v", "bulk_ohm", "at_zero", "zener_v", "perveance",
)  # fmt: skip
_WORKED_OUT = ("kernel", "_supple", "_at_once", "_reach_ohm")


def alike_in_size(sizes: Index) -> list[Index]:
    """Return the places of the sizes above zero, in groups whose largest is at most about twice its smallest."""
    busy = np.flatnonzero(sizes > 0)
    order = np.log2(np.maximum(sizes[busy], LEAST_TOGETHER)).astype(int)
    return [busy[order == k] for k in np.unique(order)]
