"""What wirings stamp is drawn once for a system: each is itself in whatever company it is solved."""

from __future__ import annotations

import pickle

import numpy as np

from lugwright.solve.idle import solve_columns
from lugwright.solve.rewired import solve_rewired

from ...generated.rewirings import every_rewiring
from ..bringup.faults.one_stage import one_stage

SAME = 1e-7  # as close as cycles are closed


def test_a_wiring_is_the_same_in_any_company() -> None:
    circuit = one_stage()[1]
    base = solve_columns(circuit)[0]
    every = every_rewiring(circuit, bridges=12)
    some = list(range(len(every) - 1, 0, -3))
    whole, part = solve_rewired(base, every), solve_rewired(base, [every[k] for k in some])
    joints = list(base.system.joints)
    assert whole.solved[some].tolist() == part.solved.tolist()
    assert part.solved.mean() > 0.9
    held = np.flatnonzero(part.solved)
    one, other = whole.volts_at(joints)[some][held], part.volts_at(joints)[held]
    assert np.allclose(one, other, rtol=SAME, atol=SAME)


def test_rows_are_found_for_lists_of_one_s_own() -> None:
    circuit = one_stage()[1]
    base = solve_columns(circuit)[0]
    every = every_rewiring(circuit, bridges=3)
    columns = solve_rewired(base, every).columns
    made = next(k for k, names in enumerate(columns.names) if names)
    new, plain = next(iter(columns.names[made])), list(base.system.joints[:2])
    rows = columns.rows_in([made, 0, made], [[plain[0], new], plain, [circuit.ground, plain[1]]])
    size = base.system.size
    assert rows.tolist() == [[0, size], [0, 1], [columns.ground, 1]]


def test_columns_that_went_to_another_process_lay_out_the_same() -> None:
    circuit = one_stage()[1]
    base = solve_columns(circuit)[0]
    columns = solve_rewired(base, every_rewiring(circuit, bridges=3)).columns
    there = pickle.loads(pickle.dumps(columns))
    assert there.rewirings == columns.rewirings
    assert there.names == columns.names
    mine, theirs = (each.layouts(coupled=True, held=(2,)) for each in (columns, there))
    for one, other in zip(mine, theirs, strict=True):
        assert np.array_equal(one.columns, other.columns)
        assert np.array_equal(one.drops.rows, other.drops.rows)
        assert np.array_equal(one.drops.against, other.drops.against)
        assert np.array_equal(one.stamps, other.stamps)
        assert np.array_equal(one.steady, other.steady)
        assert np.array_equal(one.release, other.release)
