"""Predictions are worked out once for each hypothesis and probe."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from lugwright.bringup.trace.ahead import Ahead
from lugwright.bringup.trace.kept_ahead import KeptAhead
from lugwright.bringup.trace.records import Probe

PROBES = tuple(Probe("ohms", f"V1.{pin}", "ground", "ohm", f"V1 pin {pin}", 12.0, 0.0) for pin in range(1, 5))


class Worked:
    """Counts what is worked out; hypothesis and pin make the number."""

    def __init__(self) -> None:
        self.asked: list[tuple[int, int]] = []

    def out(self, probes: Sequence[Probe], some: NDArray[np.int_]) -> Ahead:
        self.asked += [(int(h), PROBES.index(p)) for p in probes for h in some]
        mean = np.array([[10.0 * h + PROBES.index(p) for p in probes] for h in some])
        return Ahead(mean, mean + 0.5, mean % 2.0 == 0.0)


def test_what_was_asked_before_is_not_worked_out_again() -> None:
    worked = Worked()
    kept = KeptAhead(6, worked.out)
    kept.of(PROBES[:2], np.array([0, 3]))
    told = kept.of((PROBES[2], PROBES[0], PROBES[0]), np.array([3, 5, 0]))
    assert told.mean.tolist() == [[32.0, 30.0, 30.0], [52.0, 50.0, 50.0], [2.0, 0.0, 0.0]]
    assert told.sd.tolist() == (told.mean + 0.5).tolist()
    assert told.known.all()
    assert sorted(worked.asked) == [(0, 0), (0, 1), (0, 2), (3, 0), (3, 1), (3, 2), (5, 0), (5, 2)]
