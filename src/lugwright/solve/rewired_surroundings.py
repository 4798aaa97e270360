"""What the diodes of many wirings see: impedance at every harmonic, and what the mains puts across them."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from lugwright.solve.device_laws import tube_matrix_entries, tube_state
from lugwright.solve.rewired_dc import DcColumns
from lugwright.solve.rewired_layout import Differences
from lugwright.solve.rewired_mains import mains_drive
from lugwright.solve.rewired_matrix import BaseInverse, UpdatedInverse, base_inverse
from lugwright.solve.rewired_newton import Answer
from lugwright.solve.rewired_supply import SupplyLaw
from lugwright.solve.rewired_tube_slopes import TubeSlopes
from lugwright.solve.sparse_lu import Numbers
from lugwright.solve.system import Array, Index


class _Harmonics(NamedTuple):
    """Harmonics at which the base's inverses hold the same joints."""

    at: Index  # which
    held: tuple[int, ...]  # the joints
    first: BaseInverse  # that of the first of them
    inverses: Numbers  # (harmonic, joint, joint)
    base_y: Numbers  # admittances of pairs of branches (harmonic, pair)
    own_y: Numbers  # (harmonic, pair, column with values of its own)


class Surroundings:
    """The circuit around some diodes of some columns at the harmonics of the base's coarser cycle."""

    def __init__(self, law: SupplyLaw, dc: DcColumns, columns: Index, diodes: Index) -> None:
        self.law, self.dc, self.diodes = law, dc, diodes
        different, place = dc.columns.distinct(columns)
        count, s = len(different), law.around.s
        own_y = dc.system.admittances(np.tile(dc.values[:, different], len(s)), np.repeat(s, count))
        self._own_y = own_y.reshape(-1, len(s), count).swapaxes(0, 1)  # (harmonic, pair, column)
        self._own_y_at = np.full(dc.columns.count, -1)
        self._own_y_at[columns] = place
        self._harmonics: dict[tuple[int, bool], list[_Harmonics]] = {}

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
            for some in self._held_alike(count, with_tubes=answer is None):
                for layout in columns.layouts(coupled=True, held=some.held):
                    pick = np.flatnonzero(place[layout.columns] >= 0)
                    if not len(pick):
                        continue
                    here = place[layout.columns[pick]]
                    own = layout.narrowed(pick)
                    part = own.differences(some.base_y, some.own_y, at=self._own_y_at[own.columns])
                    amps = drive[:, here] if some.at[0] == 0 else None
                    seen, alone = self._seen(some, part, amps, None if answer is None else answer.only(here))
                    impedance[some.at[:, None], here] = seen
                    if amps is not None:
                        spectrum[here, :, 1] = alone
        return np.ascontiguousarray(impedance.transpose(1, 2, 3, 0)), np.fft.irfft(spectrum, n=around.instants, axis=2)

    def _seen(
        self, some: _Harmonics, part: Differences, drive: Numbers | None, answer: Answer | None
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
        alone = np.zeros(a.shape, dtype=complex)
        if drive is not None:
            alone = UpdatedInverse(some.first, part.once(0)).between_pairs(drive, a, b)
        into = np.zeros((len(some.at), len(a), e, e), dtype=complex)
        wirings = seen.Wirings(part.drops.rows, part.drops.against, part.delta, part.release, a, b)
        seen.see(
            some.inverses,
            wirings,
            seen.Slopes(e, slopes.ends, slopes.siemens),
            alone,
            into,
        )
        return into, alone[:, :e]

    def _held_alike(self, count: int, *, with_tubes: bool) -> list[_Harmonics]:
        """Return the first so many harmonics, those whose base inverses hold the same joints together."""
        key = (count, with_tubes)
        if key not in self._harmonics:
            base_y, alike = self.law.around.admittances[:, :count], list[_Harmonics]()
            slots = self._slots(base_y, with_tubes=with_tubes)
            found = [base_inverse(self.dc.columns, slots[:, k]) for k in range(count)]
            for held in dict.fromkeys(each.held for each in found):
                at = np.array([k for k in range(count) if found[k].held == held], dtype=np.intp)
                own_y = self._own_y[:count] if len(at) == count else self._own_y[at]  # as a rule all, and a large table
                inverses = np.stack([found[k].inverse for k in at])
                alike.append(_Harmonics(at, held, found[at[0]], inverses, base_y[:, at].T, own_y))
            self._harmonics[key] = alike
        return self._harmonics[key]

    def _slots(self, base_y: Numbers, *, with_tubes: bool) -> Numbers:
        """Return the base's matrix at some harmonics (slot, harmonic)."""
        system, base = self.dc.system, self.law.base
        slots = system.matrix(base_y)
        if not with_tubes:
            return slots
        tubes = tube_matrix_entries(tube_state(system, base.values, base.dc.volts))
        return slots + system.tube_matrix_scatter(tubes)
