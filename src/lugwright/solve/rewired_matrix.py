"""One inverse matrix, and a few entries more in each of many columns: what a change on a few joints does everywhere.

Woodbury's identity: with Z the inverse of A, the inverse of A + D on a few rows T is Z - Z[:, T] M Z[T, :] with
M = (1 + D Z[T, T])^-1 D. Nothing larger than T is ever factored for a column.
"""

from __future__ import annotations

from collections.abc import Sequence
from contextlib import suppress
from functools import lru_cache
from typing import Any
from weakref import WeakKeyDictionary

import numpy as np

from lugwright.solve.rewired_columns import RewiredColumns
from lugwright.solve.rewired_layout import HELD_S, Differences
from lugwright.solve.rewired_ports import summed
from lugwright.solve.sparse_lu import Numbers
from lugwright.solve.system import Array, Index, System

KEPT = 400  # inverses, a hundred kilobytes each: those of all steps of a power-up at all harmonics
MANY = 60  # pairs of joints from which on entries are read row by row
WEAK_OHM = 3e8  # a joint that shows more than this to ground is hardly held
_HELD: WeakKeyDictionary[System, dict[str, list[int]]] = WeakKeyDictionary()  # joints held last, by kind of number


def base_inverse(columns: RewiredColumns, slots: Numbers) -> tuple[Numbers, tuple[int, ...]]:
    """Return the inverse of a matrix of the system (slots), with rows for new joints and a row of zeros for ground.

    Of joints that hardly anything holds one is held, and returned: what holds it is to be taken out again with each
    column's differences. So noise stays where these joints move together.
    """
    n, size = columns.system.size, columns.ground + 1
    small, held = _inverse_of(columns.system, slots.tobytes(), slots.dtype.char)
    inverse = np.zeros((size, size), dtype=small.dtype)
    inverse[:n, :n] = small
    fresh = np.arange(n, columns.ground)
    inverse[fresh, fresh] = 1.0 / HELD_S
    return inverse, held


@lru_cache(maxsize=KEPT)
def _inverse_of(system: System, slots: bytes, kind: str) -> tuple[Numbers, tuple[int, ...]]:
    """Return the inverse of a matrix on the system's own joints; some wirings, and then others, ask for the same."""
    n = system.size
    dense = np.zeros((n, n), dtype=kind)
    dense[system.dense_index] = np.frombuffer(slots, dtype=kind)[:-1]
    before = _HELD.setdefault(system, {})  # as a rule, at another frequency or in another step it is the same joints
    held = list(before.get(kind, ()))
    dense[held, held] += HELD_S
    small = np.linalg.inv(dense)
    while float(np.abs(np.diagonal(small)).max(initial=0.0)) > WEAK_OHM:
        held.append(int(np.argmax(np.abs(np.diagonal(small)))))
        dense[held[-1], held[-1]] += HELD_S
        small = np.linalg.inv(dense)
    small.flags.writeable = False  # whoever asks next gets the same
    before[kind] = held
    return small, tuple(held)


def solved_each(matrices: Numbers, right_sides: Numbers) -> Numbers:
    """Return the solutions of a stack of equations; not a number where a matrix is singular."""
    try:
        return np.asarray(np.linalg.solve(matrices, right_sides))
    except np.linalg.LinAlgError:
        found = np.full(right_sides.shape, np.nan, dtype=np.result_type(matrices, right_sides))
        for k in np.ndindex(right_sides.shape[:-2]):
            with suppress(np.linalg.LinAlgError):
                found[k] = np.linalg.solve(matrices[k], right_sides[k])
        return found


def _released(firm: Numbers, inside: Numbers, release: Array) -> Numbers:
    """Return the middle of Woodbury's identity with what holds weak joints taken out again.

    In a second step of its own, so that the noise of a joint that hardly anything holds stays at that joint.
    """
    if not release.any():
        return firm
    through = inside @ firm
    held = inside - through @ inside
    matrix = release[:, :, None] * held
    k = np.arange(release.shape[1])
    matrix[..., k, k] += 1.0
    diagonal = np.zeros_like(held)
    diagonal[..., k, k] = release
    second = solved_each(matrix, diagonal)
    left, right = -(firm @ inside), -through
    left[..., k, k] += 1.0
    right[..., k, k] += 1.0
    return np.asarray(firm + left @ second @ right)


class UpdatedInverse:
    """The inverse of the base matrix with each column's differences in it; columns on the first axis of results."""

    def __init__(self, inverse: Numbers, differences: Differences) -> None:
        self.inverse, self.touched = inverse, differences.touched
        delta = differences.delta
        t = self.touched
        inside = inverse[t[:, :, None], t[:, None, :]]
        matrix = delta @ inside
        k = np.arange(t.shape[1])
        matrix[..., k, k] += 1.0
        firm = solved_each(matrix, delta)
        self.middle = _released(firm, inside, differences.release)
        self._each = np.arange(len(t))[:, None]

    def chosen(self, pick: Any) -> UpdatedInverse:
        """Return some of the columns."""
        other = object.__new__(UpdatedInverse)
        other.inverse, other.touched, other.middle = self.inverse, self.touched[pick], self.middle[pick]
        other._each = np.arange(len(other.touched))[:, None]
        return other

    def padded(self, size: int) -> UpdatedInverse:
        """Return the same with room for more touched joints, filled up with ground."""
        more = size - self.touched.shape[1]
        other = self.chosen(slice(None))
        ground = len(self.inverse) - 1
        other.touched = np.pad(self.touched, ((0, 0), (0, more)), constant_values=ground)
        other.middle = np.pad(self.middle, ((0, 0), (0, more), (0, more)))
        return other

    def joined(self, others: Sequence[UpdatedInverse]) -> UpdatedInverse:
        """Return these columns and those of others of the same base."""
        size = max(u.touched.shape[1] for u in (self, *others))
        every = [u.padded(size) for u in (self, *others)]
        other = every[0]
        other.touched = np.concatenate([u.touched for u in every])
        other.middle = np.concatenate([u.middle for u in every])
        other._each = np.arange(len(other.touched))[:, None]
        return other

    def from_rows(self, rows: Index) -> Numbers:
        """Return rows of each inverse (column, row asked for, joint); ``rows`` is (column, row asked for)."""
        corner = self.inverse[rows[:, :, None], self.touched[:, None, :]]
        return np.asarray(self.inverse[rows] - (corner @ self.middle) @ self.inverse[self.touched])

    def times(self, ends: Numbers, *, transposed: bool = False) -> Numbers:
        """Return each inverse (or its transpose) times patterns of current (column, joint, pattern)."""
        inverse = self.inverse.T if transposed else self.inverse
        middle = self.middle.transpose(0, 2, 1) if transposed else self.middle
        once = inverse @ ends
        at = once[self._each, self.touched]
        pull = middle @ at
        return np.asarray(once - inverse.T[self.touched].transpose(0, 2, 1) @ pull)

    def apply(self, amps: Numbers) -> Numbers:
        """Return the volts (joint, column) that currents into joints (joint, column) make."""
        once = self.inverse @ amps
        at = once[self.touched, self._each]
        pull = (self.middle @ at[:, :, None])[:, :, 0]
        return np.asarray(once - self.inverse @ summed(self.touched.T, pull.T, amps.shape))

    def between(self, out: tuple[Index, Index], into: tuple[Index, Index]) -> Numbers:
        """Return the transfer resistance (column, out, into) between pairs of joints (column, pair), a against b.

        ``out`` is where volts are read, ``into`` where a current goes in at a and out at b.
        """
        z, t = self.inverse, self.touched
        (ra, rb), (ca, cb) = out, into
        left = z[ra[:, :, None], t[:, None, :]] - z[rb[:, :, None], t[:, None, :]]
        right = z[t[:, :, None], ca[:, None, :]] - z[t[:, :, None], cb[:, None, :]]
        return np.asarray(_across(z, out, into) - left @ self.middle @ right)


def _across(z: Numbers, out: tuple[Index, Index], into: tuple[Index, Index]) -> Numbers:
    """Return entries of one matrix between pairs of joints (column, out, into)."""
    (ra, rb), (ca, cb) = out, into
    if ra.shape[1] < MANY:
        whole = z[ra[:, :, None], ca[:, None, :]] - z[ra[:, :, None], cb[:, None, :]]
        whole -= z[rb[:, :, None], ca[:, None, :]] - z[rb[:, :, None], cb[:, None, :]]
        return np.asarray(whole)
    whole = np.empty((len(ra), ra.shape[1], ca.shape[1]), dtype=z.dtype)
    turned = np.ascontiguousarray(z.T)
    for column in range(len(ra)):  # whole rows at a time
        lean = np.ascontiguousarray((turned[ca[column]] - turned[cb[column]]).T)
        np.subtract(lean[ra[column]], lean[rb[column]], out=whole[column])
    return whole
