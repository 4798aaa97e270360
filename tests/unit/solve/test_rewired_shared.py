"""What wirings stamp is drawn once for a system: each is itself in whatever company it is solved."""

from __future__ import annotations

import pickle

import numpy as np

from lugwright.solve.idle import solve_columns
from lugwright.solve.rewired import as_found, solve_rewired

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


def test_what_came_from_another_process_answers_as_what_was_solved_here() -> None:
    circuit = one_stage()[1]
    base = solve_columns(circuit)[0]
    every = every_rewiring(circuit, bridges=3)
    mine = solve_rewired(base, every)
    theirs = as_found(base, every, pickle.loads(pickle.dumps(mine.found)))
    joints, causes = list(base.system.joints), [("R1", "ohm"), ("mains", "rms_v")]
    np.testing.assert_array_equal(theirs.volts, mine.volts)
    np.testing.assert_array_equal(theirs.solved, mine.solved)
    np.testing.assert_array_equal(theirs.with_meter(joints), mine.with_meter(joints))
    np.testing.assert_array_equal(theirs.ripple(joints), mine.ripple(joints))
    np.testing.assert_array_equal(theirs.sensitivities(joints, causes), mine.sensitivities(joints, causes))


def test_what_was_found_of_one_base_stands_on_that_base() -> None:
    """Its law and its columns are those of this process, not copies that came through the pipe."""
    circuit = one_stage()[1]
    base = solve_columns(circuit)[0]
    every = every_rewiring(circuit, bridges=3)
    theirs = as_found(base, every, pickle.loads(pickle.dumps(solve_rewired(base, every).found)))
    assert theirs.law.base is theirs.base is base
    assert theirs.columns is solve_rewired(base, every).columns
