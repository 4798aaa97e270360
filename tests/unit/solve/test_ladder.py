"""Drive levels climbed one by one."""

from __future__ import annotations

from pathlib import Path

import numpy as np

from lugwright.buildfile.read import read_build
from lugwright.solve.ladder import Ladder
from lugwright.solve.power_bench import power_bench

EXAMPLES = Path(__file__).parents[3] / "examples"


def test_a_rung_started_along_the_way_is_the_same_with_fewer_steps() -> None:
    build = read_build(EXAMPLES / "dunlin_5.toml").build
    assert build is not None
    bench = power_bench(build)
    driven = bench.driven()
    ladder = Ladder(driven, bench.load_on(driven))
    first, second, third = (ladder.solve(v) for v in (0.02, 0.04, 0.06))
    assert first is not None
    assert second is not None
    assert third is not None
    alone = driven.drive(third.tones, second)
    assert third.steps < alone.steps
    change = np.abs(third.period.port_v - alone.period.port_v).max(axis=1)
    assert np.all(change <= 1e-4 * np.maximum(1.0, np.abs(alone.period.port_v).max(axis=1)))
