"""What hypotheses say of probes with everything that moves together: kept for what was looked at closely last.

Each cell holds how every cause of spread moves one reading under one hypothesis, a kilobyte or more; so the probes that
nobody has asked for lately are dropped.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from lugwright.bringup.trace.records import Array, Predictions, Probe

Chosen = NDArray[np.int_]
WorkOut = Callable[[Sequence[Probe], Chosen], Predictions]

MOST = 40_000  # cells


@dataclass(frozen=True)
class _Kept:
    """One probe: the hypotheses worked out, in their order there, and what they say."""

    place: Chosen  # of each hypothesis among those here, -1 where it is not
    expected: Array
    loading: Array  # (hypothesis, cause)
    noise: Array
    known: NDArray[np.bool_]

    def with_rows(self, rows: Chosen, told: Predictions, probe: int) -> _Kept:
        """Return it with some more hypotheses."""
        place = self.place.copy()
        place[rows] = len(self.expected) + np.arange(len(rows))
        columns = (told.expected[:, probe], told.loading[:, probe], told.noise[:, probe], told.known[:, probe])
        mine = (self.expected, self.loading, self.noise, self.known)
        return _Kept(place, *(np.concatenate(pair) for pair in zip(mine, columns, strict=True)))


@dataclass(frozen=True, eq=False)
class KeptClose:
    """Predictions by probe and hypothesis, filled as they are asked for; the probes asked for last stand last."""

    hypotheses: int
    causes: int
    work_out: WorkOut
    most: int = MOST
    _kept: dict[Probe, _Kept] = field(default_factory=dict)

    def of(self, probes: Sequence[Probe], some: Chosen) -> Predictions:
        """Return what some hypotheses say of probes; what is still kept is not worked out again."""
        lacking: dict[bytes, list[Probe]] = {}
        rows: dict[bytes, Chosen] = {}
        for probe in dict.fromkeys(probes):
            kept = self._kept.pop(probe) if probe in self._kept else self._nothing()
            self._kept[probe] = kept
            missing = some[kept.place[some] < 0]
            if len(missing):
                lacking.setdefault(missing.tobytes(), []).append(probe)
                rows[missing.tobytes()] = missing
        for key, asked in lacking.items():
            told = self.work_out(asked, rows[key])
            for k, probe in enumerate(asked):
                self._kept[probe] = self._kept[probe].with_rows(rows[key], told, k)
        found = self._collected(probes, some)
        self._forget()
        return found

    def _nothing(self) -> _Kept:
        none = np.zeros(0)
        return _Kept(np.full(self.hypotheses, -1), none, np.zeros((0, self.causes)), none, np.zeros(0, dtype=bool))

    def _collected(self, probes: Sequence[Probe], some: Chosen) -> Predictions:
        shape = (len(some), len(probes))
        expected, noise, known = np.empty(shape), np.empty(shape), np.empty(shape, dtype=bool)
        loading = np.empty((*shape, self.causes))
        for k, probe in enumerate(probes):
            kept = self._kept[probe]
            at = kept.place[some]
            expected[:, k], noise[:, k], known[:, k] = kept.expected[at], kept.noise[at], kept.known[at]
            loading[:, k] = kept.loading[at]
        return Predictions(tuple(probes), expected, loading, noise, known)

    def _forget(self) -> None:
        """Drop the probes that nobody has asked for longest, until no more is kept than may be."""
        cells = sum(len(kept.expected) for kept in self._kept.values())
        for probe in list(self._kept):
            if cells <= self.most:
                return
            cells -= len(self._kept.pop(probe).expected)
