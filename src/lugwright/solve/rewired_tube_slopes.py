"""The slopes of all tubes as one list: which port's current follows which port's volts, and how much in each column."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from lugwright.solve.system import Array, Index, System


@dataclass(frozen=True)
class TubeSlopes:
    """Slopes that are not zero in every column."""

    ports: Index  # the ports that these slopes join, in the order of `Ports`
    ends: Index  # (slope, 2): places among these ports of the current and of the volts
    siemens: Array  # (column, slope)

    @staticmethod
    def of(system: System, siemens: Array) -> TubeSlopes:
        """Return the slopes of some columns, from all of them in the order of `slope_ends` (column, slope)."""
        ends = slope_ends(len(system.triodes), len(system.pentodes))
        some = np.flatnonzero((siemens != 0.0).any(axis=0))
        ports, places = np.unique(ends[some], return_inverse=True)
        return TubeSlopes(ports, places.reshape(-1, 2), np.ascontiguousarray(siemens[:, some]))

    @staticmethod
    def none(columns: int) -> TubeSlopes:
        """Return no slopes at all."""
        return TubeSlopes(np.zeros(0, dtype=np.intp), np.zeros((0, 2), dtype=np.intp), np.zeros((columns, 0)))


@lru_cache(maxsize=16)
def slope_ends(t: int, p: int) -> Index:
    """Return the ports of current and volts of the slopes of so many triodes and pentodes."""
    plate, grid = np.arange(t), np.arange(t, 2 * t)
    big, screen, big_grid = (2 * t + np.arange(n * p, (n + 1) * p) for n in range(3))
    pairs = [(plate, plate), (plate, grid), (grid, grid), (big, big), (big, screen), (big, big_grid), (screen, big),
             (screen, screen), (screen, big_grid), (big_grid, big_grid)]  # fmt: skip
    ends = np.concatenate([np.stack(pair, axis=1) for pair in pairs])
    ends.flags.writeable = False
    return ends
