"""What the builder dislikes counts as many times as the build file says."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from lugwright.buildfile.build import Build, Wishes
from lugwright.layout.board import Board, make_board
from lugwright.layout.chassis import fixed_terminals
from lugwright.layout.hardware import hardware_for
from lugwright.layout.joint_classes import joint_facts
from lugwright.layout.lug_plan import plan_lugs
from lugwright.layout.results import Plan
from lugwright.layout.standing import Standing

from .amplifier import amplifier

BUILD, VOLTS = amplifier(1)
HARDWARE = hardware_for(BUILD)
PLAN = plan_lugs(BUILD, joint_volts=VOLTS)


def disliking(**weights: float) -> Build:
    return replace(BUILD, wishes=Wishes(weights=weights))


def board_of(build: Build) -> Board:
    return make_board(build, HARDWARE, fixed_terminals(build, HARDWARE), joint_facts(build, VOLTS))


def terms(build: Build, plan: Plan = PLAN) -> dict[str, float]:
    return Standing(build, plan, VOLTS, HARDWARE).terms


@pytest.mark.parametrize(
    ("term", "counted"), [("wires", "wires"), ("layers", "layers"), ("lugs", "lugs"), ("busy", "busy")]
)
def test_the_term_of_one_and_the_same_plan_is_multiplied(term: str, counted: str):
    assert terms(BUILD)[counted] > 0.0
    assert terms(disliking(**{term: 3.0}))[counted] == pytest.approx(3.0 * terms(BUILD)[counted], rel=1e-3)


def test_seats_are_priced_by_the_terms_they_consist_of():
    plain = board_of(BUILD)
    whole = {term: board_of(disliking(**{term: 2.0})) for term in ("leads", "order", "layers", "wires")}
    for index, seats in enumerate(plain.seats):
        added = sum(board.seats[index].cost - seats.cost for board in whole.values())
        assert np.allclose(added, seats.cost)  # the four together are all of it
    assert any((board.seats[0].cost != plain.seats[0].cost).any() for board in whole.values())


def test_neighbors_are_counted_as_coupling():
    assert np.allclose(board_of(disliking(coupling=4.0)).penalty, 4.0 * board_of(BUILD).penalty)


def test_a_builder_who_hates_layers_gets_fewer():
    fewer = plan_lugs(disliking(layers=6.0), joint_volts=VOLTS)
    assert terms(BUILD, fewer)["layers"] < terms(BUILD)["layers"]


def test_a_builder_who_hates_lugs_gets_along_with_fewer():
    fewer = plan_lugs(disliking(lugs=10.0), joint_volts=VOLTS)
    assert len(fewer.spare_lugs) > len(PLAN.spare_lugs)
