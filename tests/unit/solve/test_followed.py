"""An idle followed from a neighbor is the one solved by itself: volts, waves, slopes and certificate."""

from __future__ import annotations

from typing import NoReturn

import numpy as np
import pytest
from tests.planned_examples import example

from lugwright.circuit.edits import Edit, SetValue
from lugwright.solve.followed import Following
from lugwright.solve.idle import solve_column
from lugwright.solve.levels import read_levels
from lugwright.solve.mains_cycle import MainsCycle
from lugwright.solve.solved import Solved

AS_IT_IS = Edit("as it is")
DROPPING = Edit("dropping resistor", (SetValue("R12", "ohm", 2200.0),))
STOPPER = Edit("grid stopper", (SetValue("R11", "ohm", 4700.0),))
LAMP = (SetValue("R12", "lamp_w", 0.5), SetValue("R12", "lamp_v", 40.0))


def _alone(near: Solved, edit: Edit) -> Solved:
    return solve_column(near.system, near.system.values([edit]))


def _alike(found: Solved, alone: Solved) -> None:
    assert found.cycle is not None
    assert alone.cycle is not None
    read_levels(found)  # certified, or it raises
    assert found.dc.volts == pytest.approx(alone.dc.volts, abs=1e-6)
    assert found.cycle.port_v == pytest.approx(alone.cycle.port_v, abs=1e-5)
    assert found.cycle.slope_s == pytest.approx(alone.cycle.slope_s, rel=1e-6)


@pytest.fixture(scope="module")
def dunlin() -> Solved:
    return example("dunlin_5").solved


def test_a_value_that_moves_the_supply_is_followed_to_where_it_is_solved_alone(dunlin: Solved) -> None:
    following = Following(dunlin, DROPPING)
    assert not following.rectifiers_stand
    found = following.solved()
    assert found.rounds > 1
    assert np.abs(found.dc.volts - dunlin.dc.volts).max() > 1.0
    _alike(found, _alone(dunlin, DROPPING))


def test_a_value_that_moves_nothing_stands_with_the_first_round(dunlin: Solved) -> None:
    for edit in (AS_IT_IS, STOPPER):
        following = Following(dunlin, edit)
        assert following.rectifiers_stand
        assert following.joints_stand
        found = following.solved()
        assert found.rounds == 1
        _alike(found, dunlin)


def test_a_joint_may_move_though_no_rectifier_does() -> None:
    godwit = example("godwit_40").solved
    feedback = Edit("feedback resistor", (SetValue("R33", "ohm", 1300.0),))
    following = Following(godwit, feedback)
    assert following.rectifiers_stand
    assert not following.joints_stand
    beside = following.beside_rectifiers()
    assert beside is not None
    assert read_levels(beside).volts == pytest.approx(read_levels(_alone(godwit, feedback)).volts, abs=1e-6)
    _alike(following.solved(), _alone(godwit, feedback))


def test_a_lamp_that_follows_its_own_volts_never_stands_at_once(dunlin: Solved) -> None:
    lit = _alone(dunlin, Edit("lit", LAMP))
    following = Following(lit, Edit("lit", (*LAMP, SetValue("R4", "ohm", 1800.0))))
    assert not following.rectifiers_stand
    _alike(following.solved(), _alone(dunlin, Edit("lit", (*LAMP, SetValue("R4", "ohm", 1800.0)))))


def test_without_mains_there_is_no_cycle_to_follow(dunlin: Solved) -> None:
    off = tuple(SetValue(source.name, "rms_v", 0.0) for source in dunlin.system.sources)
    dark = _alone(dunlin, Edit("off", off))
    following = Following(dark, Edit("off", (*off, *DROPPING.changes)))
    assert not following.rectifiers_stand
    assert not following.joints_stand
    assert following.beside_rectifiers() is None
    assert following.solved().cycle is None


def test_a_cycle_without_slopes_is_solved_by_itself(dunlin: Solved, monkeypatch: pytest.MonkeyPatch) -> None:
    """As where nothing tells diodes apart: their equations are one."""
    following = Following(dunlin, DROPPING)

    def singular(*_: object) -> NoReturn:
        monkeypatch.undo()
        raise np.linalg.LinAlgError

    monkeypatch.setattr(MainsCycle, "slopes", singular)
    _alike(following.solved(), _alone(dunlin, DROPPING))
