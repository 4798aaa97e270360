"""What a wiring stamps on the drops of volts it touches is what it stamps on the joints, with more digits left."""

from __future__ import annotations

import numpy as np
import pytest

from lugwright.solve.rewired_layout import HELD_S, Sketch, laid_out
from lugwright.solve.rewired_matrix import BaseInverse, UpdatedInverse

GROUND = 5
LEAD, UP, OFF = 50.0, 1.0 / 50e3, 1.0 / 30e6  # siemens: a contact, what leads from joint 0 to ground, and from joint 1


def stamped(size: int, parts: list[tuple[int, int, float]]) -> np.ndarray:
    """Return the matrix of conductances between joints, with a row and a column of zeros for ground."""
    matrix = np.zeros((size + 1, size + 1))
    for a, b, siemens in parts:
        drop = np.eye(size + 1)[a] - np.eye(size + 1)[b]
        matrix += siemens * np.outer(drop, drop)
    matrix[-1] = matrix[:, -1] = 0.0
    return matrix


def based(matrix: np.ndarray) -> BaseInverse:
    """Return its inverse."""
    return BaseInverse(np.pad(np.linalg.inv(matrix[:-1, :-1]), (0, 1)), matrix, ())


def test_drops_are_told_against_what_the_strongest_parts_lead_to_and_held_joints_against_ground() -> None:
    sketch = Sketch(GROUND)
    sketch.restamp(0, (0, 1, 0, 1), (0, 2, 0, 2), (LEAD, LEAD))
    sketch.restamp(1, (1, 3, 1, 3), (4, 3, 4, 3), (UP, UP))
    sketch.restamp(2, (3, 0, 3, 0), (3, 0, 3, 0), (OFF, OFF))  # closes a loop: nothing is told by it
    sketch.hold(2, 0.0, in_base=True)
    told = dict(zip(sketch.local, sketch.tree.against, strict=True))
    assert told == {0: GROUND, 1: 0, 2: GROUND, 3: 1, 4: GROUND}
    assert sketch.strong == [(1, 0)]


def test_stamps_on_drops_are_those_on_joints() -> None:
    rng = np.random.default_rng(3)
    sketch = Sketch(GROUND)
    ends = [((0, 1, 0, 1), (0, 4, 0, 4)), ((0, 1, 2, 3), (0, 4, 2, 3)), ((2, GROUND, 2, GROUND),) * 2]
    for pair, (old, new) in enumerate(ends):
        sketch.restamp(pair, old, new, (1.0 + pair, 1.0))
    sketch.bridge(1, 3, 0.7)
    base_y, own_y = rng.normal(size=3), rng.normal(size=(3, 1))
    (layout,) = laid_out([sketch], GROUND)
    part = layout.differences(base_y, own_y)
    drops = np.eye(GROUND + 1)[part.drops.rows[0]] - np.eye(GROUND + 1)[part.drops.against[0]]
    expected = stamped(GROUND, [(1, 3, 0.7)])
    for pair, both in enumerate(ends):
        for (a, b, c, d), siemens in zip(both, (-base_y[pair], own_y[pair, 0]), strict=True):
            expected += siemens * np.outer(np.eye(6)[a] - np.eye(6)[b], np.eye(6)[c] - np.eye(6)[d])
    assert (drops.T @ part.delta[0] @ drops)[:-1, :-1] == pytest.approx(expected[:-1, :-1], abs=1e-12)


def test_a_contact_taken_off_a_joint_far_above_ground_leaves_the_resistance_of_what_remains() -> None:
    """Twenty milliohms at fifty kilohms, and what remains is thirty megohms: right to a millionth."""
    matrix = stamped(3, [(0, 3, UP), (0, 1, LEAD), (1, 3, OFF), (2, 3, HELD_S)])
    sketch = Sketch(3)
    sketch.restamp(0, (0, 1, 0, 1), (0, 2, 0, 2), (LEAD, LEAD))
    sketch.hold(2, 1e-9, in_base=True)
    (layout,) = laid_out([sketch], 3)
    updated = UpdatedInverse(based(matrix), layout.differences(np.array([LEAD]), np.array([[LEAD]])))
    joints = np.array([[0, 1, 2]])
    shown = updated.shown(joints, np.full_like(joints, 3))
    up = 1.0 / (UP + 1.0 / (1.0 / LEAD + 1e9))
    assert shown[0, 1] == pytest.approx(30e6, rel=1e-6)
    assert shown[0, [0, 2]] == pytest.approx([up, up + 1.0 / LEAD], rel=1e-6)
