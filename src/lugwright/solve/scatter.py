"""Many contributions added into the rows of an array: branch currents into joints, stamps into a matrix."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

Index = NDArray[np.intp]
Numbers = NDArray[Any]  # real or complex
_MOST_LAYERS = 4  # rows with more contributions, ground above all, are summed by themselves
_WIDE = 256  # bytes of a row from which layers are faster


class Scatter:
    """Adds rows of contributions into rows of a larger array, many at once.

    With ``signs``, each 1 or -1, the targets are as many times the contributions as there are signs: they land
    once for each. A narrow batch is summed row by row; a wide one in layers, every row's second to last
    contribution before its first, which is the order of a sum.
    """

    def __init__(self, targets: Index, size: int, signs: tuple[float, ...] = (1.0,)) -> None:
        order = np.argsort(targets, kind="stable")
        rows, starts, counts = np.unique(targets[order], return_index=True, return_counts=True)
        each = max(len(targets) // len(signs), 1)
        landed = order % each, np.array(signs)[order // each]
        self._size = size
        self._all = _Sums.of(rows, starts, counts, *landed)
        few = counts <= _MOST_LAYERS
        self._crowded = _Sums.of(rows[~few], starts[~few], counts[~few], *landed)
        layers = [few & (counts > k) for k in range(int(counts[few].max(initial=1)))]
        self._first, *later = (_Layer.of(rows[there], starts[there] + k, *landed) for k, there in enumerate(layers))
        self._second, self._further = later[:1], later[1:]
        place = np.zeros(size, dtype=np.intp)
        for second in self._second:
            place[second.rows] = np.arange(len(second.rows))
        self._places = [place[layer.rows] for layer in self._further]

    def __call__(self, contributions: Numbers) -> Numbers:
        """Return an array (size, batch) with every contribution added to its row."""
        total = np.zeros((self._size, *contributions.shape[1:]), dtype=contributions.dtype)
        if contributions[:1].nbytes < _WIDE:
            self._all.put(total, contributions)
            return total
        self._crowded.put(total, contributions)
        total[self._first.rows] = self._first.landed(contributions)
        for second in self._second:
            later = second.landed(contributions)
            for layer, place in zip(self._further, self._places, strict=True):
                later[place] += layer.landed(contributions)
            total[second.rows] += later
        return total


@dataclass(frozen=True)
class _Sums:
    """Rows that are summed one by one."""

    rows: Index
    starts: Index
    taken: Index
    signs: Numbers | None  # None where all are 1

    @staticmethod
    def of(rows: Index, starts: Index, counts: Index, taken: Index, signs: Numbers) -> _Sums:
        """Return the sums of some rows whose contributions stand side by side in ``taken``."""
        inside = np.repeat(starts - np.cumsum(counts) + counts, counts) + np.arange(int(counts.sum()))
        signs = signs[inside]
        return _Sums(rows, np.cumsum(counts) - counts, taken[inside], None if np.all(signs > 0.0) else signs)

    def put(self, total: Numbers, contributions: Numbers) -> None:
        """Set the rows of ``total``."""
        if not len(self.rows):
            return
        taken = contributions[self.taken]
        if self.signs is not None:
            taken *= self.signs.reshape(-1, *[1] * (taken.ndim - 1))
        total[self.rows] = np.add.reduceat(taken, self.starts, axis=0)


@dataclass(frozen=True)
class _Layer:
    """At most one contribution for each row, the negative ones last."""

    rows: Index
    taken: Index
    negative: slice

    @staticmethod
    def of(rows: Index, at: Index, taken: Index, signs: Numbers) -> _Layer:
        """Return the layer of these rows, whose contributions stand at ``at``."""
        order = np.argsort(signs[at] < 0.0, kind="stable")
        rows, at = rows[order], at[order]
        return _Layer(rows, taken[at], slice(int(np.count_nonzero(signs[at] > 0.0)), len(at)))

    def landed(self, contributions: Numbers) -> Numbers:
        """Return what each of the rows gets."""
        found = contributions[self.taken]
        part = found[self.negative]
        if len(part):
            np.negative(part, out=part)
        return found
