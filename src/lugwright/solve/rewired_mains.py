"""Which wirings leave the rectifiers what they had: the mains volts at every diode, and what it works into."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from lugwright.solve.device_laws import tube_matrix_entries, tube_state
from lugwright.solve.rewired_columns import RewiredColumns
from lugwright.solve.rewired_matrix import UpdatedInverse, base_inverse
from lugwright.solve.rewired_supply import EXCITED_V, SupplyLaw
from lugwright.solve.solved import Solved
from lugwright.solve.system import Array, Index

HARMONICS = (1.0, 2.0, 6.0)
SAME_OHM = 3e-3  # share by which the impedance at a diode may change
SAME_V = 2e-3  # share by which the mains may differ from diode to diode
SCALES_V = 0.2  # share by which it may change for all
DEAD = 1e-4  # below this share of its mains a supply is dead


@dataclass(frozen=True)
class MainsSeen:
    """What each column leaves of the mains at the excited diodes."""

    share: Array  # (column), 0 where the supplies are dead
    alone: NDArray[np.bool_]  # (column): the supplies' law holds


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
    if not len(law.excited):
        return MainsSeen(share, alone)
    system = base.system
    tubes = system.tube_matrix_scatter(tube_matrix_entries(tube_state(system, base.values, base.dc.volts)))
    alone[columns.changed_diodes(law.excited)] = False
    for harmonic in HARMONICS:
        s = np.array([2j * np.pi * system.circuit.mains_hz * harmonic])
        base_y = system.admittances(base.values, s)
        inverse, held = base_inverse(columns, (system.matrix(base_y) + tubes)[:, 0])
        own_y = system.admittances(values, s)
        for block in columns.differences(base_y[:, 0], own_y, coupled=True, held=held):
            updated = UpdatedInverse(inverse, block)
            chosen = block.columns
            if harmonic == HARMONICS[0]:
                share[chosen], kept = _mains_left(base, law, columns, values[:, chosen], updated)
                alone[chosen] &= kept
            alone[chosen] &= _same_impedance(law, columns, updated) | (share[chosen] == 0.0)
    return MainsSeen(share, alone)


def _rows(columns: RewiredColumns, diodes: Index, count: int) -> tuple[Index, Index]:
    system = columns.system
    a, b = (np.where(r == system.size, columns.ground, r)[diodes] for r in (system.port_a, system.port_b))
    return np.repeat(a[None, :], count, axis=0), np.repeat(b[None, :], count, axis=0)


def _mains_left(
    base: Solved, law: SupplyLaw, columns: RewiredColumns, values: Array, updated: UpdatedInverse
) -> tuple[Array, NDArray[np.bool_]]:
    system, count = base.system, values.shape[1]
    every = np.arange(len(system.diodes))
    a, b = _rows(columns, every, 1)
    drive = np.zeros((columns.ground + 1, count), dtype=complex)
    before = np.zeros((columns.ground + 1, 1), dtype=complex)
    for source, ohm, rms in zip(system.sources, system.source_ohm, system.source_rms, strict=True):
        for joint, sign in ((source.a, 1.0), (source.b, -1.0)):
            row = columns.row_of(0, joint)
            if row != columns.ground:
                drive[row] += sign * values[rms] / values[ohm]
                before[row] += sign * base.values[rms, 0] / base.values[ohm, 0]
    old = updated.inverse @ before
    new = updated.apply(drive)
    old_v, new_v = (v[a[0]] - v[b[0]] for v in (old, new))
    ratio = new_v[law.excited] / old_v[law.excited]
    size = np.abs(ratio).mean(axis=0)
    even = np.abs(ratio - ratio.mean(axis=0)).max(axis=0) <= SAME_V
    dead = np.abs(ratio).max(axis=0) < DEAD
    kept = (even & (np.abs(size - 1.0) < SCALES_V)) | dead
    if len(law.quiet):
        kept &= np.sqrt(2.0) * np.abs(new_v[law.quiet]).max(axis=0) < EXCITED_V
    return np.where(dead, 0.0, size), kept


def _same_impedance(law: SupplyLaw, columns: RewiredColumns, updated: UpdatedInverse) -> NDArray[np.bool_]:
    one = _rows(columns, law.excited, 1)
    where = _rows(columns, law.excited, len(updated.touched))
    (a, b) = one[0][0], one[1][0]
    z = updated.inverse
    before = z[np.ix_(a, a)] - z[np.ix_(a, b)] - z[np.ix_(b, a)] + z[np.ix_(b, b)]
    moved = np.abs(updated.between(where, where) - before).max(axis=(1, 2))
    return np.asarray(moved <= SAME_OHM * np.abs(np.diagonal(before)).min())
