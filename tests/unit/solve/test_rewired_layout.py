"""What a wiring stamps on the drops of volts it touches is what it stamps on the joints, with more digits left."""

from __future__ import annotations

import numpy as np
import pytest

from lugwright.solve.kernel.drops import Stamped
from lugwright.solve.rewired_layout import HELD_S, Layout, laid_out
from lugwright.solve.rewired_matrix import BaseInverse, UpdatedInverse

GROUND = 5
Stamp = tuple[tuple[int, ...], tuple[int, ...], tuple[float, float]]  # ends before and now, strengths of both branches
LEAD, UP, OFF = 50.0, 1.0 / 50e3, 1.0 / 30e6  # siemens: a contact, what leads from joint 0 to ground, and from joint 1


def stamped(size: int, parts: list[tuple[int, int, float]]) -> np.ndarray:
    """Return the matrix of conductances between joints, with a row and a column of zeros for ground."""
    matrix = np.zeros((size + 1, size + 1))
    for a, b, siemens in parts:
        drop = np.eye(size + 1)[a] - np.eye(size + 1)[b]
        matrix += siemens * np.outer(drop, drop)
    matrix[-1] = matrix[:, -1] = 0.0
    return matrix


def wirings(
    *columns: list[Stamp], bridge: tuple[int, int, float] = (0, 0, 0.0), held: tuple[tuple[int, float], ...] = ()
) -> Stamped:
    """Return wirings, pairs of branches numbered in each; all have the bridge, and rows that the base holds."""
    every = [stamp for stamps in columns for stamp in stamps]
    first = np.cumsum([0, *map(len, columns)])
    a, b, siemens = bridge
    count, holds = len(columns), len(columns) * len(held)
    return Stamped(
        first, np.concatenate([np.arange(len(stamps)) for stamps in columns]),
        np.array([(*old, *new) for old, new, _ in every], dtype=np.intp).reshape(-1, 8),
        np.array([strength for _, _, strength in every]).reshape(-1, 2),
        np.array([[[a] * count], [[b] * count]]), np.full((1, count), siemens),
        len(held) * np.arange(count + 1), np.array([row for row, _ in held] * count, dtype=np.intp),
        np.array([s for _, s in held] * count, dtype=float), np.ones(holds, dtype=bool),
    )  # fmt: skip


def alone(a: int, b: int, onto: int, siemens: float) -> Stamp:
    """Return one branch by itself, its second end moved."""
    return (a, b, a, b), (a, onto, a, onto), (siemens, siemens)


def told(layout: Layout, column: int = 0) -> dict[int, int]:
    """Return what each touched row of a column is told against."""
    return dict(zip(layout.drops.rows[column].tolist(), layout.drops.against[column].tolist(), strict=True))


def based(matrix: np.ndarray) -> BaseInverse:
    """Return its inverse."""
    return BaseInverse(np.pad(np.linalg.inv(matrix[:-1, :-1]), (0, 1)), matrix, ())


def test_drops_are_told_against_what_the_strongest_parts_lead_to_and_held_joints_against_ground() -> None:
    loop = (3, 0, 3, 0), (3, 0, 3, 0), (OFF, OFF)  # closed by the weakest: nothing is told by it
    stamps = [alone(0, 1, 2, LEAD), ((1, 3, 1, 3), (4, 3, 4, 3), (UP, UP)), loop]
    (layout,) = laid_out(wirings(stamps, held=((2, 0.0),)), GROUND)
    assert told(layout) == {0: GROUND, 1: 0, 2: GROUND, 3: 1, 4: GROUND, GROUND: GROUND}
    assert layout.drops.pairs.tolist() == [[1, 0]]
    assert [told(layout)[row] for row in layout.drops.rows[0][layout.drops.at[0] == 0]] == [0]


def test_what_hangs_on_ground_is_told_against_it_and_is_no_strong_drop() -> None:
    (layout,) = laid_out(wirings([alone(1, GROUND, 2, LEAD), alone(3, 1, 3, LEAD)]), GROUND)
    assert {row: on for row, on in told(layout).items() if row != GROUND} == {1: GROUND, 2: GROUND, 3: 1}
    assert layout.drops.pairs.tolist() == [[3, 1]]


def test_a_wiring_is_told_alike_whatever_stands_before_it() -> None:
    mine = [alone(0, 1, 2, LEAD), alone(1, 3, 4, UP)]
    (by_itself,) = laid_out(wirings(mine), GROUND)
    (beside,) = laid_out(wirings([alone(4, 3, 2, OFF), alone(2, 0, 1, LEAD)], mine), GROUND)
    own = beside.stamps[:, 0] == 1
    assert told(beside, 1) == told(by_itself)
    assert beside.stamps[own, 1:].tolist() == by_itself.stamps[:, 1:].tolist()
    assert beside.signs[own].tolist() == by_itself.signs.tolist()


def test_stamps_on_drops_are_those_on_joints() -> None:
    rng = np.random.default_rng(3)
    ends = [((0, 1, 0, 1), (0, 4, 0, 4)), ((0, 1, 2, 3), (0, 4, 2, 3)), ((2, GROUND, 2, GROUND),) * 2]
    stamps = [(old, new, (1.0 + pair, 1.0)) for pair, (old, new) in enumerate(ends)]
    (layout,) = laid_out(wirings(stamps, bridge=(1, 3, 0.7)), GROUND)
    base_y, own_y = rng.normal(size=3), rng.normal(size=(3, 1))
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
    (layout,) = laid_out(wirings([alone(0, 1, 2, LEAD)], held=((2, 1e-9),)), 3)
    updated = UpdatedInverse(based(matrix), layout.differences(np.array([LEAD]), np.array([[LEAD]])))
    joints = np.array([[0, 1, 2]])
    shown = updated.shown(joints, np.full_like(joints, 3))
    up = 1.0 / (UP + 1.0 / (1.0 / LEAD + 1e9))
    assert shown[0, 1] == pytest.approx(30e6, rel=1e-6)
    assert shown[0, [0, 2]] == pytest.approx([up, up + 1.0 / LEAD], rel=1e-6)
