"""What is looked at closely is worked out once for each hypothesis and probe, as long as it is kept."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from lugwright.bringup.trace.kept_close import KeptClose
from lugwright.bringup.trace.records import Predictions, Probe

PROBES = tuple(Probe("ohms", f"V1.{pin}", "ground", "ohm", f"V1 pin {pin}", 12.0, 0.0) for pin in range(1, 5))
CAUSES = 3


class Worked:
    """Counts what is worked out; hypothesis and pin make the number."""

    def __init__(self) -> None:
        self.asked: list[tuple[int, int]] = []

    def out(self, probes: Sequence[Probe], some: NDArray[np.int_]) -> Predictions:
        self.asked += [(int(h), PROBES.index(p)) for p in probes for h in some]
        mean = np.array([[10.0 * h + PROBES.index(p) for p in probes] for h in some])
        return Predictions(tuple(probes), mean, mean[:, :, None] * np.arange(CAUSES), mean + 0.5, mean % 2.0 == 0.0)


def test_what_was_looked_at_before_is_not_worked_out_again() -> None:
    worked = Worked()
    kept = KeptClose(6, CAUSES, worked.out)
    kept.of(PROBES[:2], np.array([3, 0]))
    told = kept.of((PROBES[2], PROBES[0], PROBES[0]), np.array([3, 5, 0]))
    assert told.probes == (PROBES[2], PROBES[0], PROBES[0])
    assert told.expected.tolist() == [[32.0, 30.0, 30.0], [52.0, 50.0, 50.0], [2.0, 0.0, 0.0]]
    assert told.noise.tolist() == (told.expected + 0.5).tolist()
    assert told.loading.tolist() == (told.expected[:, :, None] * np.arange(CAUSES)).tolist()
    assert told.known.all()
    assert sorted(worked.asked) == [(0, 0), (0, 1), (0, 2), (3, 0), (3, 1), (3, 2), (5, 0), (5, 2)]


def test_probes_that_nobody_asks_for_are_dropped_first() -> None:
    worked, some = Worked(), np.array([1, 2])
    kept = KeptClose(6, CAUSES, worked.out, most=5)
    for asked in (PROBES[:1], PROBES[1:2], PROBES[:1], PROBES[2:3]):  # the second is what is given up
        kept.of(asked, some)
    worked.asked.clear()
    kept.of((PROBES[0], PROBES[2]), some)
    assert worked.asked == []
    assert kept.of(PROBES[1:2], some).expected.tolist() == [[11.0], [21.0]]
    assert worked.asked == [(1, 1), (2, 1)]


def test_more_than_is_kept_is_answered_all_the_same() -> None:
    worked = Worked()
    kept = KeptClose(6, CAUSES, worked.out, most=1)
    assert kept.of(PROBES[:2], np.array([4, 1])).expected.tolist() == [[40.0, 41.0], [10.0, 11.0]]
