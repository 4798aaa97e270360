"""A linear circuit at many frequencies, all at once: its matrix, the factors, what some ports see.

Real and imaginary parts stand in tables of their own, the frequencies side by side (row, frequency): one instruction of
the machine then does four of them. So the elimination is written down once more here, as sums of products.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from lugwright.solve.kernel.compiled import compiled, entry
from lugwright.solve.kernel.lu import Pivots

Table = NDArray[np.float64]
Complex = NDArray[np.complex128]
Rows = NDArray[np.int64]


class Stamps(NamedTuple):
    """Which slots of the matrix the admittance of each pair of branches is added to."""

    slots: Rows  # (pair, 4): added to the first and the last, taken off the others
    tie_slots: Rows
    tie_s: float


class Branches(NamedTuple):
    """The numbers of all branches, in the order of their pairs: those that stand alone, then the windings."""

    siemens: Table  # of those alone, at no frequency
    farads: Table  # of the capacitors among them
    first_farad: int  # the first of these
    coils: Rows  # (winding group): how many
    turns: Table  # (coil), group after group
    ohm: Table
    leakage_h: Table
    magnetizing_h: Table  # (winding group)


@compiled
def _add(real: Table, imaginary: Table, slots: Rows, f: int, siemens: complex) -> None:
    """Add an admittance at one frequency."""
    for k in range(4):
        sign = 1.0 if k == 0 or k == 3 else -1.0
        real[slots[k], f] += sign * siemens.real
        imaginary[slots[k], f] += sign * siemens.imag


@compiled
def _windings(real: Table, imaginary: Table, stamps: Stamps, branches: Branches, s: Complex) -> None:
    """Add what coils on one core do to each other; `lugwright.solve.system.System` has the same for arrays."""
    pair, first = len(branches.siemens), 0
    own = np.empty(max(len(branches.turns), 1), dtype=np.complex128)
    for g in range(len(branches.coils)):
        count = branches.coils[g]
        turns = branches.turns[first : first + count]
        for f in range(len(s)):
            pull = 0.0 * s[f]
            for k in range(count):
                own[k] = 1.0 / (branches.ohm[first + k] + s[f] * branches.leakage_h[first + k])
                pull += turns[k] * turns[k] * own[k]
            henry = s[f] * branches.magnetizing_h[g]
            core = henry / (henry * pull + turns[0] * turns[0])
            for i in range(count):
                for j in range(count):
                    siemens = -turns[i] * own[i] * (turns[j] * own[j]) * core
                    if i == j:
                        siemens += own[i]
                    _add(real, imaginary, stamps.slots[pair + i * count + j], f, siemens)
        pair += count * count
        first += count


@compiled
def _fill(
    real: Table, imaginary: Table, stamps: Stamps, branches: Branches, s: Complex, devices: Table, steady: Table
) -> None:
    """Write the matrix at each frequency; ``steady`` is room for what is the same at all."""
    for slot in range(len(devices)):
        steady[slot] = devices[slot]
    for p in range(len(branches.siemens)):
        slots = stamps.slots[p]
        steady[slots[0]] += branches.siemens[p]
        steady[slots[1]] -= branches.siemens[p]
        steady[slots[2]] -= branches.siemens[p]
        steady[slots[3]] += branches.siemens[p]
    for slot in stamps.tie_slots:
        steady[slot] += stamps.tie_s
    for slot in range(len(devices)):
        for f in range(len(s)):
            real[slot, f], imaginary[slot, f] = steady[slot], 0.0
    for c in range(len(branches.farads)):
        slots, farad = stamps.slots[branches.first_farad + c], branches.farads[c]
        for k in range(4):
            signed = farad if k == 0 or k == 3 else -farad
            for f in range(len(s)):
                real[slots[k], f] += signed * s[f].real
                imaginary[slots[k], f] += signed * s[f].imag
    _windings(real, imaginary, stamps, branches, s)


@compiled
def _take(real: Table, imaginary: Table, row: int, share: Table, with_: Table, more: Table, other: int) -> None:
    """Take a complex share (2, frequency) of another row off a row."""
    for f in range(share.shape[1]):
        a, b = with_[other, f], more[other, f]
        real[row, f] -= share[0, f] * a - share[1, f] * b
        imaginary[row, f] -= share[0, f] * b + share[1, f] * a


@compiled
def _factor(pivots: Pivots, real: Table, imaginary: Table, share: Table) -> None:
    """Put the LU factors in the place of the matrix; the pivots are stored inverted."""
    for p in range(len(pivots.row)):
        diagonal, count, block = pivots.diagonal[p], pivots.touched[p], pivots.first_block[p]
        for f in range(real.shape[1]):
            a, b = real[diagonal, f], imaginary[diagonal, f]
            size = a * a + b * b
            inverse = 1.0 / size if size != 0.0 else np.inf
            real[diagonal, f], imaginary[diagonal, f] = a * inverse, -b * inverse
        for i in range(count):
            below = diagonal + 1 + i
            for f in range(real.shape[1]):
                a, b = real[below, f], imaginary[below, f]
                share[0, f] = a * real[diagonal, f] - b * imaginary[diagonal, f]
                share[1, f] = a * imaginary[diagonal, f] + b * real[diagonal, f]
            for f in range(real.shape[1]):
                real[below, f], imaginary[below, f] = share[0, f], share[1, f]
            for j in range(count):
                slot = pivots.block[block + i * count + j]
                _take(real, imaginary, slot, share, real, imaginary, diagonal + 1 + count + j)


@compiled
def _share(real: Table, imaginary: Table, slot: int, share: Table) -> None:
    for f in range(share.shape[1]):
        share[0, f], share[1, f] = real[slot, f], imaginary[slot, f]


@compiled
def _solve(pivots: Pivots, real: Table, imaginary: Table, share: Table, x: Table, y: Table) -> None:
    """Put the solution in the place of a right side x + j y (row, frequency)."""
    for p in range(len(pivots.row)):
        row, diagonal, first = pivots.row[p], pivots.diagonal[p], pivots.first[p]
        for i in range(pivots.touched[p]):
            _share(real, imaginary, diagonal + 1 + i, share)
            _take(x, y, pivots.later[first + i], share, x, y, row)
    for p in range(len(pivots.row) - 1, -1, -1):
        row, diagonal, first, count = pivots.row[p], pivots.diagonal[p], pivots.first[p], pivots.touched[p]
        for i in range(count):
            _share(real, imaginary, diagonal + 1 + count + i, share)
            _take(x, y, row, share, x, y, pivots.later[first + i])
        for f in range(x.shape[1]):
            a, b = x[row, f], y[row, f]
            x[row, f] = a * real[diagonal, f] - b * imaginary[diagonal, f]
            y[row, f] = a * imaginary[diagonal, f] + b * real[diagonal, f]


@entry
def between(
    pivots: Pivots, reach: Pivots, stamps: Stamps, branches: Branches, s: Complex, devices: Table, size: int,
    ends: Rows, first: Complex, into: Complex,
) -> None:  # fmt: skip
    """Write the volts across each port for a unit of current into each (across, driven, frequency).

    ``devices`` are the slopes of tubes and diodes in their slots, ``reach`` the pivots of the joints of the ports
    (`lugwright.solve.sparse_lu.Reach`), ``size`` how many these are, ``ends`` their rows in there. ``first`` are the
    factors of the first frequency.
    """
    ports, count = len(ends), len(s)
    real, imaginary = np.empty((len(devices), count)), np.empty((len(devices), count))
    share, x, y = np.empty((2, count)), np.empty((size + 1, count)), np.empty((size + 1, count))  # ground last
    _fill(real, imaginary, stamps, branches, s, devices, np.empty(len(devices)))
    _factor(pivots, real, imaginary, share)
    for slot in range(len(devices)):
        first[slot] = complex(real[slot, 0], imaginary[slot, 0])
    for q in range(ports):
        x.fill(0.0)
        y.fill(0.0)
        for f in range(count):
            x[ends[q, 0], f] += 1.0
            x[ends[q, 1], f] -= 1.0
        _solve(reach, real, imaginary, share, x, y)
        for f in range(count):
            x[size, f], y[size, f] = 0.0, 0.0
        for p in range(ports):
            for f in range(count):
                into[p, q, f] = complex(x[ends[p, 0], f] - x[ends[p, 1], f], y[ends[p, 0], f] - y[ends[p, 1], f])
