"""One inverse matrix, and a few entries more in each of many columns: what a change on a few joints does everywhere.

Woodbury's identity: with Z the inverse of A, the inverse of A + D on a few rows T is Z - Z[:, T] M Z[T, :] with
M = (1 + D Z[T, T])^-1 D. Nothing larger than T is ever factored for a column.
"""

from __future__ import annotations

from collections.abc import Sequence
from contextlib import suppress
from dataclasses import dataclass, field
from functools import lru_cache
from typing import TYPE_CHECKING, Any
from weakref import WeakKeyDictionary

import numpy as np

from lugwright.solve.rewired_columns import RewiredColumns
from lugwright.solve.rewired_layout import HELD_S, Differences
from lugwright.solve.rewired_ports import summed
from lugwright.solve.sparse_lu import Numbers
from lugwright.solve.system import Index, System

if TYPE_CHECKING:
    from lugwright.solve.kernel import ports

KEPT = 200  # inverses at one frequency, a hundred kilobytes each: those of all steps of a power-up
TABLES_KEPT = 24  # those at all harmonics, four megabytes each: two for each step
MANY = 60  # pairs of joints from which on entries are read row by row
WEAK_OHM = 3e8  # a joint that shows more than this to ground is hardly held
_HELD: WeakKeyDictionary[System, dict[str, list[int]]] = WeakKeyDictionary()  # joints held last, by kind of number


@dataclass(frozen=True, eq=False)
class BaseInverse:
    """The inverse of a matrix of the system, with rows for new joints and a row of zeros for ground.

    Of joints that hardly anything holds one is held: what holds it is to be taken out again with each column's
    differences. So noise stays where these joints move together.
    """

    inverse: Numbers
    matrix: Numbers
    held: tuple[int, ...]
    _mends: dict[int, tuple[Index, Numbers]] = field(default_factory=dict)

    def mends(self, pairs: Index) -> Numbers:
        """Return what is missing in the difference of two rows of the inverse (pair, joint), and a row of zeros.

        It has lost digits, which a round of refinement brings back: a lead of milliohms on a joint far above ground
        lets next to nothing of its current pass elsewhere, and how little decides what happens when it is taken off.
        """
        if id(pairs) not in self._mends:
            a, b = pairs.T
            wanted = np.zeros((len(pairs) + 1, len(self.inverse)), dtype=self.inverse.dtype)
            lean, each = wanted.copy(), np.arange(len(pairs))
            wanted[each, a], wanted[each, b] = 1.0, -1.0
            lean[:-1] = self.inverse[a] - self.inverse[b]
            self._mends[id(pairs)] = pairs, (wanted - lean @ self.matrix) @ self.inverse
        return self._mends[id(pairs)][1]


def base_inverse(columns: RewiredColumns, slots: Numbers) -> BaseInverse:
    """Return the inverse of a matrix of the system (slot)."""
    return base_inverses(columns, slots[:, None])[0]


def base_inverses(columns: RewiredColumns, slots: Numbers) -> tuple[BaseInverse, Numbers]:
    """Return the inverses of a matrix of the system at some frequencies (slot, frequency): the first, and all.

    All (frequency, joint, joint) hold the same joints.
    """
    system, fresh = columns.system, np.arange(columns.system.size, columns.ground)
    kept = _inverse_of if slots.shape[1] == 1 else _table_of
    inverses, held = kept(system, columns.ground, slots.tobytes(), slots.dtype.char, slots.shape[1])
    matrix = np.zeros(inverses.shape[1:], dtype=inverses.dtype)
    matrix[system.dense_index] = slots[:-1, 0]
    for joints in (held, fresh):
        matrix[joints, joints] += HELD_S
    return BaseInverse(inverses[0], matrix, tuple(held)), inverses


def _inverses_of(system: System, ground: int, slots: bytes, kind: str, count: int) -> tuple[Numbers, list[int]]:
    """Return the inverses with rows up to ground, and the joints they hold; others may ask for the same."""
    entries = np.frombuffer(slots, dtype=kind).reshape(-1, count)[:-1]
    before = _HELD.setdefault(system, {})  # as a rule, at other frequencies or in another step it is the same joints
    held = list(before.get(kind, ()))
    while True:
        inverses = _inverted(system, ground, entries, held)
        shown = np.abs(np.diagonal(inverses, axis1=1, axis2=2)).max(axis=0)[: system.size]
        if not shown.max(initial=0.0) > WEAK_OHM:
            break
        held.append(int(np.argmax(shown)))
    before[kind] = held
    return inverses, held


_inverse_of, _table_of = lru_cache(maxsize=KEPT)(_inverses_of), lru_cache(maxsize=TABLES_KEPT)(_inverses_of)


def _inverted(system: System, ground: int, entries: Numbers, held: Sequence[int]) -> Numbers:
    """Return the inverses of matrices (entry, frequency), some joints held; ground's row is zeros.

    Joints at which nothing swings with frequency are taken out once for all. With A among these and B, C between them
    and the others, only S = D - C A^-1 B is inverted at each frequency; the whole is P S^-1 Q and A^-1 in its place,
    P and Q being a one at the others and -A^-1 B and -C A^-1 at these.
    """
    (i, j), n = system.dense_index, ground + 1
    steady, swings = np.zeros((n, n)), np.zeros(n, dtype=bool)
    steady[i, j] = entries[:, 0].real
    moving = np.any((entries != entries[:, :1]) | (entries.imag != 0.0), axis=1)
    swings[i[moving]] = swings[j[moving]] = True
    fresh = np.arange(system.size, ground)
    for joints in (held, fresh):
        steady[joints, joints] += HELD_S
    still, others = np.flatnonzero(~swings[:ground]), np.flatnonzero(swings)
    once = np.linalg.inv(steady[np.ix_(still, still)])
    p, q, each = np.zeros((n, len(others))), np.zeros((len(others), n)), np.arange(len(others))
    p[others, each], q[each, others] = 1.0, 1.0
    p[still], q[:, still] = -once @ steady[np.ix_(still, others)], -steady[np.ix_(others, still)] @ once
    found = np.zeros((entries.shape[1], n, n), dtype=entries.dtype)
    found[:, i, j] = entries.T
    found[:, held, held] += HELD_S
    inner = np.linalg.inv(found[:, others[:, None], others] + steady[np.ix_(others, still)] @ p[still])
    found.real = p @ np.ascontiguousarray(inner.real) @ q
    if np.iscomplexobj(found):
        found.imag = p @ np.ascontiguousarray(inner.imag) @ q
    found[:, still[:, None], still] += once
    return found


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


class UpdatedInverse:
    """The inverse of the base matrix with each column's differences in it; columns on the first axis of results."""

    def __init__(self, base: BaseInverse, differences: Differences) -> None:
        from lugwright.solve.kernel import middle  # brings the compiler along: only where there is something to solve

        drops = differences.drops
        self.inverse, self._plus, self._minus = base.inverse, drops.rows, drops.against
        self.middle = np.empty_like(differences.delta)
        changes = middle.Changes(drops.rows, drops.against, drops.at, differences.delta, differences.release)
        middle.middles(self.inverse, base.mends(drops.pairs), changes, self.middle)

    def __len__(self) -> int:
        """Return how many columns there are."""
        return len(self.middle)

    @property
    def driven(self) -> ports.Driven:
        """Return it as the machine code wants it for currents into a few joints."""
        from lugwright.solve.kernel import ports

        return ports.Driven(np.ascontiguousarray(self.inverse.T), self._plus, self._minus, self.middle)

    def _with(self, plus: Index, minus: Index, middle: Numbers) -> UpdatedInverse:
        other = object.__new__(UpdatedInverse)
        other.inverse, other._plus, other._minus, other.middle = self.inverse, plus, minus, middle
        return other

    def chosen(self, pick: Any) -> UpdatedInverse:
        """Return some of the columns."""
        return self._with(self._plus[pick], self._minus[pick], self.middle[pick])

    def padded(self, size: int) -> UpdatedInverse:
        """Return the same with room for more touched joints, filled up with ground."""
        more, ground = size - self._plus.shape[1], len(self.inverse) - 1
        plus, minus = (np.pad(rows, ((0, 0), (0, more)), constant_values=ground) for rows in (self._plus, self._minus))
        return self._with(plus, minus, np.pad(self.middle, ((0, 0), (0, more), (0, more))))

    def joined(self, others: Sequence[UpdatedInverse]) -> UpdatedInverse:
        """Return these columns and those of others of the same base."""
        size = max(u._plus.shape[1] for u in (self, *others))
        every = [u.padded(size) for u in (self, *others)]
        plus, minus, middle = (np.concatenate([getattr(u, k) for u in every]) for k in ("_plus", "_minus", "middle"))
        return self._with(plus, minus, middle)

    def _left(self, rows: Index) -> Numbers:
        """Return what currents into the drops make at rows (column, row asked for, drop) of the base."""
        z, rows = self.inverse, rows[:, :, None]
        return np.asarray(z[rows, self._plus[:, None, :]] - z[rows, self._minus[:, None, :]])

    def _right(self, rows: Index) -> Numbers:
        """Return what currents into rows of the base make of the drops (column, drop, row asked for)."""
        z, rows = self.inverse, rows[:, None, :]
        return np.asarray(z[self._plus[:, :, None], rows] - z[self._minus[:, :, None], rows])

    def from_rows(self, rows: Index) -> Numbers:
        """Return rows of each inverse (column, row asked for, joint); ``rows`` is (column, row asked for)."""
        drops = self.inverse[self._plus] - self.inverse[self._minus]
        return np.asarray(self.inverse[rows] - (self._left(rows) @ self.middle) @ drops)

    def shown(self, a: Index, b: Index) -> Numbers:
        """Return the resistance each pair of joints shows (column, pair)."""
        z, left, right = self.inverse, self._left(a) - self._left(b), self._right(a) - self._right(b)
        through = np.sum((left @ self.middle) * right.transpose(0, 2, 1), axis=2)
        return np.asarray(z[a, a] + z[b, b] - z[a, b] - z[b, a] - through)

    def apply(self, amps: Numbers) -> Numbers:
        """Return the volts (joint, column) that currents into joints (joint, column) make."""
        once, each = self.inverse @ amps, np.arange(len(self))[:, None]
        at = once[self._plus, each] - once[self._minus, each]
        pull = (self.middle @ at[:, :, None])[:, :, 0].T
        back = summed(self._plus.T, pull, amps.shape) - summed(self._minus.T, pull, amps.shape)
        return np.asarray(once - self.inverse @ back)

    def between_pairs(self, amps: Numbers, a: Index, b: Index) -> Numbers:
        """Return the volts between pairs of joints (column, pair) that currents into joints (joint, column) make."""
        from lugwright.solve.kernel import ports

        found = np.empty(a.shape, dtype=self.middle.dtype)
        amps, a, b = (np.ascontiguousarray(table) for table in (amps.T, a, b))
        ports.between_pairs(self.driven, amps, a, b, found)
        return found

    def between(self, out: tuple[Index, Index], into: tuple[Index, Index]) -> Numbers:
        """Return the transfer resistance (column, out, into) between pairs of joints (column, pair), a against b.

        ``out`` is where volts are read, ``into`` where a current goes in at a and out at b.
        """
        left = self._left(out[0]) - self._left(out[1])
        right = self._right(into[0]) - self._right(into[1])
        return np.asarray(_across(self.inverse, out, into) - left @ self.middle @ right)

    def among(self, a: Index, b: Index) -> Numbers:
        """Return the same between all of some pairs of joints (column, pair, pair)."""
        from lugwright.solve.kernel import ports  # brings the compiler along: only where there is something to solve

        found = np.empty((*a.shape, a.shape[1]), dtype=self.middle.dtype)
        plus, minus, middle, a, b = (np.ascontiguousarray(t) for t in (self._plus, self._minus, self.middle, a, b))
        ports.among(ports.Updated(self.inverse, plus, minus, middle), a, b, found)
        return found


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
