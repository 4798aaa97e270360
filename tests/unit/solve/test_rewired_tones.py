"""What rectifiers draw at the mains frequency and at its double, in wirings that load them otherwise."""

from __future__ import annotations

import numpy as np
import pytest
from tests.planned_examples import example

from lugwright.circuit.edits import ScaleValue
from lugwright.circuit.rewiring import Rewiring
from lugwright.solve.current_tones import tones_of
from lugwright.solve.rewired import solve_rewired
from lugwright.solve.rewired_exact import solve_whole
from lugwright.solve.rewired_many import ManyRewired

# Stated before the first run. Between the loads at which the law's cycles are closed their tones are joined by straight
# lines; a cycle of its own has half the instants of the one it is held against.
ON_A_LINE, COARSER = 0.06, 0.01


def apart(many: ManyRewired, column: int) -> float:
    """Return how far tones are from those of the wiring solved whole, against the greatest of them."""
    whole = solve_whole(many.base, many.columns, column, instants=127)
    assert whole.cycle is not None
    exact = tones_of(whole.cycle.port_a)
    return float(np.abs(many.tones[:, :, column] - exact).max() / np.abs(exact).max())


@pytest.mark.parametrize("name", ["redshank_50", "curlew_18"])
def test_they_follow_the_load_behind_a_choke_and_into_a_capacitor(name: str) -> None:
    """Output tubes that draw nothing, half and twice what they draw by the base's volts."""
    solved = example(name).solved
    tubes = [tube.name for tube in solved.system.pentodes]
    loads = [
        Rewiring(f"{times:g} times", changes=tuple(ScaleValue(tube, "on", times) for tube in tubes))
        for times in (0.0, 0.5, 2.0)
    ]
    many = solve_rewired(solved, [Rewiring(""), *loads])
    assert not many.exact.any()
    mean = many.answer.diode_a.sum(axis=1)
    assert mean[1] < 0.5 * mean[0]
    assert mean[3] > 1.1 * mean[0]
    assert max(apart(many, column) for column in (1, 3)) < ON_A_LINE


def test_a_wiring_with_a_cycle_of_its_own_has_the_tones_of_that() -> None:
    solved = example("curlew_18").solved
    first = next(d for d in solved.system.capacitors if "B+1" in d.joints)
    many = solve_rewired(solved, [Rewiring("weak", changes=(ScaleValue(first.name, "farad", 0.1),))])
    assert many.exact.all()
    assert apart(many, 0) < COARSER
