"""The steady part of a solved circuit: the same numbers as the whole readout gives, and a refusal of its own."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from lugwright.errors import NoIdlePoint
from lugwright.solve.levels import read_levels
from lugwright.solve.mains_cycle import CLOSED
from lugwright.solve.readout import read_idle
from lugwright.solve.solved import Solved
from lugwright.workflow import open_build

EXAMPLES = Path(__file__).parents[3] / "examples"
ALIKE = 1e-9  # one solution read out in two ways
CYCLE = CLOSED  # a rectifier's current is read out of the closed cycle here, out of all joints' waveforms there


@pytest.fixture(scope="module")
def curlew() -> Solved:
    """Return a build with a rectifier tube."""
    return open_build(EXAMPLES / "curlew_18.toml").solved


def test_levels_are_those_of_the_whole_idle(curlew: Solved) -> None:
    levels, whole = read_levels(curlew), read_idle(curlew).levels
    assert levels.volts == pytest.approx(dict(whole.volts), rel=ALIKE, abs=1e-9)
    assert list(levels.tubes) == list(whole.tubes)
    for name, tube in levels.tubes.items():
        known = whole.tubes[name]
        alike = ALIKE if tube.amplifies else CYCLE
        assert (tube.plate_a, tube.plate_w) == pytest.approx((known.plate_a, known.plate_w), rel=alike), name
        assert tube.plate_to_cathode_v == pytest.approx(known.plate_to_cathode_v, rel=ALIKE), name


def test_currents_that_do_not_cancel_are_refused_in_words(curlew: Solved) -> None:
    row = curlew.system.row["V1a.plate"]
    left = np.array(curlew.dc.left_over_a)
    left[row] = 3e-6
    allowed = curlew.dc.allowed_a[row, 0]
    with pytest.raises(NoIdlePoint) as caught:
        read_levels(replace(curlew, dc=replace(curlew.dc, left_over_a=left)))
    assert caught.value.what == "the idle point is not certified"
    assert caught.value.found.startswith("V1a.plate: 3e-06 A left over, ")
    assert caught.value.wanted == f"at most {allowed:.2g} A left over, and volts known to 0.0001 V"
    assert caught.value.do == "look at the parts that meet at V1a.plate"


def test_volts_that_are_not_known_well_enough_are_refused_in_words(curlew: Solved) -> None:
    error = np.array(curlew.dc.error_v)
    error[curlew.system.row["V2a.plate"]] = 0.002
    with pytest.raises(NoIdlePoint) as caught:
        read_levels(replace(curlew, dc=replace(curlew.dc, error_v=error)))
    assert caught.value.found.endswith(" A left over, V2a.plate known to 0.002 V")
