"""The rectifiers' law from no load to a dead short, for wirings that leave alone what the mains cycle sees.

A mean current is a function of the mean volts across the diodes as long as the impedance that they see at the
mains and above stays what it is. That function is taken from the base's own surroundings: for each supply the cycle is
closed at some loads, and between these the currents run along cubics with the exact slopes at both ends. How one
diode of a supply differs from the others, and how supplies pull on each other, enters through the slopes. A diode that
nothing alternates across follows its own law.
"""

from __future__ import annotations

from contextlib import suppress
from copy import copy
from dataclasses import dataclass
from functools import cached_property, lru_cache
from typing import TYPE_CHECKING, NamedTuple

import numpy as np
from numpy.typing import NDArray

from lugwright.errors import NoIdlePoint
from lugwright.solve.current_tones import tones_of
from lugwright.solve.device_laws import diode_laws, tube_matrix_entries, tube_state
from lugwright.solve.load_line import LoadLine
from lugwright.solve.mains_cycle import MainsCycle
from lugwright.solve.rewired_cycles import ClosedCycles, Loads, ManyCycles
from lugwright.solve.solved import Solved
from lugwright.solve.sparse_lu import Numbers
from lugwright.solve.system import Array, Index

if TYPE_CHECKING:
    from lugwright.solve.kernel.supplies import Curves

COARSE = 63  # instants of the cycles away from the base
LEAST_S = 1e-9
EXCITED_V = 0.5  # a diode with less than this across it follows its own law
LIGHTER = (1.15, 1.0, 0.75, 0.5, 0.25, 0.08)  # of the way from the base to no load
HEAVIER = 0.5  # times the drop from no load to the base; then twice as much each time, down to a short


@dataclass(frozen=True)
class Curve:
    """One supply: mean currents of all excited diodes at some shifts of its own mean volts from the base."""

    ports: Index  # its diodes, among the excited ones
    shift_v: Array  # (point), rising
    off_v: Array  # where all excited diodes are then, against the base (point, excited)
    follows: Array  # and how they go on with the shift [-]
    amps: Array  # (point, excited)
    slopes: Array  # (point, excited, excited)
    tones: Numbers  # of the currents (point, tone, excited)


class _Loaded(NamedTuple):
    """Closed cycles with one supply at some loads: its shifts, where the excited diodes are and what they do."""

    shift_v: Array  # (point)
    off_v: Array  # against the base (point, excited)
    amps: Array
    slopes: Array  # (point, excited, excited)
    tones: Numbers  # (point, tone, excited)

    def beside(self, others: _Loaded) -> _Loaded:
        """Return these and others, by rising shift."""
        both = [np.concatenate(pair) for pair in zip(self, others, strict=True)]
        order = np.argsort(both[0])
        return _Loaded(*(table[order] for table in both))


class SupplyLaw:
    """Mean current through every diode of a system as its mean volts say."""

    def __init__(self, base: Solved) -> None:
        self.system, self.base = base.system, base
        count = len(self.system.diodes)
        self.excited: Index = np.zeros(0, dtype=np.intp)
        self.curves: list[Curve] = []
        if base.cycle is not None and base.surroundings is not None and count:
            swing = np.abs(base.surroundings.open_v).max(axis=1)
            on = base.values[self.system.diode_rows.on, 0] > 0.0
            self.excited = np.flatnonzero((swing > EXCITED_V) & on)
            self._mean_v = base.cycle.mean_v
            self.base_v, self.base_a = base.cycle.mean_v[self.excited], base.cycle.mean_a[self.excited]
            self.base_s = base.cycle.slope_s[np.ix_(self.excited, self.excited)]
        if len(self.excited):
            tubes = tube_state(self.system, base.values, base.dc.volts)
            self.around = MainsCycle(self.system, base.values, tubes, instants=COARSE)
            self.curves = self._curves()
            self.curves.sort(key=lambda c: -float(np.abs(self.base_v[c.ports] * self.base_a[c.ports]).sum()))
        self.quiet = np.setdiff1d(np.arange(count), self.excited)

    def __getstate__(self) -> dict[str, object]:
        """Leave out, on the way to another process, what that has itself and what only solving needs."""
        return {name: value for name, value in self.__dict__.items() if name not in ("base", "system", "around")}

    def placed(self, base: Solved) -> SupplyLaw:
        """Return a law that came from another process on the base that it is the law of."""
        law = copy(self)
        law.base, law.system = base, base.system
        return law

    def coarse_v(self, diodes: Index) -> Array:
        """Return the volts across some diodes at the instants of the coarser cycle.

        Parameters
        ----------
        diodes : array
            Which, among all of the system.

        Returns
        -------
        array
            Of the base's closed cycle (diode, instant). [V]

        Source
        ------
        Straight lines between its instants.
        """
        if self.base.cycle is None:
            return np.zeros((0, COARSE))
        waves = self.base.cycle.port_v[diodes]
        old, new = np.arange(waves.shape[1] + 1) / waves.shape[1], np.arange(COARSE) / COARSE
        return np.stack([np.interp(new, old, np.append(wave, wave[0])) for wave in waves])

    def reaches(self, v: Array, mains: Array) -> NDArray[np.bool_]:
        """Return in which columns every supply is somewhere between no load and a short.

        Parameters
        ----------
        v : array
            Mean volts across each diode (diode, column). [V]
        mains : array
            Open-circuit volts of the supplies against those of the base (column); at 0 there is nothing to reach. [-]

        Returns
        -------
        array
            True where the curves hold (column).

        Source
        ------
        The ends of the curves.
        """
        from lugwright.solve.kernel import supplies

        found = np.ones(len(mains), dtype=bool)
        if len(self.excited):
            supplies.within(self.curves_as_tables, np.ascontiguousarray(v.T), np.asarray(mains, dtype=float), found)
        return found

    @cached_property
    def curves_as_tables(self) -> Curves:
        """Return the curves as the machine code wants them."""
        from lugwright.solve.kernel.supplies import Curves

        count, points = len(self.excited), np.array([len(c.shift_v) for c in self.curves], dtype=np.intp)
        shape = (len(points), int(points.max(initial=0)))
        members, shift, rows = np.zeros((shape[0], count)), np.zeros(shape), np.zeros((4, *shape, count))
        slopes = np.zeros((*shape, count, count))
        for k, curve in enumerate(self.curves):
            at = slice(0, points[k])
            members[k, curve.ports], shift[k, at] = 1.0, curve.shift_v
            onward = np.einsum("kep,kp->ke", curve.slopes, curve.follows)
            for row, table in zip(rows, (curve.off_v, curve.follows, curve.amps, onward), strict=True):
                row[k, at] = table
            slopes[k, at] = curve.slopes
        base = (self.base_v, self.base_a, self.base_s) if count else (np.zeros(0), np.zeros(0), np.zeros((0, 0)))
        off, follows, amps, steep = rows
        base_v, base_a, base_s = map(np.ascontiguousarray, base)
        return Curves(
            self.excited, members, points, shift, off, follows, amps, steep, slopes, base_v, base_a, base_s
        )  # fmt: skip

    def _supplies(self) -> list[Index]:
        """Return the excited diodes that share joints, together."""
        system = self.system
        groups: list[tuple[set[int], list[int]]] = []
        for k, diode in enumerate(self.excited):
            joints, members = {int(system.port_a[diode]), int(system.port_b[diode])} - {system.size}, [k]
            for other in [g for g in groups if g[0] & joints]:
                joints, members = joints | other[0], other[1] + members
                groups.remove(other)
            groups.append((joints, members))
        return [np.array(members, dtype=np.intp) for _, members in groups]

    def _curves(self) -> list[Curve]:
        """Return each supply's curve; the cycles of all are closed together."""
        supplies = self._supplies()
        shifts = [self._shifts(ports) for ports in supplies]
        asked = list(map(self._asked, supplies, shifts))
        cycles = self._closed(Loads.together([loads for loads, _ in asked]), np.concatenate([v for _, v in asked]))
        ends = np.cumsum([len(each) for each in shifts])
        columns = np.split(np.arange(ends[-1]), ends[:-1])
        return list(map(self._curve, supplies, shifts, map(cycles.only, columns)))

    def _shifts(self, ports: Index) -> Array:
        """Return where a supply's cycle is closed, rising: volts from the base, itself among them."""
        swing = np.abs(self.around.open_v[self.excited[ports]]).max(axis=1)
        level, top = float(self.base_v[ports].mean()), float(swing.mean())
        empty = min(-top - level, -1e-3 * top)
        return np.unique([*(empty * x for x in LIGHTER), 0.0, *_heavier(-empty, -level)])

    def _asked(self, ports: Index, shifts: Array) -> tuple[Loads, Array]:
        """Return loads that hold a supply at some shifts, the others being on theirs, and volts to start from."""
        start = np.tile(self.coarse_v(np.arange(self.around.ports)), (len(shifts), 1, 1))
        start[:, self.excited[ports]] += shifts[:, None, None]
        count, others = len(self._mean_v), _but(ports, len(self.excited))
        open_v, ohm = np.tile(self._mean_v, (len(shifts), 1)), np.zeros((len(shifts), count, count))
        at, shown = self.excited[others], self._load_ohm[np.ix_(others, others)]
        ohm[:, at[:, None], at] = shown
        open_v[:, at] += shown @ self.base_a[others]
        open_v[:, self.excited[ports]] += shifts[:, None]
        return Loads(open_v, ohm), start

    def _closed(self, loads: Loads, start: Array) -> ClosedCycles:
        """Return the base's cycle on other loads; what does not close with the others is tried by itself."""
        around, every = self.around, np.zeros(len(start), dtype=np.intp)
        one = ManyCycles(around.impedance[None], around.open_v[None], diode_laws(self.system, self.base.values))
        found = one.only(every).close(loads, start)
        for k in np.flatnonzero(~found.closed).tolist():
            with suppress(NoIdlePoint):
                alone = around.close(LoadLine(loads.open_v[k], loads.ohm[k]), start[k])
                found = found.replaced(np.array([k]), ClosedCycles.of_one(alone))
        return found

    def _curve(self, ports: Index, shifts: Array, cycles: ClosedCycles) -> Curve:
        """Return the curve of a supply through the cycles that have closed; it runs on where one has not."""
        at, kept = self.excited, np.flatnonzero(cycles.closed)
        closed = cycles.only(kept)
        tones = np.moveaxis(tones_of(closed.port_a[:, at]), 0, 1)
        off, slopes = closed.mean_v[:, at] - self.base_v, closed.slope_s[:, at[:, None], at]
        points = _Loaded(shifts[kept], off, closed.mean_a[:, at], slopes, tones)
        if 0.0 not in points.shift_v:
            points = points.beside(self._base_point)
        if len(points.shift_v) == 1:
            points = points.beside(self._onward(ports))
        return self._anchored(ports, points)

    @property
    def _base_point(self) -> _Loaded:
        cycle, at = self.base.cycle, self.excited
        tones = tones_of(np.zeros((0, COARSE)) if cycle is None else cycle.port_a[at])
        return _Loaded(np.zeros(1), np.zeros((1, len(at))), self.base_a[None], self.base_s[None], tones[None])

    def _onward(self, ports: Index) -> _Loaded:
        """Return where the base's own slopes lead within one volt."""
        off = _following(self.base_s[None], self._load_ohm, ports)
        return self._base_point._replace(shift_v=np.ones(1), off_v=off, amps=self.base_a + off @ self.base_s.T)

    @cached_property
    def _load_ohm(self) -> Array:
        """Return the resistance the circuit shows the excited diodes at 0 Hz, tubes by their slopes. [ohm]"""
        system, values = self.system, self.base.values
        slots = system.matrix(np.real(system.admittances(values, 0.0)))
        slots = slots + system.tube_matrix_scatter(tube_matrix_entries(tube_state(system, values, self.base.dc.volts)))
        dense = np.zeros((system.size, system.size))
        dense[system.dense_index] = slots[:-1, 0]
        drive = np.zeros((system.size + 1, len(self.excited)))
        for k, diode in enumerate(self.excited):
            drive[system.port_a[diode], k] += 1.0
            drive[system.port_b[diode], k] -= 1.0
        volts = np.vstack([np.linalg.solve(dense, drive[:-1]), np.zeros((1, len(self.excited)))])
        return np.asarray(volts[system.port_a[self.excited]] - volts[system.port_b[self.excited]])

    def _anchored(self, ports: Index, points: _Loaded) -> Curve:
        """Return the curve through the base itself, the coarser cycles moved by the volts they are off there."""
        shift, off, amps, slopes, tones = points
        here = int(np.flatnonzero(shift == 0.0)[0])
        lacking = float((self.base_a[ports] - amps[here, ports]).sum())
        steep = float(slopes[here][np.ix_(ports, ports)].sum())
        room = 0.3 * float(np.abs(np.delete(shift, here)).min())
        late = min(max(lacking / steep, -room), room) if steep > LEAST_S else 0.0
        shift, off = shift - late, off - off[here]
        off[:, ports] = shift[:, None]
        shift[here], off[here], amps[here], slopes[here] = 0.0, 0.0, self.base_a, self.base_s
        tones[here] = self._base_point.tones[0]
        return Curve(ports, shift, off, _following(slopes, self._load_ohm, ports), amps, slopes, tones)


@lru_cache(maxsize=12)
def supply_law(base: Solved) -> SupplyLaw:
    """Return the law of a base's supplies; whoever asks about the same base again gets the same."""
    return SupplyLaw(base)


def _heavier(drop: float, short: float) -> list[float]:
    """Return shifts from the base down to a short, none more than twice the one before it."""
    shifts, shift = [], HEAVIER * drop
    while shift < 0.95 * short:
        shifts.append(shift)
        shift *= 2.0
    return [*shifts, max(short, 0.0)]


def _following(slopes: Array, load_ohm: Array, ports: Index) -> Array:
    """Return how the volts of all diodes follow a shift of one supply, the others on their load (point, excited)."""
    points, count = slopes.shape[:2]
    others, moves = _but(ports, count), np.zeros((points, count))
    moves[:, ports] = 1.0
    ohm = load_ohm[np.ix_(others, others)]
    pull = ohm @ slopes[:, others[:, None], ports].sum(axis=2)[..., None]
    moves[:, others] = -np.linalg.solve(np.eye(len(others)) + ohm @ slopes[:, others[:, None], others], pull)[..., 0]
    return moves


def _but(some: Index, count: int) -> Index:
    """Return the places that are not among some."""
    return np.delete(np.arange(count), some)
