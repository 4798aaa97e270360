"""What the diodes of many wirings see: impedance at every harmonic, and what the mains puts across them."""

from __future__ import annotations

import numpy as np

from lugwright.solve.device_laws import tube_matrix_entries, tube_state
from lugwright.solve.rewired_dc import DcColumns
from lugwright.solve.rewired_mains import mains_drive
from lugwright.solve.rewired_matrix import UpdatedInverse, base_inverse
from lugwright.solve.rewired_newton import Answer, Block
from lugwright.solve.rewired_slopes import Linearized
from lugwright.solve.rewired_supply import SupplyLaw
from lugwright.solve.sparse_lu import Numbers
from lugwright.solve.system import Array, Index


class Surroundings:
    """The circuit around some diodes at the harmonics of the base's coarser cycle."""

    def __init__(self, law: SupplyLaw, dc: DcColumns, diodes: Index) -> None:
        self.law, self.dc, self.diodes = law, dc, diodes
        self._inverses: dict[tuple[int, bool], tuple[Numbers, tuple[int, ...]]] = {}

    def of(self, chosen: Index, answer: Answer | None = None, harmonics: int | None = None) -> tuple[Numbers, Array]:
        """Return impedance (column, diode, diode, harmonic) and open volts (column, diode, instant) of some columns.

        Tubes are their slopes in the base or, with an ``answer`` for these columns, in that.
        """
        around, columns, values = self.law.around, self.dc.columns, self.dc.values[:, chosen]
        count, e = harmonics or len(around.s), len(self.diodes)
        impedance = np.zeros((len(chosen), e, e, count), dtype=complex)
        spectrum = np.zeros((len(chosen), e, around.instants // 2 + 1), dtype=complex)
        drive = mains_drive(columns, columns.ends[:, chosen], values) * (-1j * around.instants / 2 * np.sqrt(2.0))
        place = np.full(columns.count, -1)
        place[chosen] = np.arange(len(chosen))
        with np.errstate(all="ignore"):
            for k in range(count):
                own_y = columns.system.admittances(values, around.s[[k]])
                inverse, held = self._inverse(k, with_tubes=answer is None)
                for layout in columns.layouts(coupled=True, held=held):
                    pick = np.flatnonzero(place[layout.columns] >= 0)
                    if not len(pick):
                        continue
                    here = place[layout.columns[pick]]
                    part = layout.narrowed(pick).differences(around.admittances[:, k], own_y, at=here)
                    block = Block(part.columns, UpdatedInverse(inverse, part), columns.ports.chosen(part.columns))
                    seen = self._seen(
                        block, drive[:, here], None if answer is None else answer.only(here), open_=k == 0
                    )
                    impedance[here, :, :, k] = seen[:, :, :e]
                    if k == 0:
                        spectrum[here, :, 1] = seen[:, :, e]
        return impedance, np.fft.irfft(spectrum, n=around.instants, axis=2)

    def _inverse(self, k: int, *, with_tubes: bool) -> tuple[Numbers, tuple[int, ...]]:
        if (k, with_tubes) not in self._inverses:
            system, base = self.dc.system, self.law.base
            slots = system.matrix(self.law.around.admittances[:, [k]])
            if with_tubes:
                tubes = tube_matrix_entries(tube_state(system, base.values, base.dc.volts))
                slots = slots + system.tube_matrix_scatter(tubes)
            self._inverses[k, with_tubes] = base_inverse(self.dc.columns, slots[:, 0])
        return self._inverses[k, with_tubes]

    def _seen(self, block: Block, drive: Numbers, answer: Answer | None, *, open_: bool) -> Numbers:
        """Return the impedance between the diodes and, as a last column, what the drive puts across them."""
        at = self.diodes - len(self.dc.system.diodes)
        rows = (block.ports.a[at].T, block.ports.b[at].T)
        nothing = np.zeros((len(block.chosen), len(at), 1))
        each = np.arange(len(block.chosen))

        def across(volts: Numbers) -> Numbers:
            return np.asarray((volts[rows[0].T, each] - volts[rows[1].T, each]).T[:, :, None])

        if answer is None:
            last = across(block.updated.apply(drive)) if open_ else nothing
            return np.concatenate([block.updated.between(rows, rows), last], axis=2)
        steady = Answer(answer.amps, answer.tubes, answer.diode_a, np.zeros_like(answer.diode_s))
        linear = Linearized.of(self.dc.system, block, steady)
        last = across(linear.apply(drive)) if open_ else nothing
        return np.concatenate([linear.entries(rows, rows), last], axis=2)
