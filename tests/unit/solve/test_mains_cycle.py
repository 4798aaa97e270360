"""A mains cycle closes to the same waves from wherever it is started, and without a word of what ran away."""

from __future__ import annotations

from copy import copy

import numpy as np
import pytest
from tests.planned_examples import example

from lugwright.errors import NoIdlePoint
from lugwright.solve.load_line import LoadLine
from lugwright.solve.mains_cycle import CLOSED


@pytest.mark.parametrize("start_v", [0.0, 1e160, np.inf])
def test_a_cycle_closes_also_where_the_start_leads_nowhere(start_v: float) -> None:
    """A rectifier tube: its law takes powers of the volts."""
    solved = example("curlew_18").solved
    assert solved.cycle is not None
    assert solved.surroundings is not None
    load = LoadLine(solved.cycle.mean_v, np.zeros((len(solved.cycle.mean_v),) * 2))
    known = solved.surroundings.close(load, solved.cycle.port_v)
    found = solved.surroundings.close(load, np.full_like(solved.cycle.port_v, start_v))
    assert found.port_v == pytest.approx(known.port_v, abs=10.0 * CLOSED * np.abs(known.port_v).max())


def test_diodes_that_nothing_tells_apart_are_refused() -> None:
    """Two diodes behind one and the same leak: in rounded numbers their equations are one."""
    around = example("dunlin_5").solved.surroundings
    assert around is not None
    cycle = copy(around)
    for told in ("kernel", "_stiff", "_supple", "_at_once", "_reach_ohm", "_scale_v"):
        cycle.__dict__.pop(told, None)
    cycle.impedance, cycle.__dict__["open_v"] = np.full_like(around.impedance, 1e18), np.full_like(around.open_v, 10.0)
    with pytest.raises(NoIdlePoint, match="the mains cycle does not close"):
        cycle.close(LoadLine(np.zeros(2), np.zeros((2, 2))), np.ones_like(around.open_v))


# Stated before the first run: differences over 4 mV either way leave their square over what rounds a corner, 40 mV.
@pytest.mark.parametrize(("name", "share"), [("dunlin_5", 5e-3), ("curlew_18", 1e-4)])
def test_slopes_are_how_the_means_follow_the_mean_volts(name: str, share: float) -> None:
    solved = example(name).solved
    assert solved.cycle is not None
    assert solved.surroundings is not None
    around, count = solved.surroundings, len(solved.cycle.mean_v)
    held = np.zeros((count, count))
    found = around.slopes(around.close(LoadLine(solved.cycle.mean_v, held), solved.cycle.port_v).port_v)
    for port in range(count):
        means = []
        for step_v in (0.004, -0.004):
            volts = solved.cycle.mean_v + step_v * np.eye(count)[port]
            means.append(around.close(LoadLine(volts, held), solved.cycle.port_v).mean_a)
        slope = (means[0] - means[1]) / 0.008
        assert found[:, port] == pytest.approx(slope, abs=share * float(np.abs(found).max()))
