"""Mains cycles of many wirings closed at once; `lugwright.solve.mains_cycle` says how one is closed.

Axes: (column, diode, instant). Newton's method is machine code (`lugwright.solve.kernel.cycles`); what it does not
close is left to whoever asked.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from lugwright.solve.device_laws import DiodeLaws, law_table
from lugwright.solve.mains_cycle import CLOSED, CyclePoint
from lugwright.solve.sparse_lu import Numbers
from lugwright.solve.system import Array, Index

if TYPE_CHECKING:
    from lugwright.solve.kernel.cycles import Around, State

STEPS = 40
EXACT = 1e-12  # as in the single cycle
QUIET, MEANS_QUIET = 1e-5, 1e-7
STIFF_OHM = 1e6  # currents that see more than this find no way but leaks


@dataclass(frozen=True)
class Loads:
    """What the circuit does with mean diode currents: volts = open_v - ohm * mean (column, diode[, diode])."""

    open_v: Array
    ohm: Array

    @property
    def finite(self) -> NDArray[np.bool_]:
        """Return which columns have numbers."""
        return np.asarray(np.isfinite(self.ohm).all(axis=(1, 2)) & np.isfinite(self.open_v).all(axis=1))

    def only(self, pick: Index) -> Loads:
        """Return those of some columns."""
        return Loads(self.open_v[pick], self.ohm[pick])


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


class ManyCycles:
    """The surroundings of the diodes of many columns at every harmonic, and the diodes' laws."""

    def __init__(self, impedance: Numbers, open_v: Array, laws: DiodeLaws) -> None:
        self.impedance, self.open_v, self.laws = impedance, open_v, laws
        self.ports, self.instants = open_v.shape[1:]

    def see(self, columns: Index, impedance: Numbers, open_v: Array) -> None:
        """Let some columns see other surroundings."""
        self.impedance[columns], self.open_v[columns] = impedance, open_v
        self.__dict__.pop("_around", None)

    def only(self, pick: Index) -> ManyCycles:
        """Return some of the columns."""
        some = ManyCycles(self.impedance[pick], self.open_v[pick], self._laws_of(pick))
        if "_around" in self.__dict__:
            some.__dict__["_around"] = tuple(table[pick] for table in self._around)
        return some

    def close(self, loads: Loads, start: Array) -> list[CyclePoint | None]:
        """Return each column's closed cycle on its load, started from port volts; None where it does not close.

        Source
        ------
        Newton's method on the incident wave of each diode, as `lugwright.solve.mains_cycle`, from its start and, where
        that does not close it, from where the mains alone puts the diodes.
        """
        finite = loads.finite & np.isfinite(self.impedance).all(axis=(1, 2, 3))
        found = self._close_together(loads, start, np.flatnonzero(finite))
        again = np.array([k for k, cycle in enumerate(found) if cycle is None and finite[k]], dtype=np.intp)
        if len(again):
            second = self.only(again)._close_together(loads.only(again), self.open_v[again], np.arange(len(again)))
            for k, cycle in zip(again, second, strict=True):
                found[k] = cycle
        return found

    def _laws_of(self, pick: Index) -> DiodeLaws:
        return replace(self.laws, **{name: getattr(self.laws, name)[:, pick] for name in _BY_COLUMN})

    def _close_together(self, loads: Loads, start: Array, going: Index) -> list[CyclePoint | None]:
        from lugwright.solve.kernel import cycles  # brings the compiler along: only where there is a cycle to close

        ohm = np.where(loads.finite[:, None, None], loads.ohm, 0.0)
        stiff = ManyStiffWays.of(ohm)
        around = cycles.Around(*self._around)
        load = cycles.Load(loads.open_v, ohm - stiff.matrix_ohm, stiff.patterns, stiff.ohms)
        state = cycles.State(*(np.zeros(start.shape) for _ in cycles.State._fields))
        state.v[:] = start
        state.wave[:] = start + around.at_once[:, :, None] * self.currents(start)
        scale = np.maximum(1.0, np.abs(self.open_v).max(axis=(1, 2), initial=0.0))
        worst, closed = np.full(len(start), np.nan), np.zeros(len(start), dtype=bool)
        sides = (len(start), 1, self.ports, self.instants)
        way = cycles.Way(STEPS, EXACT * scale, CLOSED * scale, QUIET, sides)
        cycles.close(around, load, state, going, ohm, way, worst, closed)
        return self._found(around, state, np.flatnonzero(closed), worst)

    def currents(self, v: Array) -> Array:
        """Return the diodes' currents at their volts (column, diode, instant)."""
        laws = replace(self.laws, **{name: getattr(self.laws, name)[..., None] for name in _BY_COLUMN})
        return laws.currents_a(v.transpose(1, 0, 2))[0].transpose(1, 0, 2)

    def _found(self, around: Around, state: State, done: Index, worst: Array) -> list[CyclePoint | None]:
        """Return the closed cycles of some columns in their places, with the slopes of means over means."""
        from lugwright.solve.kernel import cycles

        count, each = len(state.v), np.arange(self.ports)
        unit = np.zeros((count, self.ports, self.ports, self.instants))
        unit[:, each, each] = 1.0
        follow, nothing = np.zeros(unit.shape), np.zeros(unit.shape[:3])
        cycles.answer(around, done, state.slope, unit, nothing, MEANS_QUIET, follow)
        slopes = np.mean(state.slope[:, None] * follow, axis=3).transpose(0, 2, 1)
        mean_v, mean_a = state.v.mean(axis=2), state.amps.mean(axis=2)
        found: list[CyclePoint | None] = [None] * count
        for k in done.tolist():
            found[k] = CyclePoint(state.v[k], state.amps[k], mean_v[k], mean_a[k], slopes[k], float(worst[k]), 0)
        return found

    @cached_property
    def _around(self) -> tuple[Array, ...]:
        """Return the columns as tables, in the order of `lugwright.solve.kernel.cycles.Around`."""
        seen = np.where(np.isfinite(self.impedance), self.impedance, 0.0)
        response = self._response(seen)
        stiff = ManyStiffWays.of(response[:, :, :, 0] * (self.instants / (self.instants - 1.0)))
        supple = self._response(seen - stiff.matrix_ohm[..., None])
        reach = np.abs(np.diagonal(seen, axis1=1, axis2=2)).max(axis=1, initial=0.0)
        twice = (np.concatenate([r, r], axis=3) for r in (response, supple))
        at_once = _easiest_way(response[:, :, :, 0])
        return (self.open_v, *twice, stiff.patterns, stiff.ohms, at_once, reach, law_table(self.laws))

    def _response(self, impedance: Numbers) -> Array:
        """Return the periodic impulse response (column, diode, diode, instant), its mean taken out. [ohm]"""
        spectrum = np.concatenate([np.zeros((*impedance.shape[:3], 1)), impedance], axis=3)
        return np.fft.irfft(spectrum, n=self.instants, axis=3)


def _easiest_way(at_once: Array) -> Array:
    """Return the resistance each diode sees within one instant, by its easiest way (column, diode). [ohm]"""
    own = np.diagonal(at_once, axis1=1, axis2=2)
    paired = own[:, :, None] + own[:, None, :] - 2.0 * np.abs(at_once)
    each = np.arange(at_once.shape[1])
    paired[:, each, each] = np.inf
    easiest = np.minimum(own, paired.min(axis=2, initial=np.inf))
    return np.asarray(np.maximum(easiest, 1e-3))


_BY_COLUMN: Sequence[str] = (
    "on", "threshold_v", "smooth_v", "bulk_ohm", "at_zero", "zener_v", "perveance",
)  # fmt: skip
