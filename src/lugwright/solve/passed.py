"""Idles that a moving value has passed, and a guess of the next one: a curve through the nearest of them.

A guess is only where following starts; what comes of it is closed and certified like anything else. Volts and currents
of the rectifiers are mixed alike: what follows them starts from their waves, v + r i, that bend where a diode turns on
but have no corner there.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from lugwright.solve.mains_cycle import CyclePoint
from lugwright.solve.solved import Solved
from lugwright.solve.system import Array

MOST_PASSED = 64
_POINTS = 3  # a parabola
_STRETCH = 4.0  # a guess further outside than this multiplies what the points differ by


class Passed:
    """Where one value has been of late, all else as it stands."""

    def __init__(self, at: float, solved: Solved) -> None:
        self._places: deque[tuple[float, Solved]] = deque(maxlen=MOST_PASSED)
        self.add(at, solved)

    def add(self, at: float, solved: Solved) -> None:
        """Keep the idle at a place, on a scale on which the value moves evenly."""
        self._places = deque((each for each in self._places if each[0] != at), maxlen=MOST_PASSED)
        self._places.append((at, replace(solved, surroundings=None)))

    def near(self, at: float) -> Solved:
        """Return what an idle may be like at a place."""
        places = sorted(self._places, key=lambda each: abs(each[0] - at))[:_POINTS]
        while len(places) > 1:
            shares = _shares([place for place, _ in places], at)
            if float(np.abs(shares).max()) <= _STRETCH:
                return _mixed([solved for _, solved in places], shares)
            places.pop()
        return places[0][1]


def _shares(places: Sequence[float], at: float) -> Array:
    """Return how much of each place's numbers the polynomial through all of them takes at another."""
    points = np.array(places)
    away = points[:, None] - points[None, :]
    np.fill_diagonal(away, 1.0)
    reach = np.broadcast_to(at - points, away.shape).copy()
    np.fill_diagonal(reach, 1.0)
    return np.asarray(np.prod(reach / away, axis=1))


def _mixed(those: Sequence[Solved], shares: Array) -> Solved:
    first, cycles = those[0], [each.cycle for each in those if each.cycle is not None]
    dc = replace(first.dc, volts=_mix([each.dc.volts for each in those], shares))
    if len(cycles) < len(those):
        return replace(first, dc=dc)
    return replace(first, dc=dc, cycle=_mixed_cycle(cycles, shares))


def _mixed_cycle(cycles: Sequence[CyclePoint], shares: Array) -> CyclePoint:
    return replace(
        cycles[0],
        port_v=_mix([cycle.port_v for cycle in cycles], shares),
        port_a=_mix([cycle.port_a for cycle in cycles], shares),
        mean_v=_mix([cycle.mean_v for cycle in cycles], shares),
        mean_a=_mix([cycle.mean_a for cycle in cycles], shares),
        slope_s=_mix([cycle.slope_s for cycle in cycles], shares),
    )


def _mix(those: Sequence[Array], shares: Array) -> Array:
    return np.asarray(np.tensordot(shares, np.stack(those), axes=1))
