"""What the diodes of many wirings see: impedance at every harmonic, and what the mains puts across them."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from lugwright.solve.device_laws import tube_matrix_entries, tube_state
from lugwright.solve.rewired_dc import DcColumns
from lugwright.solve.rewired_layout import Differences
from lugwright.solve.rewired_mains import mains_drive
from lugwright.solve.rewired_matrix import BaseInverse, UpdatedInverse, base_inverses
from lugwright.solve.rewired_newton import Answer
from lugwright.solve.rewired_supply import SupplyLaw
from lugwright.solve.rewired_tube_slopes import TubeSlopes
from lugwright.solve.sparse_lu import Numbers
from lugwright.solve.system import Array, Index


class _Harmonics(NamedTuple):
    """The base at the first few harmonics."""

    first: BaseInverse  # that of the first
    inverses: Numbers  # (harmonic, joint, joint)
    base_y: Numbers  # admittances of pairs of branches (harmonic, pair)
    own_y: Numbers  # (harmonic, pair, column with values of its own)


class Surroundings:
    """The circuit around some diodes of some columns at the harmonics of the base's coarser cycle."""

    def __init__(self, law: SupplyLaw, dc: DcColumns, columns: Index, diodes: Index) -> None:
        self.law, self.dc, self.diodes = law, dc, diodes
        different, place = dc.columns.distinct(columns)
        self._own_y = dc.system.admittances_beside(law.base.values, dc.values[:, different], law.around.s)
        self._own_y_at = np.full(dc.columns.count, -1)
        self._own_y_at[columns] = place
        self._harmonics: dict[tuple[int, bool], _Harmonics] = {}

    def of(self, chosen: Index, answer: Answer | None = None, harmonics: int | None = None) -> tuple[Numbers, Array]:
        """Return impedance (column, diode, diode, harmonic) and open volts (column, diode, instant) of some columns.

        Tubes are their slopes in the base or, with an ``answer`` for these columns, in that.
        """
        around, columns, values = self.law.around, self.dc.columns, self.dc.values[:, chosen]
        count, e = harmonics or len(around.s), len(self.diodes)
        impedance = np.zeros((count, len(chosen), e, e), dtype=complex)
        spectrum = np.zeros((len(chosen), e, around.instants // 2 + 1), dtype=complex)
        drive = mains_drive(columns, columns.ends[:, chosen], values) * (-1j * around.instants / 2 * np.sqrt(2.0))
        place = np.full(columns.count, -1)
        place[chosen] = np.arange(len(chosen))
        with np.errstate(all="ignore"):
            some = self._at(count, with_tubes=answer is None)
            for layout in columns.layouts(coupled=True, held=some.first.held):
                pick = np.flatnonzero(place[layout.columns] >= 0)
                if not len(pick):
                    continue
                here = place[layout.columns[pick]]
                own = layout.narrowed(pick)
                part = own.differences(some.base_y, some.own_y, at=self._own_y_at[own.columns])
                mine = None if answer is None else answer.only(here)
                impedance[:, here], spectrum[here, :, 1] = self._seen(some, part, drive[:, here], mine)
        return np.ascontiguousarray(impedance.transpose(1, 2, 3, 0)), np.fft.irfft(spectrum, n=around.instants, axis=2)

    def _seen(
        self, some: _Harmonics, part: Differences, drive: Numbers, answer: Answer | None
    ) -> tuple[Numbers, Numbers]:
        """Return what some columns show the diodes (harmonic, column, diode, diode), and at the first harmonic alone.

        The second (column, diode) is what the ``drive`` into the joints puts across the diodes there.
        """
        from lugwright.solve.kernel import seen  # brings the compiler along: only where there is a cycle to close

        system, e = self.dc.system, len(self.diodes)
        ports = self.dc.columns.ports.chosen(part.columns)
        slopes = TubeSlopes.none(len(part.columns)) if answer is None else TubeSlopes.of(system, answer.siemens)
        rows = np.concatenate([len(ports.a) - len(system.diodes) + self.diodes, slopes.ports])
        a, b = np.ascontiguousarray(ports.a[rows].T), np.ascontiguousarray(ports.b[rows].T)
        alone = UpdatedInverse(some.first, part.once(0)).between_pairs(drive, a, b)
        into = np.zeros((len(some.inverses), len(a), e, e), dtype=complex)
        wirings = seen.Wirings(part.drops.rows, part.drops.against, part.delta, part.release, a, b)
        seen.see(
            some.inverses,
            wirings,
            seen.Slopes(e, slopes.ends, slopes.siemens),
            alone,
            into,
        )
        return into, alone[:, :e]

    def _at(self, count: int, *, with_tubes: bool) -> _Harmonics:
        """Return the first so many harmonics."""
        key = (count, with_tubes)
        if key not in self._harmonics:
            base_y = self.law.around.admittances[:, :count]
            first, inverses = base_inverses(self.dc.columns, self._slots(base_y, with_tubes=with_tubes))
            self._harmonics[key] = _Harmonics(first, inverses, base_y.T, self._own_y[:count])
        return self._harmonics[key]

    def _slots(self, base_y: Numbers, *, with_tubes: bool) -> Numbers:
        """Return the base's matrix at some harmonics (slot, harmonic)."""
        system, base = self.dc.system, self.law.base
        slots = system.matrix(base_y)
        if not with_tubes:
            return slots
        tubes = tube_matrix_entries(tube_state(system, base.values, base.dc.volts))
        return slots + system.tube_matrix_scatter(tubes)
