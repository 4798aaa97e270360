"""Which wirings leave the rectifiers what they had: the mains volts at every diode, and what it works into."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from lugwright.solve.device_laws import tube_matrix_entries, tube_state
from lugwright.solve.rewired_columns import RewiredColumns
from lugwright.solve.rewired_matrix import UpdatedInverse, base_inverse
from lugwright.solve.rewired_ports import Ports, summed
from lugwright.solve.rewired_supply import EXCITED_V, SupplyLaw
from lugwright.solve.solved import Solved
from lugwright.solve.sparse_lu import Numbers
from lugwright.solve.system import Array, Index, System

HARMONICS = (1.0, 2.0, 6.0)
UNMOVED = 1000.0  # times below that at the mains frequency: what coils and capacitors do grows with its square at most
SAME_OHM = 3e-3  # share by which the impedance at a diode may change
SAME_V = 5e-4  # share by which the mains may differ from diode to diode
SCALES_V = 0.2  # share by which it may change for all
ROUGH_V = 1.0  # RMS, on a grid or screen
DEAD = 1e-4  # below this share of its mains a supply is dead


@dataclass(frozen=True)
class MainsSeen:
    """What each column leaves of the mains at the excited diodes."""

    share: Array  # (column), 0 where the supplies are dead
    alone: NDArray[np.bool_]  # (column): the supplies' law holds
    outside: NDArray[np.bool_]  # (column): mains makes a diode conduct that does not in the base
    rough: NDArray[np.bool_]  # (column): mains on the grid or screen of a fitted tube, which slopes do not follow


def mains_seen(base: Solved, law: SupplyLaw, columns: RewiredColumns, values: Array) -> MainsSeen:
    """Return which columns keep the law of the base's supplies, and how much of its mains they have.

    Parameters
    ----------
    base : Solved
        The base.
    law : SupplyLaw
        Its supplies.
    columns : RewiredColumns
        The wirings.
    values : array
        Their values (value, column).

    Returns
    -------
    MainsSeen
        For every column.

    Valid
    -----
    Tubes by their slopes at the base.

    Source
    ------
    Ohm's law at the mains frequency, its double and its sixfold.
    """
    share, alone = np.ones(columns.count), np.ones(columns.count, dtype=bool)
    outside, rough = np.zeros(columns.count, dtype=bool), np.zeros(columns.count, dtype=bool)
    if not len(law.excited):
        return MainsSeen(share, alone, outside, rough)
    system = base.system
    tubes = system.tube_matrix_scatter(tube_matrix_entries(tube_state(system, base.values, base.dc.volts)))
    alone[columns.changed_diodes(law.excited)] = False
    different, values_at = columns.distinct(np.arange(columns.count))
    own, drive = values[:, different], mains_drive(columns, columns.ends, values)
    port_v = np.zeros(columns.ports.a.shape)
    open_ = np.ones(columns.count, dtype=bool)  # whether higher harmonics have a say
    s = 2j * np.pi * system.circuit.mains_hz * np.array(HARMONICS)
    base_y, every_y = system.admittances(base.values, s), system.admittances_beside(base.values, own, s)
    slots = system.matrix(base_y) + tubes
    for k, (harmonic, own_y) in enumerate(zip(HARMONICS, every_y, strict=True)):
        inverse = base_inverse(columns, slots[:, k])
        for layout in columns.layouts(coupled=True, held=inverse.held):
            part = layout.narrowed(np.flatnonzero(open_[layout.columns]))
            chosen = part.columns
            updated = UpdatedInverse(inverse, part.differences(base_y[:, k], own_y, at=values_at[chosen]))
            if harmonic == HARMONICS[0]:
                left = _left(law, columns, columns.ports.chosen(chosen), updated, drive[:, chosen])
                share[chosen], kept = left.share
                port_v[:, chosen] = np.abs(left.port_v)
                alone[chosen] &= kept
            moved = _moved_impedance(law, columns, updated)
            alone[chosen] &= (moved <= SAME_OHM) | (share[chosen] == 0.0)
            open_[chosen] = alone[chosen] & (moved > SAME_OHM / UNMOVED) & (share[chosen] != 0.0)
        if harmonic == HARMONICS[0]:
            outside = _opened(law, port_v[law.quiet - len(system.diodes)], values)
            alone, open_ = alone & ~outside, open_ & ~outside
    on = values[np.concatenate([system.triode_on, system.pentode_on, system.pentode_on])] > 0.0
    rough = np.where(on, port_v[_driven_grids(system)], 0.0).max(axis=0, initial=0.0) > ROUGH_V
    return MainsSeen(share, alone, outside, rough)


def _rows(columns: RewiredColumns, diodes: Index, count: int) -> tuple[Index, Index]:
    system = columns.system
    a, b = (np.where(r == system.size, columns.ground, r)[diodes] for r in (system.port_a, system.port_b))
    return np.repeat(a[None, :], count, axis=0), np.repeat(b[None, :], count, axis=0)


@dataclass(frozen=True)
class _Left:
    """What the mains alone puts across the excited diodes where they stand in the base, and across ports; complex RMS.

    Of every column (diode or port, column), ``old_v`` that of the base (diode).
    """

    new_v: Numbers
    old_v: Numbers
    port_v: Numbers

    @property
    def share(self) -> tuple[Array, NDArray[np.bool_]]:
        """Return each column's share of the base's mains at the excited diodes, and whether it is the same at all."""
        ratio = self.new_v / self.old_v[:, None]
        size = np.abs(ratio).mean(axis=0)
        even = np.abs(ratio - ratio.mean(axis=0)).max(axis=0) <= SAME_V
        dead = np.abs(ratio).max(axis=0) < DEAD
        return np.where(dead, 0.0, size), (even & (np.abs(size - 1.0) < SCALES_V)) | dead


def _left(law: SupplyLaw, columns: RewiredColumns, ports: Ports, updated: UpdatedInverse, drive: Numbers) -> _Left:
    """Return what is left where ports of some columns stand so, and a drive into joints (joint, column) is that."""
    base, count = law.base, len(law.excited)
    rows = _rows(columns, law.excited, len(updated))
    a, b = (np.concatenate([at, ends.T], axis=1) for at, ends in zip(rows, (ports.a, ports.b), strict=True))
    volts = updated.between_pairs(drive, a, b).T
    before = updated.inverse @ mains_drive(columns, columns.base_ends[:, None], base.values)[:, 0]
    return _Left(volts[:count], before[rows[0][0]] - before[rows[1][0]], volts[count:])


def mains_drive(columns: RewiredColumns, ends: Index, values: Array) -> Numbers:
    """Return what alternating sources drive into the joints of columns with these ends (joint, column), RMS. [A]"""
    system, n = columns.system, len(columns.system.branch_a)
    first = len(system.resistors) + len(system.capacitors)
    rows = np.arange(first, first + len(system.sources))
    amps = values[system.source_rms] / values[system.source_ohm]
    where = np.concatenate([ends[rows], ends[rows + n]])
    total = summed(where, np.concatenate([amps, -amps]), (columns.ground + 1, values.shape[1]))
    total[-1] = 0.0
    return total.astype(complex)


def _opened(law: SupplyLaw, rms_v: Array, values: Array) -> NDArray[np.bool_]:
    """Return the columns in which the mains across a quiet diode (diode, column) would make it conduct."""
    system, base = law.system, law.base
    v = base.dc.volts[:, 0]
    level = (v[system.port_a] - v[system.port_b])[law.quiet][:, None]
    peak = np.sqrt(2.0) * np.where(values[system.diode_rows.on[law.quiet]] > 0.0, rms_v, 0.0)
    return np.asarray(((peak >= EXCITED_V) & (level + peak > 0.0)).any(axis=0))


def _driven_grids(system: System) -> Index:
    """Return the ports of grids and screens."""
    t, p = len(system.triodes), len(system.pentodes)
    return np.concatenate([np.arange(t, 2 * t), np.arange(2 * t + p, 2 * t + 3 * p)])


def _moved_impedance(law: SupplyLaw, columns: RewiredColumns, updated: UpdatedInverse) -> Array:
    """Return how far what the excited diodes see has moved, as a share of the least that any of them sees."""
    one = _rows(columns, law.excited, 1)
    where = _rows(columns, law.excited, len(updated))
    (a, b) = one[0][0], one[1][0]
    z = updated.inverse
    before = z[np.ix_(a, a)] - z[np.ix_(a, b)] - z[np.ix_(b, a)] + z[np.ix_(b, b)]
    moved = np.abs(updated.among(*where) - before).max(axis=(1, 2))
    return np.asarray(moved / np.abs(np.diagonal(before)).min())
