from __future__ import annotations

import pytest

from lugwright.bringup.bias_control import turned
from lugwright.bringup.idle.measured import Bench
from lugwright.bringup.idle.turning import turn_rows, turn_words
from lugwright.solve.idle import solve_idle


@pytest.mark.parametrize(
    ("share", "words"),
    [
        (0.12, "clockwise by 1.2 hours on the clock (12% of its travel)"),
        (-0.15, "counterclockwise by 1.5 hours on the clock (15% of its travel)"),
        (0.004, "leave it where it is"),
    ],
)
def test_a_turn_is_told_as_a_hand_makes_it(share: float, words: str) -> None:
    assert turn_words(share) == words


def test_each_turn_is_what_the_whole_solver_finds_there(redshank_bench: Bench) -> None:
    rows = list(turn_rows(redshank_bench.stage, redshank_bench.at, redshank_bench.controls))
    assert [row.turn for row in rows[:5]] == [
        "1/8 turn counterclockwise", "one hour counterclockwise", "as it stands", "one hour clockwise",
        "1/8 turn clockwise",
    ]  # fmt: skip
    assert [round(row.rotation, 3) for row in rows[:5]] == [0.45, 0.5, 0.6, 0.7, 0.75]
    part = redshank_bench.controls[0].part
    exact = solve_idle(redshank_bench.stage.circuit, [turned(part, rotation=row.rotation) for row in rows[:5]])
    for row, idle in zip(rows[:5], exact, strict=True):
        assert row.b_plus_v == pytest.approx(idle.joints["B+1"].volts, abs=0.05)
        for state in row.tubes:
            assert state.plate_a == pytest.approx(idle.tubes[state.tube].plate_a, rel=1e-3)
            assert state.grid_v == pytest.approx(
                idle.joints[redshank_bench.stage.tube(state.tube).grid].volts, abs=0.02
            )


def test_a_control_of_one_tube_moves_the_other_through_the_supply(redshank_bench: Bench) -> None:
    rows = list(turn_rows(redshank_bench.stage, redshank_bench.at, redshank_bench.controls))[:5]
    own, other = [row.tubes[0].plate_a for row in rows], [row.tubes[1].plate_a for row in rows]
    assert own == sorted(own)
    assert own[-1] > 1.4 * own[0]
    assert 0.9 * other[0] < other[-1] < 1.1 * other[0]
    assert rows[-1].b_plus_v < rows[0].b_plus_v


def test_a_control_near_its_stop_is_not_turned_past_it(godwit_bench: Bench) -> None:
    (control,) = godwit_bench.controls
    at = godwit_bench.at.turned({control.name: 0.95}, {control.name: control.part})
    rows = list(turn_rows(godwit_bench.stage, at, [control]))
    assert [row.turn for row in rows] == ["1/8 turn counterclockwise", "one hour counterclockwise", "as it stands"]
