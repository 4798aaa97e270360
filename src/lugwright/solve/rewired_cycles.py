"""Mains cycles of many wirings closed at once; `lugwright.solve.mains_cycle` says how one is closed.

Axes: (column, diode, instant). Newton's method is machine code (`lugwright.solve.kernel.cycles`); what it does not
close is left to whoever asked.
"""

from __future__ import annotations

from collections.abc import Sequence
from copy import copy
from dataclasses import dataclass, fields, replace
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from lugwright.solve.device_laws import DiodeLaws, law_table
from lugwright.solve.mains_cycle import CLOSED, CyclePoint
from lugwright.solve.sparse_lu import Numbers
from lugwright.solve.system import Array, Index

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

    @staticmethod
    def together(parts: Sequence[Loads]) -> Loads:
        """Return the columns of some loads, one after the other."""
        return Loads(np.concatenate([part.open_v for part in parts]), np.concatenate([part.ohm for part in parts]))


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


@dataclass(frozen=True)
class ClosedCycles:
    """Closed cycles of many columns, as `mains_cycle.CyclePoint` is one; what did not close means nothing."""

    closed: NDArray[np.bool_]  # (column)
    port_v: Array  # (column, diode, instant)
    port_a: Array
    slope_s: Array  # of mean currents over mean volts (column, diode, diode)
    left_over_v: Array  # (column)

    @cached_property
    def mean_v(self) -> Array:
        """Return the mean volts across each diode (column, diode). [V]"""
        return np.asarray(self.port_v.mean(axis=2))

    @cached_property
    def mean_a(self) -> Array:
        """Return the mean current through each diode (column, diode). [A]"""
        return np.asarray(self.port_a.mean(axis=2))

    def only(self, pick: Index) -> ClosedCycles:
        """Return those of some columns."""
        return ClosedCycles(*(getattr(self, field.name)[pick] for field in fields(self)))

    def replaced(self, columns: Index, others: ClosedCycles) -> ClosedCycles:
        """Return these with others in the place of those of some columns."""
        tables = [getattr(self, field.name).copy() for field in fields(self)]
        for table, field in zip(tables, fields(self), strict=True):
            table[columns] = getattr(others, field.name)
        return ClosedCycles(*tables)

    @staticmethod
    def of_one(cycle: CyclePoint) -> ClosedCycles:
        """Return a closed cycle as that of one column."""
        tables = (np.asarray(x)[None] for x in (cycle.port_v, cycle.port_a, cycle.slope_s, cycle.left_over_v))
        return ClosedCycles(np.ones(1, dtype=bool), *tables)


class ManyCycles:
    """The surroundings of the diodes of many columns at every harmonic, and the diodes' laws."""

    def __init__(self, impedance: Numbers, open_v: Array, laws: DiodeLaws) -> None:
        self.impedance, self.open_v, self.laws = impedance, open_v, laws
        self._row, self._tables = np.arange(len(open_v)), _tables(impedance, open_v, laws)

    def see(self, columns: Index, impedance: Numbers, open_v: Array) -> None:
        """Let some columns see other surroundings."""
        rows = self._row[columns]
        self.impedance[rows], self.open_v[rows] = impedance, open_v
        for table, own in zip(self._tables, _tables(impedance, open_v, _laws_of(self.laws, rows)), strict=True):
            table[rows] = own

    def only(self, pick: Index) -> ManyCycles:
        """Return some of the columns, which see what these see."""
        some = copy(self)
        some._row = self._row[pick]
        return some

    def close(self, loads: Loads, start: Array) -> ClosedCycles:
        """Return each column's closed cycle on its load, started from port volts.

        Source
        ------
        Newton's method on the incident wave of each diode, as `lugwright.solve.mains_cycle`, from its start and, where
        that does not close it, from where the mains alone puts the diodes. A step takes each diode to the volts that
        its tangent asks for with the current that the tangent has there, or none where that would turn around: so
        what lets go does so at once, and not by the same share with every step.
        """
        seen = np.asarray(np.isfinite(self.impedance).all(axis=(1, 2, 3)))
        finite = loads.finite & seen[self._row]
        found = self._close_together(loads, start, np.flatnonzero(finite))
        again = np.flatnonzero(finite & ~found.closed)
        if len(again):
            start, every = self.open_v[self._row[again]], np.arange(len(again))
            return found.replaced(again, self.only(again)._close_together(loads.only(again), start, every))
        return found

    def _close_together(self, loads: Loads, start: Array, going: Index) -> ClosedCycles:
        from lugwright.solve.kernel import cycles  # brings the compiler along: only where there is a cycle to close

        ohm = np.where(loads.finite[:, None, None], loads.ohm, 0.0)
        stiff = ManyStiffWays.of(ohm)
        around = cycles.Around(self._row, *self._tables)
        load = cycles.Load(loads.open_v, ohm - stiff.matrix_ohm, stiff.patterns, stiff.ohms)
        state = cycles.State(*(np.zeros(start.shape) for _ in cycles.State._fields))
        state.v[:] = start
        scale = np.maximum(1.0, np.abs(self.open_v).max(axis=(1, 2), initial=0.0))[self._row]
        worst, closed = np.full(len(start), np.nan), np.zeros(len(start), dtype=bool)
        cycles.close(
            around, load, state, going, ohm, cycles.Way(STEPS, EXACT * scale, CLOSED * scale, QUIET), worst, closed
        )
        slopes = np.zeros(ohm.shape)
        cycles.mean_slopes(around, np.flatnonzero(closed), state.slope, MEANS_QUIET, slopes)
        return ClosedCycles(closed, state.v, state.amps, slopes, worst)

    def currents(self, v: Array) -> Array:
        """Return the diodes' currents at their volts (column, diode, instant)."""
        own = _laws_of(self.laws, self._row)
        laws = replace(own, **{name: getattr(own, name)[..., None] for name in _BY_COLUMN})
        return laws.currents_a(v.transpose(1, 0, 2))[0].transpose(1, 0, 2)


def _laws_of(laws: DiodeLaws, pick: Index) -> DiodeLaws:
    return replace(laws, **{name: getattr(laws, name)[:, pick] for name in _BY_COLUMN})


def _tables(impedance: Numbers, open_v: Array, laws: DiodeLaws) -> tuple[Array, ...]:
    """Return what diodes see, and their laws, in the order of `lugwright.solve.kernel.cycles.Around`."""
    seen, instants = np.where(np.isfinite(impedance), impedance, 0.0), open_v.shape[2]
    response = _response(seen, instants)
    at_once = response[:, :, :, 0]
    stiff = ManyStiffWays.of(at_once * (instants / (instants - 1.0)))
    supple, some = response.copy(), np.flatnonzero(stiff.ohms.any(axis=1))
    supple[some] = _response(seen[some] - stiff.matrix_ohm[some, :, :, None], instants)
    reach = np.abs(np.diagonal(seen, axis1=1, axis2=2)).max(axis=1, initial=0.0)
    return open_v, response, supple, stiff.patterns, stiff.ohms, _easiest_way(at_once), reach, law_table(laws)


def _response(impedance: Numbers, instants: int) -> Array:
    """Return the periodic impulse response (column, diode, diode, twice the instants), its mean taken out. [ohm]"""
    spectrum = np.concatenate([np.zeros((*impedance.shape[:3], 1)), impedance], axis=3)
    once = np.fft.irfft(spectrum, n=instants, axis=3)
    return np.concatenate([once, once], axis=3)


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
