"""What hypotheses say of probes with all spread in one figure: worked out once for each of them, and kept."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from lugwright.bringup.trace.ahead import Ahead
from lugwright.bringup.trace.records import Array, Probe

Chosen = NDArray[np.int_]
WorkOut = Callable[[Sequence[Probe], Chosen], Ahead]


@dataclass(frozen=True)
class _Kept:
    """One probe, one place for each hypothesis."""

    mean: Array
    sd: Array
    known: NDArray[np.bool_]
    there: NDArray[np.bool_]  # worked out already


@dataclass(frozen=True, eq=False)
class KeptAhead:
    """Predictions of probes by hypothesis, filled as they are asked for."""

    hypotheses: int
    work_out: WorkOut
    _kept: dict[Probe, _Kept] = field(default_factory=dict)

    def of(self, probes: Sequence[Probe], some: Chosen) -> Ahead:
        """Return what some hypotheses say of probes; only what nobody has asked for before is worked out."""
        lacking: dict[bytes, list[Probe]] = {}
        rows: dict[bytes, Chosen] = {}
        for probe in dict.fromkeys(probes):
            missing = some[~self._place(probe).there[some]]
            if len(missing):
                lacking.setdefault(missing.tobytes(), []).append(probe)
                rows[missing.tobytes()] = missing
        for key, asked in lacking.items():
            self._put(asked, rows[key], self.work_out(asked, rows[key]))
        shape = (len(some), len(probes))
        told = Ahead(np.zeros(shape), np.ones(shape), np.zeros(shape, dtype=bool))
        for k, probe in enumerate(probes):
            kept = self._kept[probe]
            told.mean[:, k], told.sd[:, k], told.known[:, k] = kept.mean[some], kept.sd[some], kept.known[some]
        return told

    def _place(self, probe: Probe) -> _Kept:
        if probe not in self._kept:
            count = self.hypotheses
            nothing = (np.zeros(count, dtype=bool) for _ in range(2))
            self._kept[probe] = _Kept(np.zeros(count), np.ones(count), *nothing)
        return self._kept[probe]

    def _put(self, probes: Sequence[Probe], rows: Chosen, told: Ahead) -> None:
        for k, probe in enumerate(probes):
            kept = self._kept[probe]
            kept.mean[rows], kept.sd[rows], kept.known[rows] = told.mean[:, k], told.sd[:, k], told.known[:, k]
            kept.there[rows] = True
