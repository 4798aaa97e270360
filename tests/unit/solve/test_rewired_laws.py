"""Laws that hold for wirings of any amplifier, on drawn ones."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from lugwright.buildfile.read import read_text
from lugwright.circuit.edits import ScaleValue, SetValue
from lugwright.circuit.elements import Resistor
from lugwright.circuit.from_build import circuit_from_build
from lugwright.circuit.rewiring import Bridge, Moved, Rewiring
from lugwright.solve.idle import solve_columns
from lugwright.solve.rewired import solve_rewired

from ...generated.amplifiers import build_text
from ...generated.rewirings import every_rewiring

SAME_V = 1e-5  # two ways to write one wiring differ by rounding alone


@settings(max_examples=4, deadline=None)
@given(seed=st.integers(0, 1000))
def test_currents_cancel_and_what_a_wiring_is_called_does_not_matter(seed: int) -> None:
    build = read_text(build_text(seed, tubes=2), "drawn.toml").build
    assert build is not None
    circuit = circuit_from_build(build)
    base = solve_columns(circuit)[0]
    some = every_rewiring(circuit, bridges=10, seed=seed)[:: 1 + seed % 5]
    many = solve_rewired(base, some)
    assert many.solved.mean() > 0.95
    assert np.all(np.abs(many.left_over_a[:, many.solved]) <= many.allowed_a[:, many.solved])

    parts = [e for e in circuit.elements if isinstance(e, Resistor) and e.role == "part"]
    one, other = parts[0], parts[-1]
    changes = (SetValue(one.name, "ohm", 2.0 * one.ohm), ScaleValue(other.name, "ohm", 1.5))
    moved = (Moved(one.name, "a", "away"), Moved(other.name, "b", one.b))
    bridges = (Bridge("away", one.a, 0.1), Bridge(other.a, one.b, 1e5))
    there = solve_rewired(base, [Rewiring("there", changes, moved, bridges)])
    back = solve_rewired(base, [Rewiring("back", changes[::-1], moved[::-1], bridges[::-1])])
    joints = [*base.system.joints, "away"]
    assert there.volts_at(joints) == pytest.approx(back.volts_at(joints), abs=SAME_V, nan_ok=True)
    assert there.volts_at(["away"])[0, 0] == pytest.approx(there.volts_at([one.a])[0, 0], abs=1.0, nan_ok=True)
